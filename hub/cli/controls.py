"""`stringcourse go`, `back`, `blackout`, `work-light`, `follow-timetable`: one command each, at once."""

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain, print_json, say
from hub.cli.rollout import NoWait
from hub.cli.rollout_printing import follow, say_outcome


def go(
    no_wait: NoWait = False, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Take the next cue of the list in hand, or the first cue of the venue's first list.

    Boards that refuse or do not answer are left out and follow when they can.
    """
    _press("go", venue, hub, wait=not no_wait, as_json=as_json)


def back(
    no_wait: NoWait = False, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Take the cue before, or the one that was on before a blackout; without a cue list what was taken before."""
    _press("back", venue, hub, wait=not no_wait, as_json=as_json)


def blackout(
    no_wait: NoWait = False, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Every pixel dark, at once. `stringcourse back` brings back what was on.

    CAUTION: people may be on stairs, ladders or a stage edge. These pixels replace neither house lights nor emergency
    lighting; follow local rules on both.
    """
    _press("blackout", venue, hub, wait=not no_wait, as_json=as_json)


def work_light(
    no_wait: NoWait = False, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Plain white on every zone, at once and within the budget of every supply.

    CAUTION: it is no emergency lighting, and no proof that wiring is dead. Warn people on ladders before it comes up.
    """
    _press("work-light", venue, hub, wait=not no_wait, as_json=as_json)


def follow_timetable(
    no_wait: NoWait = False, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Let go of what was taken by hand: take what the timetable has on now."""
    _press("follow-timetable", venue, hub, wait=not no_wait, as_json=as_json)


def _press(control: str, venue: str | None, hub: str, *, wait: bool, as_json: bool) -> None:
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        answer = client.call("POST", path_of("venues", chosen, "controls", control)).json()
        if not as_json:
            say(answer["said"])
            if answer["caution"]:
                complain(f"CAUTION: {answer['caution']}")
        rollout = follow(client, chosen, answer["rollout"], quiet=as_json) if wait else answer["rollout"]
    if as_json:
        print_json(answer | {"rollout": rollout})
        if rollout["state"] in ("halted", "reverted"):
            raise typer.Exit(ExitCode.NO)
    else:
        say_outcome(rollout)
