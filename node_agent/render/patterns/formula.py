"""Formula: light by an arithmetic expression of place and time."""

import math
from fractions import Fraction
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import AfterValidator, Field

from node_agent.render.arithmetic import Value
from node_agent.render.expression import MAX_CHARACTERS, Step, parse
from node_agent.render.patterns.light import Light, TimedLight
from node_agent.render.patterns.statement import PatternStatement, exact
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp
from schemas import Extent, Stop
from schemas.colour import Mix, Stops

ADDITIONS_PER_LAYER: Final = 16.0
"""How many additions at each pixel take as long as a layer of an ordinary pattern."""


def _arithmetic(text: str) -> str:
    parse(text)
    return text


class Formula(PatternStatement):
    """Light by an arithmetic expression of place and time, whose value from 0 to 1 is a place on a ramp of colours."""

    pattern: Literal["formula"]
    formula: Annotated[
        str,
        Field(
            min_length=1,
            max_length=MAX_CHARACTERS,
            description=(
                "Arithmetic (+ - * / % ** and brackets) with x, y, s (metres from the zone's left end, lower end and "
                "beginning), t (seconds in the period), turn (share of it), width, height, length (of the zone, in "
                "metres), pi, sin, cos (of radians), exp, sqrt, abs, floor, fract, min, max, clamp(v, low, high), "
                "mix(a, b, share), step(edge, v) and smooth(low, high, v)."
            ),
            examples=["0.5 + 0.5 * sin(2 * pi * (x / 2 - turn)) * cos(pi * y / 3)"],
        ),
        AfterValidator(_arithmetic),
    ]
    period_s: Annotated[
        float,
        Field(
            ge=0.1,
            le=3_600,
            description="After how long t and turn begin at 0 again.",
            examples=[6.0],
            json_schema_extra={"unit": "s"},
        ),
    ]
    stops: Stops = (Stop(at=0.0, colour="black"), Stop(at=1.0, colour="white"))
    mix: Mix = "oklab"

    @property
    def weight(self) -> float:
        moving = sum(step.operation.cost for step in self._steps if step.operation and step.of_place and step.of_time)
        return 1.0 + moving / ADDITIONS_PER_LAYER

    def light(self, placement: Placement) -> TimedLight:
        moving = FormulaLight(self, placement)
        return moving if self._steps[-1].of_time else moving.standing()

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return exact(self.period_s) if self._steps[-1].of_time else None

    @property
    def _steps(self) -> tuple[Step, ...]:
        return parse(self.formula)


class FormulaLight:
    """Steps that do not depend on time are done once; in a frame, those of time alone are done on single numbers."""

    def __init__(self, formula: Formula, placement: Placement) -> None:
        self._period_s = formula.period_s
        self._ramp = Ramp(formula.stops, formula.mix)
        steps = parse(formula.formula)
        known: dict[str, Value] = {
            "x": placement.along_m("x"),
            "y": placement.along_m("y"),
            "s": placement.along_m("s"),
            "width": np.float64(placement.length_m("x")),
            "height": np.float64(placement.length_m("y")),
            "length": np.float64(placement.length_m("s")),
            "pi": np.float64(math.pi),
            "t": np.float64(0.0),
            "turn": np.float64(0.0),
        }
        pixels = placement.x_m.size
        self._values: list[Value] = [
            known[step.name] if step.name else np.float64(step.number or 0.0) for step in steps
        ]
        self._times = [(place, step.name) for place, step in enumerate(steps) if step.name in ("t", "turn")]
        self._timed = [(place, step) for place, step in enumerate(steps) if step.operation and step.of_time]
        for place, step in enumerate(steps):
            if step.of_time and step.of_place:
                self._values[place] = np.empty(pixels)
        self._work([(place, step) for place, step in enumerate(steps) if step.operation and not step.of_time])
        shown = pixels if steps[-1].of_place else 1
        self._place = np.empty(shown)
        self._level = np.empty(shown, dtype=np.float32)
        self._index = np.empty(shown, dtype=np.intp)
        self._light = Light(np.empty((3, shown), dtype=np.float32))

    def standing(self) -> Light:
        self._bring_within_0_and_1()
        return Light(self._ramp.exactly(self._place))

    def evaluate(self, show_time_s: float) -> Light:
        turn = show_time_s / self._period_s % 1.0
        for place, name in self._times:
            self._values[place] = np.float64(turn if name == "turn" else turn * self._period_s)
        self._work(self._timed)
        self._bring_within_0_and_1()
        np.copyto(self._level, self._place, casting="same_kind")
        self._ramp.look_up(self._level, self._index, self._light.colour)
        return self._light

    def _work(self, steps: list[tuple[int, Step]]) -> None:
        values = self._values
        with np.errstate(all="ignore"):
            for place, step in steps:
                if step.operation:
                    out = values[place] if step.of_place and step.of_time else None
                    values[place] = step.operation.work(*(values[one] for one in step.arguments), out=out)

    def _bring_within_0_and_1(self) -> None:
        """What is no number counts as 0: of it and another number `fmax` takes the other."""
        np.fmax(self._values[-1], 0.0, out=self._place)
        np.fmin(self._place, 1.0, out=self._place)
