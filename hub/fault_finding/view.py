"""Guided fault finding as API, page and command line show it."""

from typing import Literal

from pydantic import BaseModel, Field

from hub.fault_finding.symptom import Symptom
from hub.health.kinds import FindingKind
from schemas import TestPattern
from schemas.contract import ChannelNumber, Id

FaultFindingState = Literal["asking", "diagnosed", "ended"]


class SymptomView(BaseModel):
    """What a person may see, to begin with."""

    symptom: Symptom
    words: str
    of_a_run: bool = Field(description="It is about one run: fault finding asks for the channel.")
    findings: list[FindingKind] = Field(description="Kinds of findings from which one would begin with it.")


class ChoiceView(BaseModel):
    """An answer to give."""

    answer: str
    words: str


class ShownPattern(BaseModel):
    """The test pattern that goes with a question, on the node's channel. It stands still and ends by itself."""

    pattern: TestPattern
    sound: str = Field(description="What a sound run shows of it.")
    shown_at_ms: int | None = Field(description="Show time at which the node said that it shows it, ms.")
    ends_at_ms: int | None
    not_shown: str | None = Field(description="Why it is not shown: the node is off, declines, or did not answer.")


class QuestionView(BaseModel):
    """What to look at now, and what may be answered."""

    step: str
    question: str
    look: str = Field(description="Where and how to look.")
    cautions: list[str] = Field(description="What to mind before looking; show these first.")
    pattern: ShownPattern | None
    choices: list[ChoiceView]


class CarriedItem(BaseModel):
    """A tool or a spare to take along."""

    what: str
    size: str = Field(description="Its size or kind, from the inventory where that tells.")
    source: str = Field(description="Where the size comes from.")


class DiagnosisView(BaseModel):
    """What it is, how to prove it, what to do and what to carry up the ladder."""

    step: str
    title: str
    likely: str = Field(description="What it most likely is.")
    proof: str = Field(description="How to prove it before anything is changed.")
    remedy: str
    carry: list[CarriedItem]
    cautions: list[str]
    source: str = Field(description="What the reasoning rests on.")
    choices: list[ChoiceView] = Field(description="`not-it`, where something else may be behind it; else empty.")


class StepTaken(BaseModel):
    """One answer, as it was given. `hub` answers were the hub's own, from what it knows."""

    step: str
    question: str
    answer: str
    words: str
    note: str | None
    at_ms: int
    by: str | None
    hub: bool
    taken_back: bool


class FaultFindingSummary(BaseModel):
    """One search for a fault. Times are show time, ms."""

    id: str
    node: Id
    channel: ChannelNumber | None
    symptom: Symptom | None
    state: FaultFindingState
    title: str = Field(description="What is seen, or once that is known, what it is.")
    begun_at_ms: int
    begun_by: str | None
    ended_at_ms: int | None
    ended_by: str | None
    mended: bool | None = Field(description="What was said at its end; null where nothing was.")
    note: str | None = Field(description="What was said at its end.")


class FaultFindingView(FaultFindingSummary):
    """One search for a fault with every step. `question` while asking, then `diagnosis`, which stays."""

    facts: list[str] = Field(description="What the hub knows of node and run at this moment.")
    steps: list[StepTaken] = Field(description="Answers so far, oldest first, those taken back among them.")
    question: QuestionView | None
    diagnosis: DiagnosisView | None
    stuck: str | None = Field(description="Why it cannot go on: end it and begin anew. Null as a rule.")
