"""`stringcourse scene`: list the scenes of a venue, look at one before it is taken, take one everywhere."""

from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table
from hub.cli.rollout import NoWait, report_outcome
from hub.cli.scene_flash import LONGEST_S, flash
from hub.cli.scene_picture import picture
from hub.cli.scene_preview import preview

group = typer.Typer(help="Scenes: list, preview, take.", no_args_is_help=True)

DARKNESS = "darkness"
FlashConfirmedBy = Annotated[
    str | None,
    typer.Option("--flash-confirmed-by", metavar="NAME", help="Who confirms a scene that fails the flash check."),
]


@group.command("list")
def list_scenes(venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """List the scenes of a venue; those that nodes are to show now are marked, with whose take brought them."""
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        scenes = client.every(path_of("venues", chosen, "scenes"))
        showing = client.get(path_of("venues", chosen, "showing"))["scenes"]
        taken = [one for one in client.get(path_of("venues", chosen, "rollouts"))["items"] if one["state"] == "taken"]
    if as_json:
        print_json(scenes)
        return
    states = {one["scene"]: _in_force(one, showing, taken) for one in reversed(showing)}
    rows = [
        (
            scene["id"],
            scene["title"],
            states.get(scene["id"], ""),
            ", ".join(dict.fromkeys(layer["pattern"]["pattern"] for layer in scene["layers"])) or DARKNESS,
            scene["note"],
        )
        for scene in scenes
    ]
    print_table(("scene", "title", "state", "patterns", "note"), rows)


def _in_force(one: dict[str, Any], showing: list[dict[str, Any]], taken: list[dict[str, Any]]) -> str:
    """Such as `in force on 3 of 18 nodes, by the timetable`."""
    nodes, every = len(one["nodes"]), sum(len(each["nodes"]) for each in showing)
    state = "in force" if nodes == every else f"in force on {nodes} of {every} nodes"
    if one["by_timetable"]:
        return f"{state}, by the timetable"
    confirmed_by = next((each["flash_confirmed_by"] for each in taken if each["scene"] == one["scene"]), None)
    return state if confirmed_by is None else f"{state}; fails the flash check, confirmed by {confirmed_by}"


@group.command()
def take(
    scene: Annotated[str | None, typer.Argument(metavar="SCENE", help="Id of the scene.", show_default=False)] = None,
    darkness: Annotated[bool, typer.Option("--darkness", help="Take darkness instead of a scene.")] = False,
    fade_ms: Annotated[int, typer.Option(min=0, max=600_000, metavar="MS", help="Crossfade, milliseconds.")] = 1_500,
    flash_confirmed_by: FlashConfirmedBy = None,
    no_wait: NoWait = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Take a scene on every node at one instant, or nowhere.

    Waits for the outcome: taken, or halted with each node's reason; exits 1 when halted. Nodes that are off catch up
    when they return. A scene that fails the flash check (`scene flash`) is refused without the name of a person who
    confirms it; with darkness, or a scene that passes, the name counts for nothing.

    Example: stringcourse scene take evening --fade-ms 3000
    """
    if (scene is None) != darkness:
        raise CommandError(ExitCode.BAD_INPUT, "name a scene, or give --darkness; `stringcourse scene list` lists them")
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        wanted = {"scene": scene, "fade_ms": fade_ms, "flash_confirmed_by": flash_confirmed_by}
        started = client.call("POST", path_of("venues", chosen, "takes"), json=wanted, timeout_s=LONGEST_S).json()
        report_outcome(client, chosen, started, wait=not no_wait, as_json=as_json)


group.command()(preview)
group.command()(flash)
group.command()(picture)
