"""Pulse: the whole zone swells between two colours, all pixels alike."""

from fractions import Fraction
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import PatternStatement, Seconds, exact
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp
from schemas import Extent
from schemas.colour import Colour, Mix, Stop

_SHORTEST_S: Final = Fraction(1, 10)


class Pulse(PatternStatement):
    """The whole zone swells from one colour to another and back: it rises, holds, falls and rests, and rises again.

    A rise or fall of 0 s is a switch; the flash check judges what comes of it.
    """

    pattern: Literal["pulse"]
    high: Annotated[Colour, Field(description="The colour that it rises to.")]
    low: Annotated[Colour, Field(description="The colour that it falls to and rests in.")] = "#000000"
    mix: Mix = "oklab"
    rise_s: Annotated[Seconds, Field(description="How long it rises, gently at both ends.")] = 2.0
    hold_s: Annotated[Seconds, Field(description="How long it stays high.")] = 0.5
    fall_s: Annotated[Seconds, Field(description="How long it falls, gently at both ends.")] = 3.0
    rest_s: Annotated[Seconds, Field(description="How long it stays low.")] = 1.0

    @model_validator(mode="after")
    def _lasts(self) -> "Pulse":
        if self.period_s < _SHORTEST_S:
            reason = "rise_s + hold_s + fall_s + rest_s must be {shortest_s} or more"
            given = {"shortest_s": float(_SHORTEST_S), "remedy": "lengthen one of them"}
            raise PydanticCustomError("fit", reason, given)
        return self

    def light(self, placement: Placement) -> "PulseLight":  # noqa: ARG002 (alike everywhere)
        return PulseLight(self)

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return self.period_s

    @property
    def period_s(self) -> Fraction:
        return exact(self.rise_s) + exact(self.hold_s) + exact(self.fall_s) + exact(self.rest_s)


class PulseLight:
    """A height from 0 to 1, eased by smoothstep where it rises and falls, looked up between the two colours.

    At show time 0 it begins to rise.
    """

    def __init__(self, pattern: Pulse) -> None:
        self._period_s = float(pattern.period_s)
        self._rise_s, self._fall_s = pattern.rise_s, pattern.fall_s
        self._high_until_s = pattern.rise_s + pattern.hold_s
        self._ramp = Ramp((Stop(at=0.0, colour=pattern.low), Stop(at=1.0, colour=pattern.high)), pattern.mix)
        self._height = np.empty(1, dtype=np.float32)
        self._index = np.empty(1, dtype=np.intp)
        self._light = Light(np.empty((3, 1), dtype=np.float32))

    def evaluate(self, show_time_s: float) -> Light:
        self._height[0] = self._height_at(show_time_s % self._period_s)
        self._ramp.look_up(self._height, self._index, self._light.colour)
        return self._light

    def _height_at(self, through_s: float) -> float:
        if through_s < self._rise_s:
            return _eased(through_s / self._rise_s)
        if through_s < self._high_until_s:
            return 1.0
        fallen_s = through_s - self._high_until_s
        return _eased(1.0 - fallen_s / self._fall_s) if fallen_s < self._fall_s else 0.0


def _eased(share: float) -> float:
    return share * share * (3 - 2 * share)
