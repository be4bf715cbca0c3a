"""`stringcourse rollout plan` and `dry-run`: what is to be rolled out, where, in which steps, and what stops it."""

import math
from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain, print_json, print_table, say
from hub.cli.rollout_printing import follow, say_outcome
from hub.cli.times import moment_ms

LONGEST_S = 300.0
Names = list[str] | None


def plan(
    context: typer.Context,
    scene: Annotated[str | None, typer.Argument(metavar="SCENE", help="Id of the scene.", show_default=False)] = None,
    darkness: Annotated[bool, typer.Option("--darkness", help="Darkness instead of a scene.")] = False,
    node: Annotated[Names, typer.Option(metavar="NODE", help="Only this node; may be repeated.")] = None,
    zone: Annotated[Names, typer.Option(metavar="ZONE", help="Only nodes with pixels in it; may be repeated.")] = None,
    tag: Annotated[Names, typer.Option(metavar="TAG", help="Only nodes with this tag; may be repeated.")] = None,
    batch: Annotated[
        Names,
        typer.Option(metavar="SIZE", help="How far a batch reaches: 1 node, or 25%; repeat it. The rest is last."),
    ] = None,
    soak_s: Annotated[
        float, typer.Option("--soak", min=0, max=86_400, metavar="SECONDS", help="Watch each batch so long.")
    ] = 0.0,
    allow_findings: Annotated[
        bool, typer.Option("--allow-findings", help="New findings on a batch do not stop it.")
    ] = False,
    limiter_at_least: Annotated[
        float | None,
        typer.Option(min=0, max=1, metavar="SCALE", help="Stop where the budget limiter dims a supply further."),
    ] = None,
    frame_rate_at_least: Annotated[
        float | None, typer.Option(min=0, max=1, metavar="SHARE", help="Stop where frames come more seldom than this.")
    ] = None,
    quorum: Annotated[
        float, typer.Option(min=0, max=1, metavar="SHARE", help="Share of the nodes that must be online.")
    ] = 0.0,
    failures: Annotated[
        float, typer.Option(min=0, max=1, metavar="SHARE", help="Share of a batch that may refuse or stay silent.")
    ] = 0.0,
    hold: Annotated[
        bool, typer.Option("--hold", help="After a failure leave batches as they are; otherwise they are put back.")
    ] = False,
    at: Annotated[
        str | None, typer.Option(metavar="TIME", help="Take the first batch then, such as 2026-11-28T18:00 (local).")
    ] = None,
    wait_for_go: Annotated[
        bool, typer.Option("--wait-for-go", help="Each batch, once staged, waits for `rollout go`.")
    ] = False,
    queue: Annotated[bool, typer.Option("--queue", help="Wait while another rollout is under way.")] = False,
    fade_ms: Annotated[int, typer.Option(min=0, max=600_000, metavar="MS", help="Crossfade, milliseconds.")] = 1_500,
    flash_confirmed_by: Annotated[
        str | None, typer.Option(metavar="NAME", help="Who confirms a scene that fails the flash check.")
    ] = None,
    no_wait: Annotated[bool, typer.Option("--no-wait", help="Do not wait for the outcome.")] = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Roll a scene out on selected nodes, in batches, each watched before the next.

    Without --node, --zone and --tag it is for every node, without --batch all take it at one instant. Follows it until
    it is over or waits for a person; ending this command stops nothing. Exits 1 when it is halted or reverted.

    Example: stringcourse rollout plan evening --batch 1 --batch 25% --soak 60
    """
    if (scene is None) != darkness:
        raise CommandError(ExitCode.BAD_INPUT, "name a scene, or give --darkness; `stringcourse scene list` lists them")
    numbers = {
        "--soak": soak_s,
        "--limiter-at-least": limiter_at_least,
        "--frame-rate-at-least": frame_rate_at_least,
        "--quorum": quorum,
        "--failures": failures,
    }
    for option, number in numbers.items():
        if number is not None and not math.isfinite(number):  # `nan` is within every bound
            raise CommandError(ExitCode.BAD_INPUT, f"{option}: {number} is no number; give one such as 0.5")
    wanted = {
        "scene": scene,
        "fade_ms": fade_ms,
        "flash_confirmed_by": flash_confirmed_by,
        "select": {"nodes": node or [], "zones": zone or [], "tags": tag or []},
        "batches": [_size(one) for one in batch or []],
        "soak_s": soak_s,
        "gates": {
            "no_new_findings": not allow_findings,
            "limiter_scale_at_least": limiter_at_least,
            "frame_rate_share_at_least": frame_rate_at_least,
        },
        "quorum_share": quorum,
        "failures_share": failures,
        "on_failure": "hold" if hold else "revert",
        "take_at_ms": None if at is None else moment_ms("--at", at),
        "wait_for_go": wait_for_go,
        "queue": queue,
    }
    with HubClient(hub) as client:
        path = path_of("venues", chosen := chosen_venue(client, venue), "rollouts")
        if context.info_name == "dry-run":
            answer = client.call("POST", f"{path}/dry-run", json=wanted, timeout_s=LONGEST_S).json()
            (print_json if as_json else _say_dry_run)(answer)
            return
        rollout = client.call("POST", path, json=wanted, timeout_s=LONGEST_S).json()
        if not no_wait:
            rollout = follow(client, chosen, rollout, quiet=as_json)
    if as_json:
        print_json(rollout)
        if rollout["state"] in ("halted", "reverted"):
            raise typer.Exit(ExitCode.NO)
    else:
        say_outcome(rollout)


def _size(words: str) -> dict[str, Any]:
    number = words.removesuffix("%").strip()
    try:
        size = {"share": float(number) / 100} if words.endswith("%") else {"nodes": int(number)}
        if not math.isfinite(next(iter(size.values()))):
            raise ValueError(number)
    except ValueError as error:
        words = f"--batch: {words!r} is no size; give a number of nodes, such as 1, or a share, such as 25%"
        raise CommandError(ExitCode.BAD_INPUT, words) from error
    return size


def _say_dry_run(answer: dict[str, Any]) -> None:
    for sentence in answer["said"]:
        say(sentence)
    if len(answer["batches"]) > 1:
        say()
        rows = [(number, one["nodes"], one["online"]) for number, one in enumerate(answer["batches"], 1)]
        print_table(("batch", "nodes", "online"), rows)
    say()
    print_table(("node", "batch", "", "what would differ"), [row for one in answer["nodes"] for row in _rows(one)])
    unchanged = answer["nodes_unchanged"]
    say(f"nothing would change on {unchanged} {'node' if unchanged == 1 else 'nodes'}")
    if answer["leaving"]:
        complain(f"these would go dark, for they are no longer in the venue: {', '.join(answer['leaving'])}")


def _rows(node: dict[str, Any]) -> list[tuple[object, ...]]:
    kinds = ("showing", "wiring", "budgets", "scenes", "timetable")
    told = {kind: [node[kind]] if kind == "showing" and node[kind] else node[kind] or [] for kind in kinds}
    lines = [f"{kind}: {line}" for kind, words in told.items() for line in words]
    off = "" if node["online"] else "off"
    return [
        (node["node"], node["batch"], off, line) if place == 0 else ("", "", "", line)
        for place, line in enumerate(lines)
    ]
