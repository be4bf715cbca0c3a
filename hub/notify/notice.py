"""A notice in its life: what it is about, where it stands, how an attempt to deliver it went."""

from dataclasses import dataclass
from enum import StrEnum


class About(StrEnum):
    """What a notice tells."""

    OPENED = "opened"
    ENDED = "ended"
    DIGEST = "digest"
    TEST = "test"


class NoticeState(StrEnum):
    """Waiting for its time or its next attempt; delivered; dead: given up, for a person to see to; dropped by one;
    withdrawn: no longer true before it was told."""

    WAITING = "waiting"
    DELIVERED = "delivered"
    DEAD = "dead"
    DROPPED = "dropped"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class Delivered:
    """The receiver took it."""


@dataclass(frozen=True, slots=True)
class Failed:
    """It was not taken. `reason` may be shown; a `lasting` one would be the same at the next attempt."""

    reason: str
    lasting: bool = False


Outcome = Delivered | Failed


@dataclass(frozen=True, slots=True)
class Message:
    """What one attempt carries. `key` is the same at every attempt; `document` is JSON."""

    key: str
    subject: str
    text: str
    document: str
