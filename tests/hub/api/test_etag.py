"""Preconditions of RFC 9110, sections 13.1.1 and 13.1.2, over strong ETags."""

import pytest

from hub.api.etag import Precondition, etag_of
from hub.errors import PreconditionNeededError, StaleError
from schemas.venue import Supply

THERE = etag_of(Supply(id="psu", volts=5.0, rated_a=4.0))


def test_etag_follows_the_content_and_nothing_else() -> None:
    assert etag_of(Supply(id="psu", volts=5.0, rated_a=4.0, derating=0.8)) == THERE
    assert etag_of(Supply(id="psu", volts=5.0, rated_a=4.1)) != THERE
    assert THERE.startswith('"')
    assert THERE.endswith('"')


@pytest.mark.parametrize(
    ("precondition", "current"),
    [
        (Precondition(if_match=THERE), THERE),
        (Precondition(if_match=f'"other", {THERE}'), THERE),
        (Precondition(if_match="*"), THERE),
        (Precondition(if_none_match="*"), None),
        (Precondition(if_none_match='"other"'), THERE),
    ],
)
def test_precondition_that_holds_passes(precondition: Precondition, current: str | None) -> None:
    precondition.check(current)


@pytest.mark.parametrize(
    ("precondition", "current"),
    [
        (Precondition(if_match='"other"'), THERE),
        (Precondition(if_match=f"W/{THERE}"), THERE),
        (Precondition(if_match=THERE), None),
        (Precondition(if_match="*"), None),
        (Precondition(if_none_match="*"), THERE),
        (Precondition(if_match=THERE, if_none_match="*"), THERE),
    ],
)
def test_precondition_that_does_not_hold_is_stale(precondition: Precondition, current: str | None) -> None:
    with pytest.raises(StaleError):
        precondition.check(current)


@pytest.mark.parametrize("precondition", [Precondition(), Precondition(if_none_match=""), Precondition(" ", " ")])
@pytest.mark.parametrize("current", [None, THERE])
def test_change_without_a_precondition_is_refused(precondition: Precondition, current: str | None) -> None:
    with pytest.raises(PreconditionNeededError):
        precondition.check(current)
