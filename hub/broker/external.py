"""The user's own broker: the hub only connects. What its access control list must hold, in Mosquitto's words."""

from collections.abc import Iterable

from hub.broker.credentials import broker_username
from schemas import node_topic, take_topic
from schemas.topics import FROM_NODE, ROOT, TO_NODE


def access_lines(hub_user: str, nodes: Iterable[tuple[str, str]]) -> str:
    """An `acl_file` of Mosquitto: the hub has everything under our root, each (venue, node) its own topics only."""
    lines = [f"user {hub_user}", f"topic readwrite {ROOT}/#"]
    for venue, node in nodes:
        lines += ["", f"user {broker_username(venue, node)}"]
        lines += [f"topic write {node_topic(venue, node, leaf)}" for leaf in FROM_NODE]
        lines += [f"topic read {node_topic(venue, node, leaf)}" for leaf in TO_NODE]
        lines.append(f"topic read {take_topic(venue)}")
    return "\n".join(lines) + "\n"
