"""`stringcourse budget`: who may draw how much of each supply."""

from typing import Annotated

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.printing import print_json, print_table, say

group = typer.Typer(help="Budgets: what each node may draw of its supplies, now.", no_args_is_help=True)


@group.command("list")
def list_budgets(venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """List each supply's budget and, node by node, what is granted, reserved and wanted.

    Reserved is the most that a node may still be under. It falls when the node says that it keeps and shows less, never
    because the node is silent: the pixels of a dead board hold their light.
    """
    with HubClient(hub) as client:
        supplies = client.every(path_of("venues", chosen_venue(client, venue), "budgets"))
    if as_json:
        print_json(supplies)
        return
    rows: list[tuple[object, ...]] = []
    for supply in supplies:
        whole = (supply["supply"], supply["sharing"], None, supply["budget_a"], None, supply["reserved_a"])
        rows.append((*whole, None, None, None))
        rows += [
            (
                None,
                None,
                share["node"],
                share["fixed_a"],
                share["granted_a"],
                share["reserved_a"],
                share["wanted_a"],
                "yes" if share["confirmed"] else "no",
                share["note"],
            )
            for share in supply["nodes"]
        ]
    amounts = ("budget or fixed share A", "granted A", "reserved A", "wanted A")
    print_table(("supply", "sharing", "node", *amounts, "confirmed", "note"), rows)


@group.command("release")
def release(
    node: Annotated[str, typer.Argument(metavar="NODE", help="The node whose board is off for good, or gone.")],
    venue: VenueOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask whether the board is off.")] = False,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Give up what is reserved for a board that is off for good, so that other nodes may have it.

    CAUTION: only where the board and its pixels are off. A board with power lights its pixels as it was last told, and
    its share would then be given away twice: wire and supply may overheat. Take its fuse or plug out first (mains side:
    a licensed electrician, under the local code), and erase a board's state before it is used again.
    """
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        if not yes:
            typer.confirm(f"Is the board of {node} off, and does it stay off?", abort=True)
        client.call("DELETE", path_of("venues", chosen, "reservations", node))
    say(f"released: what was reserved for {node} may go to others")
