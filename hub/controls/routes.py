"""REST of the controls: one call each, without a body."""

from http import HTTPStatus

from fastapi import APIRouter

from hub.api.tokens import ThePerson
from hub.app import TheHub
from hub.controls.answer import ControlAnswer
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}/controls", tags=["controls"])


@router.post("/go", status_code=HTTPStatus.ACCEPTED)
def go(hub: TheHub, venue: Id, person: ThePerson) -> ControlAnswer:
    """Take the next cue of the list in hand; the first cue of the venue's first list where none is in hand.

    At once: a rollout under way is halted, and boards that refuse or do not answer are left out and follow when they
    can. 409 after a list's last cue.
    """
    return hub.controls.go(venue, person)


@router.post("/back", status_code=HTTPStatus.ACCEPTED)
def back_at_once(hub: TheHub, venue: Id, person: ThePerson) -> ControlAnswer:
    """Take the cue before while a list is in hand, or its cue again where something else was taken in between.

    Without a list: what was taken before the revision in force. 409 where nothing was.
    """
    return hub.controls.back(venue, person)


@router.post("/blackout", status_code=HTTPStatus.ACCEPTED)
def blackout(hub: TheHub, venue: Id, person: ThePerson) -> ControlAnswer:
    """Every pixel dark, at once and without a fade; `back` brings back what was on.

    Caution: people may be on stairs, ladders or a stage edge. It holds until the timetable's next take.
    """
    return hub.controls.blackout(venue, person)


@router.post("/work-light", status_code=HTTPStatus.ACCEPTED)
def work_light(hub: TheHub, venue: Id, person: ThePerson) -> ControlAnswer:
    """Plain white on every zone, at once and within the budget of every supply.

    A neutral white of about 4,000 K at half light that every board holds already; a scene `work-light` of the venue's
    own stands in its place. Caution: it is no emergency lighting. It holds until the timetable's next take.
    """
    return hub.controls.work_light(venue, person)


@router.post("/follow-timetable", status_code=HTTPStatus.ACCEPTED)
def follow_timetable(hub: TheHub, venue: Id, person: ThePerson) -> ControlAnswer:
    """Let go of what was taken by hand: what the timetable has on now is taken. 409 in a venue without a timetable."""
    return hub.controls.follow_timetable(venue, person)
