"""REST of rollouts: take a scene everywhere, plan one in batches, conduct it, see how it went, go back."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Path
from pydantic import Field

from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.api.tokens import NamedPerson, ThePerson
from hub.app import TheHub
from hub.rollout.dry_run import DryRun
from hub.rollout.plan import DEFAULT_FADE_MS, RolloutPlan
from hub.rollout.view import RolloutView
from schemas.contract import Contract, Id, PersonName
from schemas.fade import FadeMs

router = APIRouter(prefix="/venues/{venue}", tags=["rollouts"])
RevisionPath = Annotated[int, Path(ge=1, le=2**53 - 1)]


class TakeRequest(Contract):
    """A scene to take on every node of the venue at one instant."""

    scene: Annotated[Id | None, Field(description="Null is darkness.")]
    fade_ms: FadeMs = DEFAULT_FADE_MS
    flash_confirmed_by: Annotated[
        PersonName | None,
        Field(description="Who confirms that the scene may go out although it fails the flash check; else not needed."),
    ] = None


@router.post("/takes", status_code=HTTPStatus.ACCEPTED)
def take(hub: TheHub, venue: Id, wanted: Annotated[TakeRequest, FromJson()], person: ThePerson) -> RolloutView:
    """Take a scene everywhere at one show time, or nowhere.

    The rollout is answered while it is being staged: follow it by its revision or the event stream. It halts, and
    nothing changes anywhere, when a node refuses or is online and does not answer. 409 while another is under way.

    A scene that fails the flash check (`scenes/{scene}/flash`) needs the name of a person who confirms it, or is a 409
    that says what was found; one that was not checked yet is checked first, which may take some seconds.
    """
    rollout = hub.rollouts.take(
        venue, wanted.scene, wanted.fade_ms, flash_confirmed_by=wanted.flash_confirmed_by, requested_by=person
    )
    hub.cues.left(venue)
    return rollout


@router.get("/rollouts")
def rollouts(hub: TheHub, venue: Id, wanted: WantedPage) -> Page[RolloutView]:
    """Rollouts of the venue, newest first."""
    items = hub.rollouts.page(venue, wanted.after_number, wanted.limit + 1)
    return wanted.page(items, lambda rollout: str(rollout.revision))


@router.post("/rollouts/back", status_code=HTTPStatus.ACCEPTED)
def back(hub: TheHub, venue: Id, person: ThePerson) -> RolloutView:
    """Take what was taken before the revision in force, venue and scene as they then were, as a new revision.

    Who confirmed the flashes of its scene then is named again. 409 for one that fails the flash check and was never
    confirmed: take its scene instead, with a name.
    """
    rollout = hub.rollouts.back(venue, requested_by=person)
    hub.cues.left(venue)
    return rollout


@router.get("/rollouts/{revision}")
def rollout(hub: TheHub, venue: Id, revision: RevisionPath) -> RolloutView:
    """One rollout. The newest 50 are kept."""
    return hub.rollouts.rollout(venue, revision)


@router.post("/rollouts", status_code=HTTPStatus.ACCEPTED)
def plan_rollout(hub: TheHub, venue: Id, plan: Annotated[RolloutPlan, FromJson()], person: ThePerson) -> RolloutView:
    """Roll a scene out as planned: on selected nodes, in batches, watched, approved.

    Nodes that are not selected keep what they show. 409 while another rollout is under way, unless `queue` lets this
    one wait; two are never mixed. Where the venue asks for approval it waits in `planned` until another person
    approves it: both need tokens that carry their names (403 without).
    """
    return hub.rollouts.plan(venue, plan, person)


@router.post("/rollouts/dry-run")
def dry_run_rollout(hub: TheHub, venue: Id, plan: Annotated[RolloutPlan, FromJson()]) -> DryRun:
    """What that plan would do as things stand: its batches, and for each node what would differ. Nothing is sent."""
    return hub.dry_runs.dry_run(venue, plan)


@router.post("/rollouts/{revision}/approve", status_code=HTTPStatus.ACCEPTED)
def approve_rollout(hub: TheHub, venue: Id, revision: RevisionPath, person: NamedPerson) -> RolloutView:
    """Approve a rollout that waits for a second person; your token must carry a name other than the planner's."""
    return hub.rollouts.approve(venue, revision, person)


@router.post("/rollouts/{revision}/pause", status_code=HTTPStatus.ACCEPTED)
def pause_rollout(hub: TheHub, venue: Id, revision: RevisionPath) -> RolloutView:
    """Begin no further batch until it is resumed. A take that is decided comes; boards keep what they show."""
    return hub.rollouts.pause(venue, revision)


@router.post("/rollouts/{revision}/resume", status_code=HTTPStatus.ACCEPTED)
def resume_rollout(hub: TheHub, venue: Id, revision: RevisionPath) -> RolloutView:
    """Go on where it was paused."""
    return hub.rollouts.resume(venue, revision)


@router.post("/rollouts/{revision}/halt", status_code=HTTPStatus.ACCEPTED)
def halt_rollout(hub: TheHub, venue: Id, revision: RevisionPath, person: ThePerson) -> RolloutView:
    """Stop it. Batches that were taken stay as they are, until it is reverted or another rollout follows."""
    return hub.rollouts.halt(venue, revision, by=person)


@router.post("/rollouts/{revision}/revert", status_code=HTTPStatus.ACCEPTED)
def revert_rollout(hub: TheHub, venue: Id, revision: RevisionPath, person: ThePerson) -> RolloutView:
    """Stop it, and put back what was in force before, everywhere, as a new revision, which is answered."""
    return hub.rollouts.revert(venue, revision, by=person)


@router.post("/rollouts/{revision}/go", status_code=HTTPStatus.ACCEPTED)
def go_on_with_rollout(hub: TheHub, venue: Id, revision: RevisionPath) -> RolloutView:
    """Take the batch that is staged and waits for a person."""
    return hub.rollouts.go(venue, revision)
