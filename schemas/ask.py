"""Questions from the hub to a node and the node's answers, tied by a correlation token and bounded by an expiry."""

from typing import Annotated, Literal

from pydantic import Field

from schemas.contract import ChannelNumber, Contract, ShowTimeMs, Text, Token

MonotonicMs = Annotated[float, Field(ge=-1e15, le=1e15, description="ms; fractions carry microseconds")]
ShowSeconds = Annotated[float, Field(ge=1, le=600, description="ends by itself after so many seconds")]


class ClockExchange(Contract):
    """A completed four-timestamp exchange (RFC 5905 §8): t1, t4 by the hub's show time, t2, t3 by the node's clock."""

    t1_ms: MonotonicMs
    t2_ms: MonotonicMs
    t3_ms: MonotonicMs
    t4_ms: MonotonicMs


class AskClock(Contract):
    """Starts an exchange at the hub's `t1_ms`; `completed` hands the node the four stamps of the one before."""

    kind: Literal["clock"]
    t1_ms: MonotonicMs
    completed: ClockExchange | None = None


class AskRebirth(Contract):
    """Publish presence, reported and telemetry again."""

    kind: Literal["rebirth"]


class AskIdentify(Contract):
    """Breathe every pixel slowly (under 1 Hz) so that a person can find the board."""

    kind: Literal["identify"]
    seconds: ShowSeconds = 20.0


class AskWalk(Contract):
    """Light one pixel after another along a channel, so that pixels can be counted and the direction of data seen."""

    kind: Literal["walk"]
    channel: ChannelNumber
    pixels_per_s: Annotated[float, Field(ge=0.5, le=20)] = 4.0
    seconds: ShowSeconds = 60.0


TestPattern = Literal["thirds", "first-pixel", "every-tenth", "ramp", "bars"]
"""`thirds`: red, green and blue with a white first pixel, for colour order and data end. `first-pixel`: it alone, in
white. `every-tenth`: pixels 0, 10, 20 … in white, for counting. `ramp`: white from dark at the data end to half light
at the far end. `bars`: ten equal bars, each of one colour, for colour order and volts at the far end."""


class AskTestPattern(Contract):
    """A still pattern on one channel, by which a person at the run sees what is wrong with it."""

    kind: Literal["test-pattern"]
    channel: ChannelNumber
    pattern: TestPattern = "thirds"
    seconds: ShowSeconds = 60.0


class AskTelemetry(Contract):
    """Telemetry more often for a while; then the interval of the desired document holds again by itself."""

    kind: Literal["telemetry"]
    interval_s: Annotated[float, Field(ge=0.2, le=60)] = 1.0
    seconds: ShowSeconds = 60.0


Question = Annotated[
    AskClock | AskRebirth | AskIdentify | AskWalk | AskTestPattern | AskTelemetry,
    Field(discriminator="kind"),
]


class Ask(Contract):
    """On `node/<id>/ask`. A node drops a question that it reads after `expires_at_ms`."""

    schema_version: Literal[1] = 1
    correlation: Token
    expires_at_ms: ShowTimeMs
    question: Question


class ClockAnswer(Contract):
    """The node's stamps: question read at t2, answer sent at t3, both by the node's own clock; t1 is echoed."""

    kind: Literal["clock"]
    t1_ms: MonotonicMs
    t2_ms: MonotonicMs
    t3_ms: MonotonicMs


class Done(Contract):
    """The node does what was asked."""

    kind: Literal["done"]


class Declined(Contract):
    """The node will not do what was asked."""

    kind: Literal["declined"]
    reason: Text


class Answer(Contract):
    """On `node/<id>/answer`, with the correlation of its question."""

    schema_version: Literal[1] = 1
    correlation: Token
    answer: Annotated[ClockAnswer | Done | Declined, Field(discriminator="kind")]
