"""`stringcourse node`: what nodes say of themselves, their credentials, and questions that make them show up."""

from pathlib import Path
from typing import Annotated

import typer

from hub.broker.external import access_lines
from hub.broker.private_file import write_private
from hub.cli import node_asks
from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.node_figures import ago, amps, rows_of
from hub.cli.node_tag import tag
from hub.cli.printing import complain, print_json, print_table, say

group = typer.Typer(help="Nodes: their live state, credentials, and finding them on the wall.", no_args_is_help=True)

NodeId = Annotated[str, typer.Argument(metavar="NODE", help="Id of the node.", show_default=False)]


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
                ago(state["heard_at_ms"]),
                state["scene"],
                state["revision_showing"],
                state["revision_desired"],
                _rounded(state["frame_rate_hz"], 1),
                _rounded(amps(state), 2),
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
    print_table(("what", "value"), rows_of(state))
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


for name, function in (
    ("identify", node_asks.identify),
    ("walk", node_asks.walk),
    ("test-pattern", node_asks.show_pattern),
    ("watch", node_asks.watch),
    ("tag", tag),
):
    group.command(name)(function)


def _rounded(value: float | None, digits: int) -> float | None:
    return round(value, digits) if value is not None else None
