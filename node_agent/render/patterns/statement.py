"""What a pattern's file holds: its statement, which is all that people, editor, docs and errors know, and its light.

A statement's fields say unit, range, default and, in one sentence, what they do.
"""

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated

from pydantic import Field

from node_agent.render.patterns.light import TimedLight
from node_agent.render.placement import Along, Placement
from schemas import Extent
from schemas.pattern import Pattern

AlongAxis = Annotated[
    Along, Field(description="What it follows: s, the way along the zone; x to the right; y up the elevation.")
]
Metres = Annotated[float, Field(ge=0.001, le=10_000, json_schema_extra={"unit": "m"})]
SoftMetres = Annotated[float, Field(ge=0, le=10_000, json_schema_extra={"unit": "m"})]
MetresPerSecond = Annotated[float, Field(ge=-100, le=100, json_schema_extra={"unit": "m/s"})]
Seconds = Annotated[float, Field(ge=0, le=3_600, json_schema_extra={"unit": "s"})]
Seed = Annotated[
    int, Field(ge=0, le=2**32 - 1, description="Chooses one of many like it: another number, another chance.")
]


@dataclass(frozen=True, slots=True)
class Misfit:
    """Something that a pattern asks of a zone and the zone has not: the field within the pattern, and what to do."""

    where: tuple[str | int, ...]
    reason: str
    remedy: str


class PatternStatement(Pattern, ABC):
    """A pattern over a zone. Its light is a pure function of place and time, and the same again after its period."""

    @property
    def weight(self) -> float:
        """What a frame of it costs, in layers of an ordinary pattern."""
        return 1.0

    def misfits(self, extent: Extent) -> Iterator["Misfit"]:  # noqa: ARG002 (most fit every zone)
        """What of it cannot be over a zone of that extent. Told when a scene is stored, for masks too."""
        yield from ()

    @abstractmethod
    def light(self, placement: Placement) -> TimedLight:
        """The pattern prepared on a node's part of a zone."""

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002 (most do not depend on the zone)
        """After how long it repeats, exactly; None where it stands still."""
        return None


def exact(value: float) -> Fraction:
    """The decimal that a person wrote: 0.3 is three tenths."""
    return Fraction(str(value))


def travel_period_s(length_m: float, speed_m_per_s: float) -> Fraction | None:
    """How long something takes to travel by its own length; None where it stands."""
    return exact(length_m) / abs(exact(speed_m_per_s)) if speed_m_per_s else None
