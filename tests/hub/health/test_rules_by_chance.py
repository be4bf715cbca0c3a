"""Whatever a board may say within the contract's bounds, no rule stumbles, and a fault can be stored and told."""

import json
import math
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from hub.health.rule import Fault
from hub.health.rules import limited, overloaded
from hub.health.rules.book import OF_NODES, RULES
from hub.health.sight import Drawing
from tests.hub.health.sights import node, sight, supply, told

SHARES = st.none() | st.floats(0, 1)
COUNTS = st.integers(0, 2**53 - 1)
BOARDS = st.fixed_dictionaries(
    {
        "starts": COUNTS,
        "start_cause": st.sampled_from(["first", "power", "reboot", "restart", "crash", "unknown"]),
        "errors": COUNTS,
        "memory_free_share": SHARES,
        "disk_free_share": SHARES,
        "disk_worn_share": SHARES,
        "disk_read_only": st.none() | st.booleans(),
        "under_voltage": st.none() | st.booleans(),
        "throttled": st.none() | st.booleans(),
        "link": st.sampled_from([None, "wired", "wireless"]),
        "signal_dbm": st.none() | st.floats(-200, 50),
    }
)
FIGURES = st.fixed_dictionaries(
    {
        "frame_rate_hz": st.floats(0, 10_000),
        "frame_rate_target_hz": st.floats(0, 10_000),
        "late_frames": COUNTS,
        "frames": COUNTS,
        "render_ms": st.floats(0, 60_000),
        "temperature_c": st.none() | st.floats(-100, 300),
        "clock_offset_ms": st.none() | st.floats(-1e13, 1e13),
        "clock_dispersion_ms": st.none() | st.floats(-1e13, 1e13),
        "clock_source": st.sampled_from(["hub", "disciplined", "wall", "kept"]),
        "wall_clock_disciplined": st.booleans(),
    }
)


def can_be_told(name: str, fault: Fault, words: Any) -> None:  # noqa: ANN401 (a rule's own)
    assert all(not isinstance(value, float) or math.isfinite(value) for value in fault.evidence.values())
    json.dumps(dict(fault.evidence), allow_nan=False)
    told_words = words(name, fault.evidence)
    assert all((told_words.message, told_words.likely_cause, told_words.next_check))


@settings(max_examples=100)
@given(st.lists(st.tuples(BOARDS, FIGURES), min_size=1, max_size=3), st.booleans())
def test_no_rule_stumbles_over_what_a_board_may_say(
    said: list[tuple[dict[str, Any], dict[str, Any]]], open_now: bool
) -> None:
    state = node()
    seen = sight(state)
    for board, figures in said:
        state.telemetry = told(board, **figures)
        seen.look(seen.now_s + 5)
    for kind, judge in OF_NODES.items():
        outcome = judge(seen, open_now=open_now)
        if isinstance(outcome, Fault):
            can_be_told("bay-01", outcome, RULES[kind].words)


DRAWINGS = st.builds(Drawing, st.just("bay-01"), st.floats(0, 1e6), st.floats(0, 1), st.none() | st.floats(0, 1e6))


@settings(max_examples=100)
@given(st.lists(DRAWINGS, max_size=4), st.booleans(), st.booleans())
def test_no_rule_stumbles_over_what_nodes_may_draw(drawing: list[Drawing], fresh: bool, open_now: bool) -> None:
    for rule in (overloaded, limited):
        outcome = rule.judge(supply(*drawing, fresh=fresh), open_now=open_now)
        if isinstance(outcome, Fault):
            can_be_told("psu-1", outcome, rule.words)
