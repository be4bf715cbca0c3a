"""Topic names of the wire contract: built from checked ids, parsed back, and nothing in between."""

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

ROOT: Final = "stringcourse/v1"
_ID: Final = r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?"
_ID_PATTERN: Final = re.compile(_ID)
_NODE_TOPIC: Final = re.compile(rf"{ROOT}/(?P<venue>{_ID})/node/(?P<node>{_ID})/(?P<leaf>[a-z]+)")


class Leaf(StrEnum):
    """The last level of a node's topic."""

    DESIRED = "desired"
    REPORTED = "reported"
    PRESENCE = "presence"
    TELEMETRY = "telemetry"
    ASK = "ask"
    ANSWER = "answer"
    GRANT = "grant"


FROM_NODE: Final = (Leaf.REPORTED, Leaf.PRESENCE, Leaf.TELEMETRY, Leaf.ANSWER)
TO_NODE: Final = (Leaf.DESIRED, Leaf.ASK, Leaf.GRANT)


@dataclass(frozen=True, slots=True)
class NodeTopic:
    """A topic of one node."""

    venue: str
    node: str
    leaf: Leaf


def node_topic(venue: str, node: str, leaf: Leaf) -> str:
    """The topic of a node's leaf. Raises ValueError for an id that is not one, so that no topic can be injected."""
    return f"{ROOT}/{_checked(venue)}/node/{_checked(node)}/{leaf}"


def take_topic(venue: str) -> str:
    return f"{ROOT}/{_checked(venue)}/all/take"


def venue_subscription(venue: str, leaf: Leaf) -> str:
    """The filter under which the hub hears `leaf` of every node of a venue."""
    return f"{ROOT}/{_checked(venue)}/node/+/{leaf}"


def parse_node_topic(topic: str) -> NodeTopic | None:
    """The parts of a node's topic, or None for any other topic."""
    match = _NODE_TOPIC.fullmatch(topic)
    if match is None or match["leaf"] not in Leaf._value2member_map_:
        return None
    return NodeTopic(match["venue"], match["node"], Leaf(match["leaf"]))


def _checked(identifier: str) -> str:
    if not _ID_PATTERN.fullmatch(identifier):
        raise ValueError(f"not an id: {identifier[:60]!r}; ids are lower-case letters, digits and inner hyphens")
    return identifier
