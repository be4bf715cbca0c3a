"""What a flash check found, as API, command line and takes tell it."""

from enum import StrEnum
from typing import Annotated, Final, Literal

from pydantic import BaseModel, Field

ESTIMATE: Final = (
    "An estimate: both standards are written for screens. A front is larger or smaller to the eye with the distance, "
    "and light from a pixel falls on what is around it; figures hold for the distance and the reach stated here."
)
CAUTION: Final = (
    "Flashing light can bring on seizures in people with photosensitive epilepsy, and a front is seen by people who "
    "did not choose to look. Slow the scene down; where it must flash, warn people before they see it, keep someone at "
    "hand who can stop it, and follow local rules for strobe light."
)


Kind = Literal["general", "red"]


class FlashVerdict(StrEnum):
    """`at the limit` passes: there are three flashes a second, or as good as three, and no more."""

    PASSES = "passes"
    AT_THE_LIMIT = "at the limit"
    FAILS = "fails"


class FlashFinding(BaseModel):
    """One kind of flash by one standard. Of what passes there is nothing more to tell."""

    kind: Kind
    standard: str
    verdict: FlashVerdict
    flashes_a_second: int | None = Field(None, description="The most in any second, where their area is too large.")
    from_s: float | None = Field(None, description="Show time at which this first happens, from 0.")
    shortest_s: float | None = Field(
        None, description="The shortest time that one flash too many takes, seconds; less than 1 fails."
    )
    area_sr: float | None = Field(None, description="The largest area that flashes so in a field of 10°, steradians.")
    x_m: float | None = Field(None, description="Centre of the field in which it is worst, metres on the elevation.")
    y_m: float | None = None
    zones: list[str] = Field([], description="Zones with pixels that flash there.")


class FlashReport(BaseModel):
    """A scene held against the published thresholds of flashes, as the nodes show it after the budget limiter."""

    venue: str
    scene: str
    title: str
    verdict: FlashVerdict
    summary: str = Field(description="The verdict in one sentence, with what was found and what helps.")
    findings: list[FlashFinding]
    slow_down: Annotated[
        float | None,
        Field(
            description="The largest factor, at most 1, for every layer's `time_scale`, with which the scene passes; "
            "null where none was found."
        ),
    ]
    window_s: float = Field(description="How long the scene was looked at; 0 for one that stands still.")
    whole: bool = Field(description="Whether the scene repeats after that time.")
    instants: int
    instants_a_second: float = Field(description="On average: they lie unevenly, so that no strobe hides between them.")
    every: int = Field(description="Each pixel of this many was looked at, standing for those beside it; 1 is all.")
    distance_m: float = Field(description="Distance from which the front is taken to be seen.")
    reach_m: float = Field(description="How far around itself a pixel is taken to light the front.")
    limit_sr: float = Field(description="Area that may flash in any field of 10° whatever its rate, steradians.")
    estimate: str = ESTIMATE
    caution: str | None = Field(None, description="Of a scene that fails.")


class FlashReports(BaseModel):
    """What is known of a venue's scenes so far."""

    reports: list[FlashReport] = Field(description="In the venue's order, for the usual distance.")
    unchecked: list[str] = Field(description="Scenes without a report as yet.")
