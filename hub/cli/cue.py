"""`stringcourse cue`: cue lists, taking one in hand, putting it down. `stringcourse go` takes the next cue."""

from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say

group = typer.Typer(help="Cue lists for an evening that is run by hand.", no_args_is_help=True)

ListId = Annotated[str, typer.Argument(metavar="LIST", help="Id of the cue list; `cue list` lists them.")]


@group.command("list")
def list_cue_lists(venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """List the cue lists of a venue and where the one in hand stands."""
    answer = _lists(venue, hub)
    if as_json:
        print_json(answer)
        return
    rows = [
        (
            one["cue_list"]["id"],
            one["cue_list"]["title"],
            len(one["cue_list"]["cues"]),
            one["said"] if one["in_hand"] else "",
        )
        for one in answer
    ]
    print_table(("list", "title", "cues", "in hand"), rows)


@group.command()
def show(cue_list: ListId, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Show the cues of a list, with the one that is on and the one that comes next."""
    found = next((one for one in _lists(venue, hub) if one["cue_list"]["id"] == cue_list), None)
    if found is None:
        raise CommandError(
            ExitCode.NOT_FOUND, f"there is no cue list {cue_list!r}; `stringcourse cue list` lists what there is"
        )
    if as_json:
        print_json(found)
        return
    rows = [_row(found, place, cue) for place, cue in enumerate(found["cue_list"]["cues"])]
    print_table(("", "cue", "title", "scene", "fade ms", "next follows after s"), rows)
    say(found["said"])


@group.command()
def start(
    cue_list: ListId,
    cue: Annotated[
        str | None, typer.Option(metavar="CUE", help="The cue that the first go takes; else the list's first.")
    ] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Take a list in hand. Nothing is taken before `stringcourse go`."""
    _ask("start", cue_list, venue, hub, {"cue": cue}, as_json=as_json)


@group.command()
def stop(cue_list: ListId, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Put a list down: what it shows stays, and nothing more follows by itself."""
    _ask("stop", cue_list, venue, hub, {}, as_json=as_json)


def _lists(venue: str | None, hub: str) -> list[dict[str, Any]]:
    with HubClient(hub) as client:
        items: list[dict[str, Any]] = client.get(path_of("venues", chosen_venue(client, venue), "cue-lists"))["items"]
    return items


def _ask(step: str, cue_list: str, venue: str | None, hub: str, query: dict[str, Any], *, as_json: bool) -> None:
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "cue-lists", cue_list, step)
        answer = client.call("POST", path, query=query).json()
    if as_json:
        print_json(answer)
    else:
        say(answer["said"])


def _row(found: dict[str, Any], place: int, cue: dict[str, Any]) -> tuple[object, ...]:
    mark = "on" if place == found["on"] and not found["left"] else "next" if place == found["next"] else ""
    shown = mark if found["in_hand"] else ""
    return shown, cue["id"], cue["title"] or "", cue["scene"] or "darkness", cue["fade_ms"], cue["follow_on_s"]
