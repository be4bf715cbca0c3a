"""Runs and feeds of the audit as API, page and documents show them."""

from enum import StrEnum

from pydantic import BaseModel, Field

from hub.electrical.levels import Level


class Weight(StrEnum):
    """How much a note weighs."""

    FAULT = "fault"
    ATTENTION = "attention"


class Wiring(StrEnum):
    """What the notes on a supply's wiring come to."""

    SOUND = "sound"
    ATTENTION = "attention"
    FAULT = "fault"


class Note(BaseModel):
    """One thing to see to: where, what, and what to do about it."""

    weight: Weight
    node: str
    channel: int
    at_pixel: int | None = Field(description="The feed or pixel that it is about; null for the whole run.")
    supplies: list[str]
    text: str
    remedy: str


class FeedAudit(BaseModel):
    """A feed: its wire, its fuse, and what it carries. Worst case is what it may carry when no software limits it."""

    at_pixel: int
    supply: str
    wire: str = Field(description="As the venue states it: mm² or AWG.")
    area_mm2: float
    length_m: float = Field(description="One way.")
    conductor_c: float
    loop_ohm: float = Field(description="Both conductors, at their temperature.")
    ampacity_a: float = Field(description="What the wire may carry for long.")
    fuse_a: float | None
    fitting_fuses_a: list[float] = Field(description="Ratings between what it carries under the budget and its wire.")
    typical_a: float
    under_budget_a: float
    worst_case_a: float
    loaded_a: float = Field(description="Under the budget, in the more loaded of its two conductors.")
    drop_v: float = Field(description="Volts lost in its wires, under the budget.")
    heat_w: float = Field(description="Heat in its wires, under the budget.")


class LowestVolts(BaseModel):
    """The darkest place of a run at one level."""

    level: Level
    volts: float
    at_pixel: int
    pixels_below_minimum: int = Field(description="Pixels below their type's lowest working volts.")


class RunAudit(BaseModel):
    """One run: volts along it at three levels, its feeds, its heat, and how fast it can be refreshed."""

    node: str
    channel: int
    pixel_type: str
    pixels: int
    length_m: float
    loop_ohm_per_m: float
    loop_ohm_assumed: bool = Field(description="True where the venue does not state it.")
    minimum_v: float = Field(description="Lowest working volts of its pixel type.")
    lowest: list[LowestVolts]
    copper_w_per_m: float = Field(description="Highest heat in the run's own copper, under the budget.")
    frame_rate_hz: float = Field(description="The highest that its data line can carry.")
    positive_cut_before: list[int]
    feeds: list[FeedAudit]


class RunVolts(BaseModel):
    """Volts at every pixel of a run, and amps from each pixel to the next."""

    node: str
    channel: int
    level: Level
    minimum_v: float
    volts: list[float | None] = Field(description="By pixel; null where no feed reaches it.")
    step_a: list[float] = Field(description="From pixel k to k + 1, in its copper; negative towards the start.")
