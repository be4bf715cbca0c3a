"""The audit in the terminal: of a venue, and of one supply. Tables no wider than an ordinary window."""

from collections.abc import Iterable, Sequence
from typing import Any, Final

from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_table, say

Answer = dict[str, Any]

VERDICTS: Final = {"within": "within", "only-under-budget": "only under budget", "overloaded": "OVERLOADED"}
WIRINGS: Final = {"sound": "sound", "attention": "attention", "fault": "FAULT"}
WEIGHTS: Final = {"fault": "FAULT", "attention": "attention"}


def supply_alone(audit: Answer, supply: str) -> Answer:
    """What the audit holds of one supply. Raises CommandError for one that is not there."""
    one = next((found for found in audit["supplies"] if found["supply"] == supply), None)
    if one is None:
        there = ", ".join(found["supply"] for found in audit["supplies"][:20])
        raise CommandError(
            ExitCode.NOT_FOUND, f"--supply: the venue has no supply {supply!r}; it has {there or 'none'}"
        )
    runs = [run for run in audit["runs"] if any(feed["supply"] == supply for feed in run["feeds"])]
    notes = [note for note in audit["notes"] if supply in note["supplies"]]
    kept = ("scene", "scene_window", "assumptions", "cautions")
    return {"supply": one, "runs": runs, "notes": notes} | {name: audit[name] for name in kept}


def print_audit(audit: Answer) -> None:
    """The whole audit but its runs and feeds, which stand on the supplies' sheets."""
    supplies = audit["supplies"]
    say(f"Scene in force: {audit['scene'] or 'none'}. All figures in amps at the supply's volts.")
    _say_window(audit["scene_window"])
    say()
    print_table(
        ("supply", "V", "rated", "budget", "worst", "peak", "typical", "verdict"),
        [
            (
                one["supply"],
                one["volts"],
                one["rated_a"],
                *_rounded(one, "budget_a", "worst_case_a", "scene_peak_a", "typical_a"),
                VERDICTS.get(one["verdict"], one["verdict"]),
            )
            for one in supplies
        ],
    )
    say()
    say("Told by boards, and left of the budget at worst case and at typical, in amps and in whole pixels:")
    print_table(
        ("supply", "pixels", "now", "95 %", "highest", "at worst", "pixels", "at typical", "pixels", "wiring"),
        [
            (
                one["supply"],
                one["pixels"],
                *_rounded(one, "telemetry_now_a", "telemetry_percentile_95_a", "telemetry_highest_a"),
                *_headroom(one["headroom_worst_case"]),
                *_headroom(one["headroom_typical"]),
                WIRINGS.get(one["wiring"], one["wiring"]),
            )
            for one in supplies
        ],
    )
    _say_lines("Why", [f"{one['supply']}: {one['reason']}." for one in supplies])
    _say_notes(audit["notes"], nothing="nothing is wrong or unknown.")
    _print_nodes(audit["nodes"])
    _print_shares([one for one in supplies if len(one["shares"]) > 1])
    _say_totals(audit["venue"])
    _say_lines("Assumed", audit["assumptions"])
    _say_lines("Caution", audit["cautions"])
    say()
    say("One supply with its runs and feeds: `stringcourse audit --supply ID`; to print and sign: `--pdf FILE`.")


def print_supply(alone: Answer) -> None:
    """One supply: figures, reason, runs with their lowest volts at three levels, feeds, notes."""
    one = alone["supply"]
    say(f"Supply {one['supply']}" + (f": {one['title']}" if one["title"] else ""))
    say(
        f"{one['volts']:g} V, rated {one['rated_a']:g} A, derated by {one['derating']:g}: budget {one['budget_a']:g} A."
    )
    say(f"{VERDICTS.get(one['verdict'], one['verdict'])}: {one['reason']}.")
    say(f"Nameplate {'within' if one['class_2'] else 'above'} the limit of Class 2 (NEC) for its volts.")
    say()
    figures = (
        ("typical, by rule of thumb", "typical_a"),
        (f"peak of scene {alone['scene'] or '(none in force)'}, before the limiter", "scene_peak_a"),
        ("worst case, every emitter full", "worst_case_a"),
        ("told by boards: now", "telemetry_now_a"),
        ("told by boards: 95th percentile", "telemetry_percentile_95_a"),
        ("told by boards: highest", "telemetry_highest_a"),
    )
    print_table(("figure", "A"), [(words, *_rounded(one, name)) for words, name in figures])
    _say_window(alone["scene_window"])
    say()
    for words, name in (("worst case", "headroom_worst_case"), ("typical", "headroom_typical")):
        amps, pixels = _headroom(one[name])
        say(f"Left at {words}: {amps} A" + ("." if pixels is None else f", {pixels} pixels of its hungriest kind."))
    _print_shares([one])
    _print_runs(alone["runs"])
    _print_feeds(alone["runs"])
    _say_notes(alone["notes"], nothing="nothing is wrong or unknown.")
    _say_lines("Assumed", alone["assumptions"])
    _say_lines("Caution", alone["cautions"])


