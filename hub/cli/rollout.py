"""`stringcourse rollout`: how takes went, and going back."""

import sys
import time
from datetime import datetime
from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain, print_json, print_table, say

group = typer.Typer(help="Rollouts: how takes went, and going back.", no_args_is_help=True)

OUTCOME_DEADLINE_S = 60.0
ASK_EVERY_S = 0.1
NoWait = Annotated[bool, typer.Option("--no-wait", help="Do not wait for the outcome.")]


@group.command()
def show(
    revision: Annotated[
        int | None, typer.Argument(metavar="REVISION", help="A revision; without it, the newest ones are listed.")
    ] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Show the newest rollouts, or one with every reason why nodes kept it from being taken."""
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "rollouts")
        answer = client.get(path, limit=20) if revision is None else client.get(path + path_of(str(revision)))
    if as_json:
        print_json(answer)
    elif revision is None:
        columns = ("revision", "scene", "state", "started", "staged", "flashes confirmed by", "reason")
        print_table(columns, [_row(rollout) for rollout in answer["items"]])
    else:
        print_table(_COLUMNS, [_row(answer)[:6]])
        _print_refusals(answer)


@group.command()
def back(
    no_wait: NoWait = False, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Take what was taken before, scene and wiring as they then were, on every node at one instant.

    Exits 1 when the rollout is halted: then nothing changed.
    """
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        started = client.call("POST", path_of("venues", chosen, "rollouts", "back")).json()
        report_outcome(client, chosen, started, wait=not no_wait, as_json=as_json)


def report_outcome(client: HubClient, venue: str, started: dict[str, Any], *, wait: bool, as_json: bool) -> None:
    """Say how a rollout that has just been started goes; waits for its end. Exits 1 when it is halted."""
    rollout = _outcome(client, venue, started, quiet=as_json) if wait else started
    if as_json:
        print_json(rollout)
    elif rollout["state"] == "taken":
        say(
            f"taken: revision {rollout['revision']}, {_scene(rollout)}, at {_clock(rollout['take_at_ms'])} "
            f"on {rollout['nodes_staged']} nodes"
        )
        if rollout["flash_confirmed_by"] is not None:
            complain(
                f"CAUTION: it fails the flash check, confirmed by {rollout['flash_confirmed_by']}: warn people before "
                "they see it, and keep someone at hand who can stop it"
            )
    elif rollout["state"] == "halted":
        complain(f"halted: revision {rollout['revision']}, {_scene(rollout)}; nothing changed anywhere")
        _print_refusals(rollout, error=True)
    else:
        say(f"revision {rollout['revision']}, {_scene(rollout)}, is being staged; see `stringcourse rollout show`")
    if rollout["state"] == "halted":
        raise typer.Exit(ExitCode.NO)


def _outcome(client: HubClient, venue: str, started: dict[str, Any], *, quiet: bool) -> dict[str, Any]:
    path = path_of("venues", venue, "rollouts", str(started["revision"]))
    deadline_s = time.monotonic() + OUTCOME_DEADLINE_S
    rollout, told = started, -1
    while rollout["state"] == "staging":
        if time.monotonic() > deadline_s:
            raise CommandError(
                ExitCode.HUB_FAILED,
                f"revision {started['revision']} is still being staged after {OUTCOME_DEADLINE_S:g} s; "
                "see whether the hub has its broker, and `stringcourse rollout show`",
            )
        if rollout["nodes_staged"] != told and not quiet and sys.stderr.isatty():
            told = rollout["nodes_staged"]
            complain(f"staged on {told} of {rollout['nodes_expected']} nodes that are online")
        time.sleep(ASK_EVERY_S)
        rollout = client.get(path)
    return rollout


_COLUMNS = ("revision", "scene", "state", "started", "staged", "flashes confirmed by")


def _row(rollout: dict[str, Any]) -> tuple[object, ...]:
    staged = f"{rollout['nodes_staged']} of {rollout['nodes_expected']}"
    scene = rollout["scene"] or "darkness"
    started = _clock(rollout["started_at_ms"])
    confirmed_by = rollout["flash_confirmed_by"] or ""
    return rollout["revision"], scene, rollout["state"], started, staged, confirmed_by, rollout["reason"] or ""


def _print_refusals(rollout: dict[str, Any], *, error: bool = False) -> None:
    rows = [(one["node"], one["field"], one["reason"], one["remedy"]) for one in rollout["refusals"]]
    if rows:
        print_table(("node", "field", "what is wrong", "what to do"), rows, error=error)
    elif rollout["reason"]:
        (complain if error else say)(rollout["reason"])


def _scene(rollout: dict[str, Any]) -> str:
    return "darkness" if rollout["scene"] is None else f"scene {rollout['scene']}"


def _clock(time_ms: int) -> str:
    return datetime.fromtimestamp(time_ms / 1_000).astimezone().strftime("%Y-%m-%d %H:%M:%S")
