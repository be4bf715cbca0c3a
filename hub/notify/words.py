"""The words of notices. Pure."""

import json
import secrets

from hub.notify.notice import About, Message


def test_message(venue: str, venue_title: str, destination_title: str, now_ms: int) -> Message:
    """What a destination gets when somebody tries it."""
    key = secrets.token_hex(16)
    text = f"This is a test from the hub of {venue_title} to {destination_title}. Nothing is wrong."
    document = {
        "id": key,
        "about": About.TEST,
        "venue": {"id": venue, "title": venue_title},
        "made_at_ms": now_ms,
        "subject": f"{venue_title}: test",
        "text": text,
    }
    return Message(key, f"{venue_title}: test", text, json.dumps(document))
