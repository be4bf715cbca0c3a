"""From a message's bytes to a node's state: topic, bound, validation, awareness. Everything is hostile until here."""

import logging
from typing import Final

from pydantic import TypeAdapter, ValidationError

from hub.fleet.awareness import Verdict, apply_presence, apply_reported, apply_telemetry
from hub.fleet.inbox import Message
from hub.fleet.state import FleetState, NodeState
from schemas import Answer, Leaf, NodeTopic, Presence, Reported, Telemetry, parse_node_topic
from schemas.bounds import MAX_MESSAGE_BYTES
from schemas.topics import TO_NODE

MAX_CACHED_TOPICS: Final = 50_000

_PRESENCE: Final = TypeAdapter(Presence)
_REPORTED: Final = TypeAdapter(Reported)
_TELEMETRY: Final = TypeAdapter(Telemetry)
_ANSWER: Final = TypeAdapter(Answer)

log = logging.getLogger(__name__)


class Intake:
    """Applies messages to the fleet's state; counts what it refuses and logs the first of each kind."""

    def __init__(self, state: FleetState) -> None:
        self._state = state
        self._topics: dict[str, NodeTopic] = {}

    def apply(self, message: Message) -> tuple[NodeState, Leaf] | None:
        """The node that changed and what was said; None for a message that was refused."""
        topic = self._topics.get(message.topic) or self._parse(message.topic)
        if topic is None:
            self._refuse("unknown-topic", message)
            return None
        node = self._state.nodes.get((topic.venue, topic.node))
        if node is None:
            self._refuse("unknown-node", message)
            return None
        if len(message.payload) > MAX_MESSAGE_BYTES:
            self._refuse(f"too-large-{topic.leaf}", message)
            return None
        try:
            verdict = self._apply_to(node, topic.leaf, message)
        except ValidationError as error:
            self._refuse(f"malformed-{topic.leaf}", message, error)
            return None
        if node.needs_rebirth:
            self._state.doubtful[node.key] = None
        if verdict is not Verdict.APPLIED:
            self._refuse(f"{verdict}-{topic.leaf}", message)
            return None
        return node, topic.leaf

    def _apply_to(self, node: NodeState, leaf: Leaf, message: Message) -> Verdict:
        now_s, payload, retained = message.received_at_s, message.payload, message.retained
        if leaf is Leaf.TELEMETRY:
            return apply_telemetry(node, _TELEMETRY.validate_json(payload), now_s)
        if leaf is Leaf.REPORTED:
            return apply_reported(node, _REPORTED.validate_json(payload), now_s, retained=retained)
        if leaf is Leaf.PRESENCE:
            return apply_presence(node, _PRESENCE.validate_json(payload), now_s, retained=retained)
        node.answer = _ANSWER.validate_json(payload)
        node.answer_at_s = node.heard_at_s = now_s
        return Verdict.APPLIED

    def _parse(self, text: str) -> NodeTopic | None:
        topic = parse_node_topic(text)
        if topic is None or topic.leaf in TO_NODE:
            return None
        if len(self._topics) >= MAX_CACHED_TOPICS:
            self._topics.clear()
        self._topics[text] = topic
        return topic

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
