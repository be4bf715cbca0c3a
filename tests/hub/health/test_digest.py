"""The digest of a day: pure, over findings as they are shown."""

from hub.health.digest import MAX_ROWS, Digest, digest_of
from hub.health.kinds import FindingKind, FindingState, Severity
from hub.health.view import FindingView, view_of
from tests.hub.health.invented_findings import invented_finding

FROM_MS, UNTIL_MS = 1_000_000, 2_000_000


def finding(number: int, opened_at_ms: int, ended_at_ms: int | None = None, **changes: object) -> FindingView:
    row = invented_finding("arcade", FindingKind.SLOW, f"n{number}", opened_at_ms)
    row.id, row.ended_at_ms = number, ended_at_ms
    return view_of(row).model_copy(update=changes)


def digest(*findings: FindingView) -> Digest:
    return digest_of(findings, FROM_MS, UNTIL_MS)


def test_quiet_day() -> None:
    assert digest().sentences == ["Nothing was wrong."]


def test_what_opened_ended_and_stayed_is_counted_by_the_spell() -> None:
    told = digest(
        finding(1, 500_000, 1_500_000),
        finding(2, 1_200_000, 1_300_000),
        finding(3, 1_900_000, 2_500_000),
        finding(4, 900_000),
    )
    assert (told.opened, told.ended, told.still_open) == (2, 2, 2)
    assert [row.id for row in told.rows] == ["3", "4", "2", "1"]


def test_alarms_come_first_and_are_said_in_full() -> None:
    told = digest(
        finding(1, 1_900_000),
        finding(
            2, 1_100_000, severity=Severity.ALARM, message="Supply psu-3 is dead.", state=FindingState.ACKNOWLEDGED
        ),
    )
    assert [row.id for row in told.rows] == ["2", "1"]
    assert "Still wrong: Supply psu-3 is dead." in told.sentences
    assert "1 of those still open nobody has acknowledged." in told.sentences


def test_what_would_not_stay_away_and_what_is_muted_is_said() -> None:
    told = digest(
        finding(1, 1_100_000, 1_200_000, openings=5, message="n1 is slow."),
        finding(2, 1_100_000, state=FindingState.MUTED, kind=FindingKind.HOT),
    )
    assert "Came back 4 times: n1 is slow." in told.sentences
    assert "1 finding muted for planned work." in told.sentences
    assert "By kind: slow 1, hot 1." in told.sentences


def test_rows_are_bounded() -> None:
    assert len(digest(*(finding(number, 1_100_000) for number in range(MAX_ROWS + 1))).rows) == MAX_ROWS
