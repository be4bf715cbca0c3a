"""`stringcourse node identify`, `walk`, `test-pattern`, `watch`: a node shows itself, or tells more often."""

import json
import time
from contextlib import suppress
from typing import Annotated, Any, Final

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.event_stream import events_of
from hub.cli.node_figures import live_columns, live_line
from hub.cli.printing import say
from schemas.ask import TestPattern

NodeId = Annotated[str, typer.Argument(metavar="NODE", help="Id of the node.", show_default=False)]
ChannelOption = Annotated[
    int, typer.Option("--channel", min=1, max=4, help="Data output, as printed on the wiring sheet.")
]
Duration = Annotated[float, typer.Option("--seconds", min=1, max=600, help="Ends by itself after so long.")]

_SHOWS: Final[dict[TestPattern, str]] = {
    "thirds": "red, green, blue from a white first pixel",
    "first-pixel": "its first pixel in white and nothing else",
    "every-tenth": "pixels 0, 10, 20 and so on in white",
    "ramp": "white from dark at the data end to half light at the far end",
    "bars": "white, red, green, blue, dark, cyan, magenta, yellow, red, white from the data end",
}
_WATCH_EVERY_S: Final = 1.0


def identify(node: NodeId, venue: VenueOption = None, seconds: Duration = 20.0, hub: HubAddress = DEFAULT_HUB) -> None:
    """Let every pixel of a node breathe slowly, to find the board."""
    with HubClient(hub) as client:
        _ask(client, chosen_venue(client, venue), node, {"kind": "identify", "seconds": seconds})
    say(f"{node} breathes for {seconds:g} s")


def walk(
    node: NodeId,
    channel: ChannelOption,
    venue: VenueOption = None,
    pixels_per_s: Annotated[float, typer.Option("--pixels-per-s", min=0.5, max=20, help="Pace.")] = 4.0,
    seconds: Duration = 60.0,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Light one pixel after another along a channel: count them, and see where the data enters."""
    question = {"kind": "walk", "channel": channel, "pixels_per_s": pixels_per_s, "seconds": seconds}
    with HubClient(hub) as client:
        _ask(client, chosen_venue(client, venue), node, question)
    say(f"{node} walks channel {channel} at {pixels_per_s:g} pixels a second for {seconds:g} s")


def show_pattern(
    node: NodeId,
    channel: ChannelOption,
    pattern: Annotated[TestPattern, typer.Option(help="What to show; it stands still.")] = "thirds",
    venue: VenueOption = None,
    seconds: Duration = 60.0,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Show a still pattern on a channel, by which you see at the run what is wrong with it.

    thirds: red, green, blue from a white first pixel; proves the order of colours and the data end.

    first-pixel: it alone; proves that data reaches the run, and where.

    every-tenth: pixels 0, 10, 20 and so on; counts them.

    ramp: white from dark to half light at the far end; shows lost volts and a wrong dimming curve.

    bars: white, red, green, blue, dark, cyan, magenta, yellow, red, white from the data end; a far white that is red
    lacks volts, a colour in the wrong place is the order of colours, one that is missing a dead emitter.

    Example: stringcourse node test-pattern bay-01 --channel 1 --pattern bars
    """
    question = {"kind": "test-pattern", "channel": channel, "pattern": pattern, "seconds": seconds}
    with HubClient(hub) as client:
        _ask(client, chosen_venue(client, venue), node, question)
    say(f"{node} shows {_SHOWS[pattern]} on channel {channel} for {seconds:g} s")


def watch(
    node: NodeId,
    venue: VenueOption = None,
    seconds: Duration = 60.0,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Let a node tell its figures every second for a while, and print them as they come. Ctrl-C ends it sooner.

    Then it tells at its usual interval again, by itself.

    Example: stringcourse node watch bay-01 --seconds 30
    """
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        question = {"kind": "telemetry", "interval_s": _WATCH_EVERY_S, "seconds": seconds}
        _ask(client, chosen, node, question)
        if not as_json:
            say(live_columns())
        ends_s = time.monotonic() + seconds
        with suppress(KeyboardInterrupt):
            for event in events_of(client, chosen):
                if event is not None and event[0] == "node" and event[1]["node"] == node:
                    typer.echo(json.dumps(event[1])) if as_json else say(live_line(event[1]))
                if time.monotonic() >= ends_s:
                    break


def _ask(client: HubClient, venue: str, node: str, question: dict[str, Any]) -> None:
    client.call("POST", path_of("venues", venue, "nodes", node, "asks"), json=question)
