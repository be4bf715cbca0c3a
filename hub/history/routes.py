"""REST of history."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response

from hub.app import Hub, TheHub
from hub.errors import InvalidError, Mistake, NotFoundError
from hub.history.levels import DAY_MS
from hub.history.quantities import Quantity, SubjectKind, quantities_of
from hub.history.series import MAX_POINTS, Series
from hub.history.view import HistorySeries, csv_of, view_of
from schemas.contract import Id

CSV = "text/csv"
LAST_MS = 253_402_300_799_999  # of the year 9999

router = APIRouter(prefix="/venues/{venue}/history", tags=["history"])

Quantities = Annotated[
    list[Quantity] | None,
    Query(alias="quantity", max_length=len(Quantity), description="Which; again for each. Without it all there are."),
]
FromMs = Annotated[int | None, Query(ge=0, le=LAST_MS, description="Where it begins; without it a day before the end.")]
UntilMs = Annotated[int | None, Query(ge=0, le=LAST_MS, description="Where it ends; without it now.")]
Points = Annotated[int, Query(ge=2, le=MAX_POINTS, description="At most so many points.")]


@router.get("/{subject_kind}/{subject}.csv", response_class=Response, responses={HTTPStatus.OK: {"content": {CSV: {}}}})
def history_csv(
    hub: TheHub,
    venue: Id,
    subject_kind: SubjectKind,
    subject: Id,
    quantity: Quantities = None,
    from_ms: FromMs = None,
    until_ms: UntilMs = None,
    points: Points = 500,
) -> Response:
    """The same as CSV (RFC 4180): a line for each point at which anything was told, times in UTC."""
    series = _series(hub, venue, subject_kind, subject, quantity, from_ms, until_ms, points)
    name = f"{venue}-{subject_kind}-{subject}-history.csv"
    return Response(csv_of(series), media_type=CSV, headers={"Content-Disposition": f'attachment; filename="{name}"'})


@router.get("/{subject_kind}/{subject}")
def history(
    hub: TheHub,
    venue: Id,
    subject_kind: SubjectKind,
    subject: Id,
    quantity: Quantities = None,
    from_ms: FromMs = None,
    until_ms: UntilMs = None,
    points: Points = 500,
) -> HistorySeries:
    """Figures over time of a node, a supply or the venue itself (named by its id again): low, mean and high.

    Kept raw for a day, by the minute for a month, by the hour for ten years; the hub reads what fills the points.
    """
    series = _series(hub, venue, subject_kind, subject, quantity, from_ms, until_ms, points)
    return view_of(venue, subject_kind, subject, series)


def _series(
    hub: Hub,
    venue: str,
    kind: SubjectKind,
    subject: str,
    quantities: list[Quantity] | None,
    from_ms: int | None,
    until_ms: int | None,
    points: int,
) -> Series:
    known = quantities_of(kind)
    mistakes = [
        Mistake("query.quantity", f"a {kind} has no history of {quantity}", f"choose from {', '.join(known)}")
        for quantity in dict.fromkeys(quantities or ())
        if quantity not in known
    ]
    end_ms = hub.history.now_ms() if until_ms is None else until_ms
    begin_ms = max(0, end_ms - DAY_MS) if from_ms is None else from_ms
    if begin_ms >= end_ms:
        mistakes.append(
            Mistake("query.from_ms", f"{begin_ms} is not before the end, {end_ms}", "send an earlier `from_ms`")
        )
    if mistakes:
        raise InvalidError("this history cannot be told", mistakes)
    if not hub.history.knows(venue, kind, subject):
        _must_exist(hub, venue, kind, subject)
    return hub.history.series(venue, kind, subject, list(dict.fromkeys(quantities or known)), begin_ms, end_ms, points)


def _must_exist(hub: Hub, venue: str, kind: SubjectKind, subject: str) -> None:
    """Without a history yet it may still be in the inventory; one that left the inventory keeps its history."""
    stated = hub.inventory.venue(venue)
    named = {
        SubjectKind.NODE: [node.id for node in stated.nodes],
        SubjectKind.SUPPLY: [supply.id for supply in stated.supplies],
        SubjectKind.VENUE: [stated.id],
    }
    if subject not in named[kind]:
        raise NotFoundError(kind, subject)
