"""Rollouts as an operator reads them, and following one to its end."""

import sys
import time
from typing import Any, Final

import typer

from hub.cli.client import HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain, print_table, say
from hub.cli.times import local_time

OUTCOME_DEADLINE_S: Final = 60.0
ASK_EVERY_S: Final = 0.1
GOES_ON: Final = frozenset({"planned", "staging", "staged", "soaking"})
ASKS_A_PERSON: Final = {
    "approval": "it waits for a second person: stringcourse rollout approve {revision}",
    "go": "it waits for: stringcourse rollout go {revision}",
    "resume": "it is paused; go on with: stringcourse rollout resume {revision}",
}
COLUMNS: Final = ("revision", "scene", "state", "started", "staged", "flashes confirmed by")
_SHORT_S: Final = 100


def follow(client: HubClient, venue: str, started: dict[str, Any], *, quiet: bool) -> dict[str, Any]:
    """The rollout once it is over, or waits for a person; on a terminal each step is told."""
    path = path_of("venues", venue, "rollouts", str(started["revision"]))
    deadline_s = time.monotonic() + OUTCOME_DEADLINE_S
    rollout, told = started, ""
    while rollout["state"] in GOES_ON and rollout["waits_for"] not in ASKS_A_PERSON:
        now_s = time.time()
        step = progress_line(rollout, now_s)
        if step != told and not quiet and sys.stderr.isatty():
            complain(step)
        if step != told or (rollout["expected_end_at_ms"] or 0) > now_s * 1_000 or rollout["waits_for"] is not None:
            told, deadline_s = step, time.monotonic() + OUTCOME_DEADLINE_S
        if time.monotonic() > deadline_s:
            raise CommandError(
                ExitCode.HUB_FAILED,
                f"revision {started['revision']} has not moved for {OUTCOME_DEADLINE_S:g} s; "
                "see whether the hub has its broker, and `stringcourse rollout show`",
            )
        time.sleep(ASK_EVERY_S)
        rollout = client.get(path)
    return rollout


def say_outcome(rollout: dict[str, Any]) -> None:
    """How it stands: its end, or what it waits for. Raises Exit 1 where it was halted or reverted."""
    head = f"revision {rollout['revision']}, {scene_words(rollout)}"
    if rollout["state"] == "taken":
        say(f"taken: {head}, at {local_time(rollout['take_at_ms'])} on {rollout['nodes_staged']} nodes")
        if rollout["refusals"]:
            complain(f"left out: {len(rollout['refusals'])} nodes, which follow when they can")
            print_refusals(rollout, error=True)
        _caution_of_flashes(rollout)
    elif rollout["state"] in ("halted", "reverted"):
        complain(f"{head}, was {rollout['state']}")
        complain(rollout["reason"])
        print_refusals(rollout, error=True)
        raise typer.Exit(ExitCode.NO)
    elif rollout["waits_for"] in ASKS_A_PERSON:
        say(f"{rollout['state']}: {head}; {ASKS_A_PERSON[rollout['waits_for']].format(revision=rollout['revision'])}")
    else:
        say(f"{head}, is {progress_line(rollout, time.time())}; see `stringcourse rollout show`")


def say_rollout(rollout: dict[str, Any]) -> None:
    """One rollout in full: its batches, its progress, what stopped it and why."""
    print_table(COLUMNS, [row_of(rollout)[:6]])
    for who, word in ((rollout["requested_by"], "asked for by"), (rollout["approved_by"], "approved by")):
        if who is not None:
            say(f"{word} {who}")
    if len(rollout["batches"]) > 1:
        say()
        rows = [_batch_row(number, batch) for number, batch in enumerate(rollout["batches"], 1)]
        print_table(("batch", "nodes", "first of them", "state", "take"), rows)
    if rollout["state"] in GOES_ON:
        say()
        say(progress_line(rollout, time.time()))
        if rollout["waits_for"] in ASKS_A_PERSON:
            say(ASKS_A_PERSON[rollout["waits_for"]].format(revision=rollout["revision"]))
    if rollout["reason"]:
        say()
        say(rollout["reason"])
    if rollout["refusals"]:
        say()
        print_refusals(rollout)


def progress_line(rollout: dict[str, Any], now_s: float) -> str:
    """Where it is and the time left, such as `batch 2 of 3 soaking, 40 s left of its soak; about 3 min in all`."""
    batches = rollout["batches"]
    place = next((n for n, one in enumerate(batches) if one["state"] not in ("taken", "waiting")), None)
    where = f"batch {place + 1} of {len(batches)} " if place is not None and len(batches) > 1 else ""
    parts = [f"{where}{'paused, ' if rollout['paused'] else ''}{rollout['state']}"]
    if rollout["state"] == "staging":
        parts = [f"{where}staged on {rollout['nodes_staged']} of {rollout['nodes_expected']} nodes that are online"]
    if rollout["waits_for"] is not None:
        parts.append(f"waits for {rollout['waits_for']}")
    if rollout["soak_ends_at_ms"] is not None:
        parts.append(f"{_left(rollout['soak_ends_at_ms'], now_s)} left of its soak")
    if rollout["expected_end_at_ms"] is not None and len(batches) > 1:
        parts.append(f"about {_left(rollout['expected_end_at_ms'], now_s)} in all")
    return ", ".join(parts)


def row_of(rollout: dict[str, Any]) -> tuple[object, ...]:
    staged = f"{rollout['nodes_staged']} of {rollout['nodes_expected']}"
    state = f"{rollout['state']}, paused" if rollout["paused"] else rollout["state"]
    started = local_time(rollout["started_at_ms"])
    confirmed_by = rollout["flash_confirmed_by"] or ""
    scene = rollout["scene"] or "darkness"
    return rollout["revision"], scene, state, started, staged, confirmed_by, rollout["reason"] or ""


def print_refusals(rollout: dict[str, Any], *, error: bool = False) -> None:
    rows = [(one["node"], one["field"], one["reason"], one["remedy"]) for one in rollout["refusals"]]
    if rows:
        print_table(("node", "field", "what is wrong", "what to do"), rows, error=error)


def scene_words(rollout: dict[str, Any]) -> str:
    return "darkness" if rollout["scene"] is None else f"scene {rollout['scene']}"


def _caution_of_flashes(rollout: dict[str, Any]) -> None:
    if rollout["flash_confirmed_by"] is not None:
        complain(
            f"CAUTION: it fails the flash check, confirmed by {rollout['flash_confirmed_by']}: warn people before "
            "they see it, and keep someone at hand who can stop it"
        )


def _batch_row(number: int, batch: dict[str, Any]) -> tuple[object, ...]:
    more = batch["nodes"] - len(batch["first_nodes"])
    names = ", ".join(batch["first_nodes"]) + (f" and {more} more" if more > 0 and batch["first_nodes"] else "")
    take = None if batch["take_at_ms"] is None else local_time(batch["take_at_ms"])
    return number, batch["nodes"], names, batch["state"], take


def _left(until_ms: int, now_s: float) -> str:
    left_s = max(0, round(until_ms / 1_000 - now_s))
    return f"{left_s} s" if left_s < _SHORT_S else f"{round(left_s / 60)} min"
