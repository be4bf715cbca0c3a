"""`stringcourse node`: what nodes say of themselves, their credentials, and questions that make them show up."""

import time
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from hub.broker.external import access_lines
from hub.broker.private_file import write_private
from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.node_tag import tag
from hub.cli.printing import complain, print_json, print_table, say

group = typer.Typer(help="Nodes: their live state, credentials, and finding them on the wall.", no_args_is_help=True)

CLOCK_SOURCES: Final = {
    "hub": "the hub",
    "disciplined": "its own clock, kept by time synchronisation",
    "wall": "its own clock, which nobody vouches for",
    "kept": "the last time known before its start, plus uptime",
}
KEPT_BY: Final = {True: "time synchronisation", False: "nobody"}

NodeId = Annotated[str, typer.Argument(metavar="NODE", help="Id of the node.", show_default=False)]
ChannelOption = Annotated[
    int, typer.Option("--channel", min=1, max=4, help="Data output, as printed on the wiring sheet.")
]
Duration = Annotated[float, typer.Option("--seconds", min=1, max=600, help="Ends by itself after so long.")]


@group.command("list")
def list_nodes(venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """List a venue's nodes as they are now: connection, scene, revision, frame rate, amps."""
    with HubClient(hub) as client:
        states = client.every(path_of("venues", chosen_venue(client, venue), "node-states"))
    if as_json:
        print_json(states)
        return
    print_table(
        ("node", "state", "heard", "scene", "showing", "desired", "frames/s", "amps", "°C"),
        [
            (
                state["node"],
                "online" if state["online"] else "offline",
                _ago(state["heard_at_ms"]),
                state["scene"],
                state["revision_showing"],
                state["revision_desired"],
                _rounded(state["frame_rate_hz"], 1),
                _rounded(_amps(state), 2),
                _rounded(state["temperature_c"], 0),
            )
            for state in states
        ],
    )


@group.command()
def show(node: NodeId, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Everything that one node last said of itself, and its open findings."""
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        states = client.every(path_of("venues", chosen, "node-states"))
        state = next((one for one in states if one["node"] == node), None)
        if state is None:
            raise CommandError(ExitCode.NOT_FOUND, f"there is no node {node!r}; list the nodes to see what there is")
        findings = client.every(path_of("venues", chosen, "findings"), node=node, open=True)
    if as_json:
        print_json(state | {"findings": findings})
        return
    refusal = state["refusal"]
    offset, dispersion, drift = (state[f"clock_{what}"] for what in ("offset_ms", "dispersion_ms", "drift_ppm"))
    print_table(
        ("what", "value"),
        [
            ("node", state["node"]),
            ("title", state["title"]),
            ("state", "online" if state["online"] else "offline"),
            ("heard", _ago(state["heard_at_ms"])),
            ("agent", state["agent_version"]),
            ("scene", state["scene"]),
            ("revision showing", state["revision_showing"]),
            ("revision staged", state["revision_staged"]),
            ("revision desired", state["revision_desired"]),
            (
                "frames/s",
                f"{state['frame_rate_hz']:.1f} of {state['frame_rate_target_hz']:.1f}"
                if state["frame_rate_hz"] is not None
                else None,
            ),
            ("late frames", state["late_frames"]),
            ("temperature", f"{state['temperature_c']:.0f} °C" if state["temperature_c"] is not None else None),
            ("show time from", CLOCK_SOURCES.get(state["clock_source"])),
            ("ahead of its clock", f"{offset:.2f} ms ± {dispersion or 0:.2f} ms" if offset is not None else None),
            ("its clock is kept by", KEPT_BY.get(state["wall_clock_disciplined"])),
            ("its clock loses", f"{drift:.1f} ppm" if drift is not None else None),
            ("refuses", f"{refusal['field']}: {refusal['reason']} {refusal['remedy']}" if refusal else None),
        ],
    )
    if state["supplies"]:
        say()
        columns = ("supply", "amps", "highest amps", "limiter scale")
        rows = [(one["supply"], one["amps"], one["highest_a"], one["limiter_scale"]) for one in state["supplies"]]
        print_table(columns, rows)
    for finding in findings:
        say()
        say(f"{finding['kind']}: {finding['message']}")
        say(f"  check: {finding['next_check']}")


@group.command()
def credential(
    node: NodeId,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="File to write, mode 0600; carry it to the board.")],
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Make a new credential for a node's agent and write it to FILE. The one before stops to open at once.

    Example: stringcourse node credential bay-01 bay-01.json
    """
    if file.is_symlink() or (file.exists() and not file.is_file()):
        raise CommandError(ExitCode.BAD_INPUT, f"{file} is not a plain file; name another")
    if not file.absolute().parent.is_dir():
        raise CommandError(ExitCode.BAD_INPUT, f"there is no folder {file.absolute().parent}; make it first")
    with HubClient(hub) as client:
        issued = client.call("POST", path_of("venues", chosen_venue(client, venue), "nodes", node, "credential")).text
    try:
        write_private(file, issued + "\n")
    except OSError as error:
        raise CommandError(ExitCode.BAD_INPUT, f"{file} cannot be written: {error.strerror}; try again") from error
    complain(f"wrote {file} (mode 0600); start the board with: stringcourse-node start --credential {file.name}")


@group.command()
def access(
    venue: VenueOption = None,
    hub_user: Annotated[str, typer.Option("--hub-user", help="The hub's user of your broker.")] = "hub",
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Print the access lines that a broker of your own needs, as an acl_file of Mosquitto.

    The users' passwords are set in that broker; each node's credential file holds its secret.
    """
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        states = client.every(path_of("venues", chosen, "node-states"))
    typer.echo(access_lines(hub_user, [(chosen, state["node"]) for state in states]), nl=False)


@group.command()
def identify(node: NodeId, venue: VenueOption = None, seconds: Duration = 20.0, hub: HubAddress = DEFAULT_HUB) -> None:
    """Let every pixel of a node breathe slowly, to find the board."""
    _ask(hub, venue, node, {"kind": "identify", "seconds": seconds})
    say(f"{node} breathes for {seconds:g} s")


@group.command()
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
    _ask(hub, venue, node, question)
    say(f"{node} walks channel {channel} at {pixels_per_s:g} pixels a second for {seconds:g} s")


@group.command("test")
def show_test_pattern(
    node: NodeId,
    channel: ChannelOption,
    venue: VenueOption = None,
    seconds: Duration = 60.0,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Show thirds of red, green and blue with a white first pixel: proves colour order and the data end."""
    _ask(hub, venue, node, {"kind": "test-pattern", "channel": channel, "seconds": seconds})
    say(f"{node} shows red, green, blue from a white first pixel on channel {channel} for {seconds:g} s")


group.command()(tag)


def _ask(hub: str, venue: str | None, node: str, question: dict[str, Any]) -> None:
    with HubClient(hub) as client:
        client.call("POST", path_of("venues", chosen_venue(client, venue), "nodes", node, "asks"), json=question)


def _amps(state: dict[str, Any]) -> float | None:
    return sum(one["amps"] for one in state["supplies"]) if state["supplies"] else None


def _rounded(value: float | None, digits: int) -> float | None:
    return round(value, digits) if value is not None else None


def _ago(at_ms: int | None) -> str | None:
    if at_ms is None:
        return None
    seconds = max(0.0, time.time() - at_ms / 1000)
    return f"{seconds:.0f} s ago" if seconds < 120 else f"{seconds / 60:.0f} min ago"
