"""Answers to the hub's questions: clock exchange, rebirth, and what a person at the board wants to see."""

from collections.abc import Callable
from typing import Protocol

from pydantic import ValidationError

from node_agent.clock import ShowClock
from node_agent.inbox import Received
from node_agent.overlay import Identify, Overlay, Walk
from node_agent.rejections import Rejections
from node_agent.still_patterns import StillPattern
from node_agent.telemetry_pace import TelemetryPace
from schemas import (
    Answer,
    Ask,
    AskClock,
    AskIdentify,
    AskRebirth,
    AskTelemetry,
    AskTestPattern,
    AskWalk,
    ClockAnswer,
    Declined,
    Done,
)


class OverlayShower(Protocol):
    def overlay(self, overlay: Overlay) -> None: ...


class Questions:
    """`answer` gives the answer to publish, or None for a question that is malformed or came too late.

    `rebirth` says everything again, `tell` sends telemetry at once.
    """

    def __init__(
        self,
        clock: ShowClock,
        frames: OverlayShower,
        rejections: Rejections,
        pace: TelemetryPace,
        rebirth: Callable[[], None],
        tell: Callable[[], None],
    ) -> None:
        self._clock = clock
        self._frames = frames
        self._rejections = rejections
        self._pace = pace
        self._rebirth = rebirth
        self._tell = tell

    def answer(self, message: Received, channels: frozenset[int]) -> Answer | None:
        try:
            ask = Ask.model_validate_json(message.payload)
        except ValidationError:
            self._rejections.add("ask: not a question")
            return None
        question = ask.question
        # A clock question is answered however late it seems: it may be this node's clock that is wrong.
        if not isinstance(question, AskClock) and ask.expires_at_ms < self._clock.show_s() * 1_000:
            return None
        match question:
            case AskClock():
                return Answer(correlation=ask.correlation, answer=self._exchange(question, message.node_ms))
            case AskRebirth():
                self._rebirth()
                return Answer(correlation=ask.correlation, answer=Done(kind="done"))
            case AskTelemetry():
                self._pace.hasten(question.interval_s, question.seconds)
                self._tell()
                return Answer(correlation=ask.correlation, answer=Done(kind="done"))
            case AskIdentify():
                overlay: Overlay = Identify(question.seconds)
            case AskWalk():
                overlay = Walk(question.seconds, question.channel, question.pixels_per_s)
            case AskTestPattern():
                overlay = StillPattern(question.seconds, question.channel, question.pattern)
        if not channels:
            reason = "nothing shows here yet; take a scene first"
            return Answer(correlation=ask.correlation, answer=Declined(kind="declined", reason=reason))
        if isinstance(question, AskWalk | AskTestPattern) and question.channel not in channels:
            wired = ", ".join(str(number) for number in sorted(channels))
            reason = f"no run on channel {question.channel}; this node has {wired}"
            return Answer(correlation=ask.correlation, answer=Declined(kind="declined", reason=reason))
        self._frames.overlay(overlay)
        return Answer(correlation=ask.correlation, answer=Done(kind="done"))

    def _exchange(self, question: AskClock, t2_ms: float) -> ClockAnswer:
        if question.completed:
            try:
                self._clock.complete(question.completed)
            except ValueError:
                self._rejections.add("ask: an impossible clock exchange")
        t3_ms = self._clock.node_ms()
        self._clock.answered(question.t1_ms, t2_ms, t3_ms)
        return ClockAnswer(kind="clock", t1_ms=question.t1_ms, t2_ms=t2_ms, t3_ms=t3_ms)
