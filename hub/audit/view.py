"""The audit as API and command line show it."""

from pydantic import BaseModel, Field

from hub.audit.figures import Headroom, Verdict
from hub.audit.wiring_view import Note, RunAudit, Wiring
from schemas.venue import Sharing


class Share(BaseModel):
    """One node's part of a supply's budget."""

    node: str
    fixed_a: float = Field(description="Its fixed share, in proportion to its worst case.")
    worst_case_a: float
    typical_a: float


class SupplyAudit(BaseModel):
    """One supply. Amps at the supply's volts."""

    supply: str
    title: str | None
    volts: float
    rated_a: float
    derating: float
    budget_a: float = Field(description="rated_a × derating: what the nodes on it may draw together.")
    worst_case_a: float = Field(description="Every emitter of every pixel full.")
    scene_peak_a: float | None = Field(
        description="Highest instant of the scene that shows as rendered, before the limiter; null with none in force."
    )
    typical_a: float = Field(description="The trade's rule of thumb (common practice, no source).")
    telemetry_highest_a: float | None = Field(
        description="Highest that its nodes told together in the last 30 days; null until they told anything."
    )
    telemetry_percentile_95_a: float | None = Field(
        description="What it did not exceed for ninety-five hundredths of `telemetry_hours`."
    )
    telemetry_hours: float | None = Field(description="Hours of the last 30 days in which all its nodes were heard.")
    telemetry_now_a: float | None = Field(description="What the nodes that are on told last, together.")
    pixels: int
    nodes: list[str]
    sharing: Sharing
    shares: list[Share]
    headroom_worst_case: Headroom
    headroom_typical: Headroom
    class_2: bool = Field(description="Whether the nameplate lies within NEC's Class 2 limit for its volts.")
    verdict: Verdict
    reason: str
    wiring: Wiring
    lowest_under_budget_v: float | None = Field(description="Volts at its darkest pixel, as bright as the budget lets.")


class NodeAudit(BaseModel):
    """One node, over all its supplies."""

    node: str
    title: str | None
    supplies: list[str]
    pixels: int
    worst_case_a: float
    worst_case_w: float
    typical_a: float
    typical_w: float


class VenueAudit(BaseModel):
    """Totals, in watts at the DC side: supplies may differ in volts. Mains draw is higher by the supplies' losses."""

    supplies: int
    nodes: int
    pixels: int
    rated_w: float
    budget_w: float
    worst_case_w: float
    scene_peak_w: float | None = Field(description="Peaks of all supplies together; they need not coincide.")
    typical_w: float
    within: int = Field(description="Supplies by verdict.")
    only_under_budget: int
    overloaded: int
    wiring_faults: int
    wiring_attentions: int


class SceneWindow(BaseModel):
    """What a scene's peaks rest on: instants rendered over so many seconds, closer around the highest."""

    length_s: float
    whole: bool = Field(description="Whether the scene repeats after that time.")
    instants: int
    words: str = Field(description="The same as a sentence.")


class Audit(BaseModel):
    """The audit of a venue's supplies."""

    scene: str | None = Field(description="The scene that most nodes show, whose peaks these are.")
    scene_window: SceneWindow | None = Field(description="How its peaks were found; null with none in force.")
    supplies: list[SupplyAudit]
    nodes: list[NodeAudit]
    runs: list[RunAudit]
    notes: list[Note] = Field(description="What is wrong or unknown in the wiring, faults first.")
    venue: VenueAudit
    assumptions: list[str]
    cautions: list[str]
