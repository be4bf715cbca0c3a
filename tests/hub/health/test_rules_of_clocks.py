"""The rules of clocks: pure, one valid base and one thing changed per case."""

import pytest

from hub.health.kinds import FindingKind
from hub.health.rule import GOOD, UNKNOWN, Fault
from hub.health.rules import clock_untrusted, clocks_apart, skewed
from hub.health.rules.book import RULES
from tests.hub.health.sights import node, sight
from tests.hub.played_node import telemetry


@pytest.mark.parametrize(
    ("changes", "open_now", "faulty"),
    [
        ({"clock_dispersion_ms": 16.6}, False, False),
        ({"clock_dispersion_ms": 16.8}, False, True),
        ({"clock_dispersion_ms": 15.5}, True, True),
        ({"clock_dispersion_ms": 14.9}, True, False),
        ({"clock_dispersion_ms": 16.8, "frame_rate_target_hz": 50.0}, False, False),
        ({"clock_dispersion_ms": 9_999.0, "frame_rate_target_hz": 0.0}, False, False),
    ],
    ids=["within its frame", "more than its frame", "open, not yet well", "well again", "longer frame", "dark"],
)
def test_node_is_skewed_while_its_dispersion_exceeds_its_frame(
    changes: dict[str, object], open_now: bool, faulty: bool
) -> None:
    state = node()
    state.telemetry = telemetry(**changes)
    outcome = skewed.judge(sight(state), open_now=open_now)
    assert isinstance(outcome, Fault) is faulty
    if not faulty:
        assert outcome is GOOD


@pytest.mark.parametrize(
    ("source", "dispersion_ms", "faulty"),
    [
        ("hub", 0.2, False),
        ("disciplined", None, False),
        ("kept", None, True),
        ("wall", None, True),
        ("wall", 3.0, False),
    ],
    ids=["hub", "disciplined", "kept", "nobody vouches", "an older agent, which names no source"],
)
def test_clock_is_trusted_by_what_it_rests_on(source: str, dispersion_ms: float | None, faulty: bool) -> None:
    state = node()
    state.telemetry = telemetry(clock_source=source, clock_dispersion_ms=dispersion_ms)
    assert isinstance(clock_untrusted.judge(sight(state), open_now=False), Fault) is faulty


@pytest.mark.parametrize(
    ("offset_ms", "disciplined", "open_now", "faulty"),
    [
        (999.0, True, False, False),
        (-1_001.0, True, False, True),
        (600.0, True, True, True),
        (400.0, True, True, False),
        (90_000.0, False, False, False),
    ],
    ids=["together", "apart", "open, not yet well", "well again", "a clock that nobody keeps"],
)
def test_clocks_are_apart_by_more_than_a_second_if_the_boards_is_disciplined(
    offset_ms: float, disciplined: bool, open_now: bool, faulty: bool
) -> None:
    state = node()
    state.telemetry = telemetry(clock_offset_ms=offset_ms, wall_clock_disciplined=disciplined)
    assert isinstance(clocks_apart.judge(sight(state), open_now=open_now), Fault) is faulty


def test_node_that_is_off_or_has_said_nothing_tells_nothing() -> None:
    off = node(online=False)
    off.telemetry = telemetry(clock_dispersion_ms=None, clock_source="kept")
    silent = node()
    silent.telemetry = None
    for state in (off, silent):
        assert skewed.judge(sight(state), open_now=False) is UNKNOWN
        assert clock_untrusted.judge(sight(state), open_now=False) is UNKNOWN
        assert clocks_apart.judge(sight(state), open_now=False) is UNKNOWN


@pytest.mark.parametrize(
    ("kind", "evidence", "said"),
    [
        (FindingKind.SKEWED, {"dispersion_ms": 31.25, "frame_period_ms": 16.67}, "31.25 ms"),
        (FindingKind.CLOCK_UNTRUSTED, {"source": "kept", "uptime_s": 61.0}, "last time known before its start"),
        (FindingKind.CLOCK_UNTRUSTED, {"source": "wall", "uptime_s": 61.0}, "nothing keeps right"),
        (FindingKind.CLOCKS_APART, {"hub_ahead_s": 90.0}, "90.0 s ahead of"),
        (FindingKind.CLOCKS_APART, {"hub_ahead_s": -2.5}, "2.5 s behind"),
    ],
)
def test_words_name_the_node_and_what_is_wrong(kind: FindingKind, evidence: dict[str, object], said: str) -> None:
    words = RULES[kind].words("bay-01", evidence)
    assert "bay-01" in words.message
    assert said in words.message
    assert words.next_check.endswith(".")
