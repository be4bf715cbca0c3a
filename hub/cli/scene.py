"""`stringcourse scene`: list the scenes of a venue, look at one before it is taken, take one everywhere."""

from typing import Annotated, Any

import typer
from rich.console import Console
from rich.text import Text

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, printable, say
from hub.cli.rollout import NoWait, report_outcome

group = typer.Typer(help="Scenes: list, preview, take.", no_args_is_help=True)

SceneId = Annotated[str, typer.Argument(metavar="SCENE", help="Id of the scene.", show_default=False)]
DARKNESS = "darkness"
NARROWEST = 20
PIPE_WIDTH = 100


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
    rows = [
        (
            scene["id"],
            scene["title"],
            "in force" if scene["id"] == in_force else "",
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
    no_wait: NoWait = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Take a scene on every node at one instant, or nowhere.

    Waits for the outcome: taken, or halted with each node's reason; exits 1 when halted. Nodes that are off catch up
    when they return.

    Example: stringcourse scene take evening --fade-ms 3000
    """
    if (scene is None) != darkness:
        raise CommandError(ExitCode.BAD_INPUT, "name a scene, or give --darkness; `stringcourse scene list` lists them")
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        wanted = {"scene": scene, "fade_ms": fade_ms}
        started = client.call("POST", path_of("venues", chosen, "takes"), json=wanted).json()
        report_outcome(client, chosen, started, wait=not no_wait, as_json=as_json)


@group.command()
def preview(scene: SceneId, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Show a scene in the terminal before it is taken: its colours at some instants, and amps against budgets.

    Each row is a zone in the order of its pixels, as the nodes would show it after the budget limiter.
    """
    with HubClient(hub) as client:
        answer = client.get(path_of("venues", chosen_venue(client, venue), "scenes", scene, "preview"))
    if as_json:
        print_json(answer)
        return
    say(f"{answer['title']} ({answer['scene']})")
    _print_rows(answer)
    say()
    if answer["window_s"]:
        period = "its whole period" if answer["whole"] else "a part of it: it repeats later, or never"
        say(f"Amps at the highest of {answer['samples']} instants over {answer['window_s']:g} s ({period}):")
    else:
        say("Amps; the scene stands still:")
    print_table(
        ("supply", "budget A", "highest A", "at s", "after limiter A", "what the limiter does"),
        [
            (one["supply"], one["budget_a"], one["highest_a"], one["at_s"], one["limited_a"], _limiting(one))
            for one in answer["supplies"]
        ],
    )


def _limiting(supply: dict[str, Any]) -> str:
    scale = supply["limiter_scale"]
    return "nothing" if scale >= 1 else f"dims to {scale:.0%} at the highest instant"


def _print_rows(answer: dict[str, Any]) -> None:
    console = Console(highlight=False)
    width = console.width if console.is_terminal else PIPE_WIDTH
    label = min(max((len(printable(zone["zone"])) for zone in answer["zones"]), default=0), 24)
    cells = max(width - label - 2, NARROWEST)
    for place, at_s in enumerate(answer["instants_s"]):
        if answer["window_s"]:
            say()
            say(f"at {at_s:g} s")
        for zone in answer["zones"]:
            row = zone["rows"][place]
            line = Text(f"{printable(zone['zone'])[:label]:<{label}}  ")
            for column in range(min(len(row), cells)):
                line.append("█", style=row[column * len(row) // min(len(row), cells)])
            console.print(line, no_wrap=True, overflow="crop", width=width)
