"""`stringcourse node tag`: words by which nodes are selected."""

from typing import Annotated

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.printing import print_json, say

NodeId = Annotated[str, typer.Argument(metavar="NODE", help="Id of the node.", show_default=False)]
Add = Annotated[list[str] | None, typer.Option("--add", metavar="TAG", help="A word such as upstairs; repeatable.")]
Remove = Annotated[list[str] | None, typer.Option("--remove", metavar="TAG", help="Take it away; repeatable.")]


def tag(
    node: NodeId,
    add: Add = None,
    remove: Remove = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Show or change a node's tags, by which rollouts select nodes. Nothing that it shows changes.

    Example: stringcourse node tag gable-1 --add upstairs --add window
    """
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "nodes", node)
        read = client.call("GET", path)
        planned = read.json()
        kept = [one for one in planned["tags"] if one not in (remove or [])]
        tags = list(dict.fromkeys([*kept, *(add or [])]))
        if tags != planned["tags"]:
            planned = client.call(
                "PUT", path, json=planned | {"tags": tags}, headers={"If-Match": read.headers["ETag"]}
            ).json()
    if as_json:
        print_json({"node": node, "tags": planned["tags"]})
    else:
        say(f"{node}: {', '.join(planned['tags']) or 'no tags'}")
