"""`stringcourse scene`: list the scenes of a venue, look at one before it is taken, take one everywhere."""

from typing import Annotated

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
    """List the scenes of a venue; the one in force is marked."""
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        scenes = client.every(path_of("venues", chosen, "scenes"))
        taken = [one for one in client.get(path_of("venues", chosen, "rollouts"))["items"] if one["state"] == "taken"]
    if as_json:
        print_json(scenes)
        return
    in_force = taken[0]["scene"] if taken else None
    flashes_by = taken[0]["flash_confirmed_by"] if taken else None
    state = "in force" if flashes_by is None else f"in force; fails the flash check, confirmed by {flashes_by}"
    rows = [
        (
            scene["id"],
            scene["title"],
            state if scene["id"] == in_force else "",
            ", ".join(dict.fromkeys(layer["pattern"]["pattern"] for layer in scene["layers"])) or DARKNESS,
            scene["note"],
        )
        for scene in scenes
    ]
    print_table(("scene", "title", "state", "patterns", "note"), rows)


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
