"""REST of guided fault finding: begin, answer, see the pattern again, end."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Path, Query
from pydantic import Field, StringConstraints

from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.api.tokens import ThePerson
from hub.app import TheHub
from hub.fault_finding.findings import FINDINGS
from hub.fault_finding.symptom import WORDS, Symptom
from hub.fault_finding.view import FaultFindingSummary, FaultFindingView, SymptomView
from schemas.contract import ChannelNumber, Contract, Id, Text

MAX_ID_DIGITS = 15  # below what JSON holds as a whole number

router = APIRouter(tags=["fault finding"])
FaultFindingId = Annotated[int, Path(ge=1, lt=10**MAX_ID_DIGITS)]
StepId = Annotated[str, StringConstraints(pattern=r"^[a-z0-9-]{1,60}$")]


class FaultFindingRequest(Contract):
    """What to search for. Without `symptom`, and where needed without `channel`, the first questions ask for them."""

    node: Id
    channel: ChannelNumber | None = None
    symptom: Symptom | None = None


class AnswerRequest(Contract):
    """The answer to the question that stands, or `not-it` to a diagnosis."""

    step: Annotated[StepId, Field(description="The step that it answers, so that a press that came twice counts once.")]
    answer: StepId
    note: Text | None = None


class EndRequest(Contract):
    """How it ended."""

    mended: Annotated[bool | None, Field(description="Whether the fault is gone; null where nobody knows yet.")] = None
    note: Text | None = None


@router.get("/fault-symptoms")
def fault_symptoms() -> list[SymptomView]:
    """What may be seen at a run or board, to begin with, and the findings that look like it."""
    return [
        SymptomView(
            symptom=symptom,
            words=words,
            of_a_run=symptom.of_a_run,
            findings=[kind for kind, seen in FINDINGS.items() if seen is symptom],
        )
        for symptom, words in WORDS.items()
    ]


@router.post("/venues/{venue}/fault-findings", status_code=HTTPStatus.CREATED)
def begin_fault_finding(
    hub: TheHub, venue: Id, wanted: Annotated[FaultFindingRequest, FromJson()], person: ThePerson
) -> FaultFindingView:
    """Begin to search for a fault of a node or one of its runs.

    Answered with the first question. What the hub knows by itself (is the board heard, does its limiter dim, what
    volts the plan leaves at the far end) it answers by itself; those answers stand among the steps. A question that
    needs a test pattern has it shown on the node.
    """
    return hub.fault_findings.begin(venue, wanted.node, wanted.channel, wanted.symptom, person)


@router.get("/venues/{venue}/fault-findings")
def fault_findings(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    node: Annotated[Id | None, Query(description="Only this node's.")] = None,
    ended: Annotated[bool | None, Query(description="Only those that ended, or only those that did not.")] = None,
) -> Page[FaultFindingSummary]:
    """Searches for faults, newest first. The newest 200 of a venue are kept."""
    found = hub.fault_findings.listed(venue, node, ended, wanted.after_number, wanted.limit + 1)
    return wanted.page(found, lambda one: one.id)


@router.get("/venues/{venue}/fault-findings/{fault_finding}")
def fault_finding(hub: TheHub, venue: Id, fault_finding: FaultFindingId) -> FaultFindingView:
    """One search: where it stands, what was answered, and what the hub knows just now."""
    return hub.fault_findings.one(venue, fault_finding)


@router.post("/venues/{venue}/fault-findings/{fault_finding}/answers")
def answer_fault_finding(
    hub: TheHub,
    venue: Id,
    fault_finding: FaultFindingId,
    given: Annotated[AnswerRequest, FromJson()],
    person: ThePerson,
) -> FaultFindingView:
    """Answer the question that stands; the next one comes back, its pattern shown, or the diagnosis.

    `not-it` at a diagnosis asks for what else it may be. 409 where another step stands by now, or it has ended.
    """
    return hub.fault_findings.answer(venue, fault_finding, given.step, given.answer, given.note, person)


@router.post("/venues/{venue}/fault-findings/{fault_finding}/back")
def take_back_answer(hub: TheHub, venue: Id, fault_finding: FaultFindingId) -> FaultFindingView:
    """Take the last answer of a person back: its question stands again. 409 where there is none, or it has ended."""
    return hub.fault_findings.back(venue, fault_finding)


@router.post("/venues/{venue}/fault-findings/{fault_finding}/pattern")
def show_fault_pattern(hub: TheHub, venue: Id, fault_finding: FaultFindingId) -> FaultFindingView:
    """Show the pattern of the question that stands again. 409 where it has none, or the node is off or declines."""
    return hub.fault_findings.show_again(venue, fault_finding)


@router.post("/venues/{venue}/fault-findings/{fault_finding}/end")
def end_fault_finding(
    hub: TheHub,
    venue: Id,
    fault_finding: FaultFindingId,
    said: Annotated[EndRequest, FromJson()],
    person: ThePerson,
) -> FaultFindingView:
    """End it, mended or not. 409 where it has ended."""
    return hub.fault_findings.end(venue, fault_finding, said.mended, said.note, person)
