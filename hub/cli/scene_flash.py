"""`stringcourse scene flash`: a scene held against the published thresholds of flashing light."""

from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain, print_json, print_table, say

LONGEST_S = 180.0
"""A long scene of many pixels that fails takes the hub a while: slower settings are tried too."""

SceneId = Annotated[str, typer.Argument(metavar="SCENE", help="Id of the scene.", show_default=False)]
Distance = Annotated[
    float,
    typer.Option("--distance-m", min=1, max=1_000, metavar="M", help="How far the nearest people are from the front."),
]


def flash(
    scene: SceneId,
    distance_m: Distance = 5.0,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Check a scene for flashes that can bring on seizures: when, where, how many a second, how much slower it passes.

    General and red flashes by WCAG 2.2 SC 2.3.1, general ones by ITU-R BT.1702 too, over the scene's whole period, as
    the nodes show it. Exits 0 when it passes or is at the limit, 1 when it fails. A scene that fails is taken only with
    --flash-confirmed-by.

    Example: stringcourse scene flash storm --distance-m 8
    """
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "scenes", scene, "flash")
        report = client.call("GET", path, query={"distance_m": distance_m}, timeout_s=LONGEST_S).json()
    if as_json:
        print_json(report)
    else:
        _print(report)
    if report["verdict"] == "fails":
        raise typer.Exit(ExitCode.NO)


def _print(report: dict[str, Any]) -> None:
    say(f"{report['title']} ({report['scene']}) {report['summary']}")
    say()
    print_table(
        ("flashes", "standard", "verdict", "a second", "four within s", "from s", "sr of 10°", "x m", "y m", "zones"),
        [
            (
                one["kind"], one["standard"], one["verdict"], one["flashes_a_second"], one["shortest_s"], one["from_s"],
                one["area_sr"], one["x_m"], one["y_m"], ", ".join(one["zones"]),
            )
            for one in report["findings"]
        ],
    )  # fmt: skip
    say()
    say(_looked_at(report))
    say(report["estimate"])
    if report["caution"]:
        complain(f"CAUTION: {report['caution']}")


def _looked_at(report: dict[str, Any]) -> str:
    if not report["window_s"]:
        return "The scene stands still."
    period = "its whole period" if report["whole"] else "a part of it: it repeats later, or never"
    every = "" if report["every"] == 1 else f", every {report['every']}th pixel"
    return (
        f"Looked at {report['instants']} instants over {report['window_s']:g} s ({period}){every}, seen from "
        f"{report['distance_m']:g} m, each pixel lighting the front {report['reach_m']:g} m around it."
    )
