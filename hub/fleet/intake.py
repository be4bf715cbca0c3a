"""From a message's bytes to a node's state: topic, bound, validation, awareness. Everything is hostile until here."""

import logging
from collections.abc import Callable, Mapping
from typing import Final, NamedTuple

from pydantic import TypeAdapter, ValidationError

from hub.fleet.awareness import Verdict, apply_presence, apply_reported, apply_telemetry
from hub.fleet.inbox import Message
from hub.fleet.state import FleetState, NodeState
from schemas import Answer, Leaf, Presence, Reported, Telemetry, parse_node_topic
from schemas.bounds import MAX_MESSAGE_BYTES
from schemas.topics import TO_NODE

MAX_CACHED_TOPICS: Final = 50_000

# The validators themselves: the adapters' own methods only hand on what they are asked.
_read_presence = TypeAdapter(Presence).validator.validate_json
_read_reported = TypeAdapter(Reported).validator.validate_json
_read_telemetry = TypeAdapter(Telemetry).validator.validate_json
_read_answer = TypeAdapter(Answer).validator.validate_json

# Members of an enumeration are looked up slowly in Python 3.11.
_APPLIED = Verdict.APPLIED
_PRESENCE, _TELEMETRY = Leaf.PRESENCE, Leaf.TELEMETRY

log = logging.getLogger(__name__)


class Applied(NamedTuple):
    """The node that changed and what was said. `is_back`: a node that was off proved by it that it is on again."""

    node: NodeState
    leaf: Leaf
    is_back: bool


class Intake:
    """Applies messages to the fleet's state; counts what it refuses and logs the first of each kind."""

    def __init__(self, state: FleetState) -> None:
        self._state = state
        self._topics: dict[str, tuple[tuple[str, str], Leaf]] = {}

    def apply(self, message: Message) -> Applied | None:
        """None for a message that was refused."""
        place = self._topics.get(message.topic) or self._parse(message.topic)
        if place is None:
            self._refuse("unknown-topic", message)
            return None
        key, leaf = place
        node = self._state.nodes.get(key)
        if node is None:
            self._refuse("unknown-node", message)
            if leaf is _TELEMETRY and not message.retained:
                self._state.heard_stranger(key, message.received_at_s)
            return None
        if len(message.payload) > MAX_MESSAGE_BYTES:
            self._refuse(f"too-large-{leaf}", message)
            return None
        was_online = node.online
        try:
            verdict = _APPLY[leaf](node, message)
        except ValidationError as error:
            self._refuse(f"malformed-{leaf}", message, error)
            return None
        if node.needs_rebirth:
            self._state.doubtful[key] = None
        if verdict is not _APPLIED:
            self._refuse(f"{verdict}-{leaf}", message)
            return None
        return Applied(node, leaf, node.online and not was_online and leaf is not _PRESENCE)

    def _parse(self, text: str) -> tuple[tuple[str, str], Leaf] | None:
        topic = parse_node_topic(text)
        if topic is None or topic.leaf in TO_NODE:
            return None
        if len(self._topics) >= MAX_CACHED_TOPICS:
            self._topics.clear()
        place = self._topics[text] = (topic.venue, topic.node), topic.leaf
        return place

    def _refuse(self, kind: str, message: Message, error: ValidationError | None = None) -> None:
        rejected = self._state.rejected
        rejected[kind] += 1
        if rejected[kind] == 1:
            fault = ""
            if error is not None:
                first = error.errors(include_url=False, include_input=False)[0]
                fault = f" field={'.'.join(map(str, first['loc']))[:100]!r} reason={first['msg'][:200]!r}"
            log.warning(
                "message refused kind=%s topic=%r bytes=%d%s (counted from now on)",
                kind,
                message.topic[:200],
                len(message.payload),
                fault,
            )


def _apply_presence(node: NodeState, message: Message) -> Verdict:
    presence: Presence = _read_presence(message.payload)
    return apply_presence(node, presence, message.received_at_s, retained=message.retained)


def _apply_reported(node: NodeState, message: Message) -> Verdict:
    reported: Reported = _read_reported(message.payload)
    return apply_reported(node, reported, message.received_at_s, retained=message.retained)


def _apply_telemetry(node: NodeState, message: Message) -> Verdict:
    telemetry: Telemetry = _read_telemetry(message.payload)
    return apply_telemetry(node, telemetry, message.received_at_s, message.skipped)


def _apply_answer(node: NodeState, message: Message) -> Verdict:
    node.answer = _read_answer(message.payload)
    node.answer_at_s = node.heard_at_s = message.received_at_s
    return _APPLIED


_APPLY: Final[Mapping[Leaf, Callable[[NodeState, Message], Verdict]]] = {
    Leaf.PRESENCE: _apply_presence,
    Leaf.REPORTED: _apply_reported,
    Leaf.TELEMETRY: _apply_telemetry,
    Leaf.ANSWER: _apply_answer,
}
