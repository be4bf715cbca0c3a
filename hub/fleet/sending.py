"""Sending a question to a node."""

import secrets
from typing import Final

from hub.fleet.loop import FleetLoop
from schemas import Ask, Leaf, node_topic
from schemas.ask import Question

LIFETIME_S: Final = 5.0


def send_question(loop: FleetLoop, key: tuple[str, str], question: Question, now_s: float) -> str:
    """Publish a question that expires after `LIFETIME_S`; returns the correlation that its answer will carry."""
    correlation = secrets.token_hex(8)
    ask = Ask(correlation=correlation, expires_at_ms=int((now_s + LIFETIME_S) * 1000), question=question)
    loop.publish(node_topic(*key, Leaf.ASK), ask.model_dump_json().encode(), retain=False)
    return correlation