def _say_window(window: Answer | None) -> None:
    if window is not None:
        say(window["words"])


def _print_nodes(nodes: Sequence[Answer]) -> None:
    say()
    print_table(
        ("node", "supplies", "pixels", "worst A", "worst W", "typical A", "typical W"),
        [
            (
                node["node"],
                ", ".join(node["supplies"]),
                node["pixels"],
                *_rounded(node, "worst_case_a", "worst_case_w", "typical_a", "typical_w"),
            )
            for node in nodes
        ],
    )


def _print_shares(supplies: Sequence[Answer]) -> None:
    if not supplies:
        return
    say()
    say("Shares of budgets:")
    print_table(
        ("supply", "shared", "node", "fixed share A", "worst A", "typical A"),
        [
            (one["supply"], one["sharing"], share["node"], *_rounded(share, "fixed_a", "worst_case_a", "typical_a"))
            for one in supplies
            for share in one["shares"]
        ],
    )


def _print_runs(runs: Sequence[Answer]) -> None:
    say()
    if not runs:
        say("It feeds no run.")
        return
    say("Lowest volts of its runs, typical, under the budget and at worst case, each with its pixel:")
    print_table(
        ("run", "pixels", "type", "typical", "budget", "worst", "works to", "frames/s"),
        [
            (
                _run_name(run),
                run["pixels"],
                run["pixel_type"],
                *(f"{low['volts']:.2f} V at {low['at_pixel']}" for low in run["lowest"]),
                *([None] * (3 - len(run["lowest"]))),
                f"{run['minimum_v']:g} V",
                round(run["frame_rate_hz"]),
            )
            for run in runs
        ],
    )


def _print_feeds(runs: Sequence[Answer]) -> None:
    if not runs:
        return
    feeds = [(_run_name(run), number, feed) for run in runs for number, feed in enumerate(run["feeds"], start=1)]
    say()
    say("Feeds, with those of other supplies on these runs:")
    print_table(
        ("run", "feed", "at", "supply", "wire", "m", "°C", "bears A", "fuse A", "fuses that fit, A"),
        [
            (
                run,
                number,
                feed["at_pixel"],
                feed["supply"],
                feed["wire"],
                feed["length_m"],
                feed["conductor_c"],
                *_rounded(feed, "ampacity_a"),
                feed["fuse_a"],
                ", ".join(f"{rating:g}" for rating in feed["fitting_fuses_a"]) or "none",
            )
            for run, number, feed in feeds
        ],
    )
    say()
    say("What they carry (loaded: under the budget, in the more loaded conductor), and lose in their wires:")
    print_table(
        ("run", "feed", "typical A", "budget A", "worst A", "loaded A", "loop mΩ", "drop V", "heat W"),
        [
            (
                run,
                number,
                *_rounded(feed, "typical_a", "under_budget_a", "worst_case_a", "loaded_a"),
                round(feed["loop_ohm"] * 1e3, 1),
                *_rounded(feed, "drop_v", "heat_w"),
            )
            for run, number, feed in feeds
        ],
    )


def _say_notes(notes: Sequence[Answer], *, nothing: str) -> None:
    say()
    if not notes:
        say(f"Wiring: {nothing}")
        return
    say("Wiring, faults first:")
    for note in notes:
        say(f"  {WEIGHTS.get(note['weight'], note['weight'])}, {_run_name(note)}, {', '.join(note['supplies'])}:")
        say(f"    {note['text']}.")
        say(f"    Remedy: {note['remedy']}.")


def _say_totals(total: Answer) -> None:
    peak = "none in force" if total["scene_peak_w"] is None else f"{total['scene_peak_w']:.0f} W"
    say()
    say(f"Venue: {total['supplies']} supplies, {total['nodes']} nodes, {total['pixels']} pixels.")
    say(
        f"DC side: rated {total['rated_w']:.0f} W, budget {total['budget_w']:.0f} W, worst case "
        f"{total['worst_case_w']:.0f} W, scene peak {peak}, typical {total['typical_w']:.0f} W."
    )
    say(
        f"Verdicts: {total['within']} within, {total['only_under_budget']} only under budget, "
        f"{total['overloaded']} overloaded; wiring: {total['wiring_faults']} with faults, "
        f"{total['wiring_attentions']} that want attention."
    )


def _say_lines(heading: str, lines: Iterable[str]) -> None:
    say()
    say(f"{heading}:")
    for line in lines:
        say(f"  {line}")


def _run_name(one: Answer) -> str:
    return f"{one['node']}/{one['channel']}"


def _headroom(left: Answer) -> tuple[float, int | None]:
    return round(left["amps"], 2), left["pixels"]


def _rounded(one: Answer, *names: str) -> list[float | None]:
    return [None if one[name] is None else round(one[name], 2) for name in names]
