"""The rules of the findings: pure, one valid base and one thing changed per case."""

import pytest

from hub.fleet.lifeline import presumed_dead
from hub.fleet.state import NodeState
from hub.health.kinds import FindingKind
from hub.health.rule import GOOD, UNKNOWN, Fault, Hysteresis, Outcome
from hub.health.rules import behind, silent, slow
from hub.health.rules.book import RULES
from hub.health.rules.silent import NEVER_HEARD_GRACE_S, RECONNECT_GRACE_S
from hub.health.track import REST, Track, Turn, step
from schemas import Held, Refusal, Reported
from tests.hub.fleet.test_awareness import BOOT
from tests.hub.health.sights import HASH, LINK_UP_S, node, sight
from tests.hub.played_node import telemetry


def is_silent(state: NodeState, now_s: float, link_up_at_s: float | None = LINK_UP_S, known_s: float = 0.0) -> Outcome:
    return silent.judge(sight(state, now_s=now_s, link_up_at_s=link_up_at_s, known_s=known_s), open_now=False)


def is_behind(state: NodeState, desired: int | None) -> Outcome:
    return behind.judge(sight(state, desired=desired), open_now=False)


def test_online_node_is_not_silent() -> None:
    assert is_silent(node(), 1_200.0) is GOOD


def test_node_that_died_on_this_link_is_silent_at_once() -> None:
    outcome = is_silent(node(online=False, died_at_s=1_100.5), 1_101.0)
    assert isinstance(outcome, Fault)
    assert outcome.evidence["told_by"] == "last will"
    assert outcome.evidence["last_heard_at_ms"] == 1_100_000


def test_nobody_is_silent_while_the_hubs_own_link_is_down() -> None:
    assert is_silent(node(online=False, died_at_s=1_100.5), 9_999.0, link_up_at_s=None) is UNKNOWN


@pytest.mark.parametrize(
    ("state", "grace_s"),
    [
        (node(online=False, heard_at_s=900.0), RECONNECT_GRACE_S),
        (node(online=False, heard_at_s=None), NEVER_HEARD_GRACE_S),
    ],
    ids=["heard before the link came back", "never heard"],
)
def test_nodes_have_a_grace_to_return_after_the_link_did(state: NodeState, grace_s: float) -> None:
    assert is_silent(state, LINK_UP_S + grace_s - 0.1) is UNKNOWN
    assert isinstance(is_silent(state, LINK_UP_S + grace_s + 0.1), Fault)


def test_new_node_has_its_grace_from_when_it_was_added() -> None:
    added = node(online=False, heard_at_s=None)
    assert is_silent(added, 5_000.0, known_s=4_990.0) is UNKNOWN


@pytest.mark.parametrize(
    ("heard_at_s", "now_s", "dead"),
    [
        (1_100.0, 1_114.9, False),
        (1_100.0, 1_115.1, True),
        (990.0, 1_014.9, False),
        (990.0, 1_015.1, True),
    ],
    ids=["within three intervals", "beyond them", "link just back", "link back for long enough"],
)
def test_node_without_will_is_presumed_dead_after_three_intervals(heard_at_s: float, now_s: float, dead: bool) -> None:
    state = node(heard_at_s=heard_at_s)
    assert presumed_dead(state, now_s, link_up_at_s=LINK_UP_S, telemetry_interval_s=5.0) is dead


def test_nobody_is_presumed_dead_while_the_link_is_down() -> None:
    assert not presumed_dead(node(), 9_999.0, link_up_at_s=None, telemetry_interval_s=5.0)


@pytest.mark.parametrize(
    ("rate_hz", "late", "faulty"),
    [(60.0, 0, False), (58.9, 0, False), (58.7, 0, True), (60.0, 5, False), (60.0, 13, True)],
)
def test_node_is_slow_under_98_per_cent_or_with_late_frames(rate_hz: float, late: int, faulty: bool) -> None:
    before = telemetry(frames=600, late_frames=100)
    state = node()
    state.telemetry = telemetry(frames=1_200, late_frames=100 + late, frame_rate_hz=rate_hz)
    outcome = slow.judge(sight(state, before=before), open_now=False)
    assert isinstance(outcome, Fault) is faulty


def test_counters_of_an_agent_that_started_anew_are_not_compared() -> None:
    state = node()
    state.telemetry = telemetry(boot_id="cafecafe", frames=10, late_frames=0)
    assert slow.judge(sight(state, before=telemetry(frames=600, late_frames=500)), open_now=False) is GOOD


def test_node_without_channels_is_not_slow() -> None:
    state = node()
    state.telemetry = telemetry(frame_rate_hz=0.0, frame_rate_target_hz=0.0)
    assert slow.judge(sight(state), open_now=False) is GOOD


def test_node_is_behind_while_it_shows_another_revision() -> None:
    assert is_behind(node(), 3) is GOOD
    assert is_behind(node(), None) is GOOD
    assert is_behind(node(online=False), 4) is UNKNOWN
    outcome = is_behind(node(), 4)
    assert isinstance(outcome, Fault)
    assert outcome.evidence == {"revision_desired": 4, "revision_showing": 3, "refused": None}


def test_node_that_refuses_is_behind_with_its_reason() -> None:
    state = node()
    refusal = Refusal(revision=4, field="scenes.0", reason="too many layers", remedy="fewer")
    state.reported = Reported(boot_id=BOOT, session=1, showing=Held(revision=3, sha256=HASH), refusal=refusal)
    outcome = is_behind(state, 4)
    assert isinstance(outcome, Fault)
    assert "too many layers" in behind.words("bay-01", outcome.evidence).message


FAULT = Fault("bay-01", {})


def run(outcomes: list[tuple[float, Outcome]], hysteresis: Hysteresis, track: Track = REST) -> list[tuple[float, Turn]]:
    """The turns other than NONE; an opened finding gets an id, an ended one starts anew."""
    turns: list[tuple[float, Turn]] = []
    for now_s, outcome in outcomes:
        track, turn = step(track, outcome, now_s, hysteresis)
        if turn is not Turn.NONE:
            turns.append((now_s, turn))
        if turn is Turn.OPENS:
            track = Track(finding_id=7, bad_since_s=track.bad_since_s)
        elif turn is Turn.ENDS:
            track = REST
    return turns


HELD = Hysteresis(opens_after_s=10.0, ends_after_s=5.0)


def test_fault_opens_once_and_ends_once() -> None:
    outcomes: list[tuple[float, Outcome]] = [(float(t), FAULT) for t in range(20)]
    outcomes += [(float(t), GOOD) for t in range(20, 30)]
    assert run(outcomes, HELD) == [(10.0, Turn.OPENS), (25.0, Turn.ENDS)]


def test_flicker_neither_opens_nor_ends() -> None:
    flicker: list[tuple[float, Outcome]] = [(float(t), FAULT if t % 4 else GOOD) for t in range(100)]
    assert run(flicker, HELD) == []
    assert run(flicker, HELD, Track(finding_id=7)) == []


def test_not_knowing_opens_nothing_and_ends_nothing() -> None:
    assert run([(float(t), UNKNOWN) for t in range(100)], HELD) == []
    assert run([(float(t), UNKNOWN) for t in range(100)], HELD, Track(finding_id=7)) == []


def test_silence_is_told_well_within_three_seconds() -> None:
    assert RULES[FindingKind.SILENT].hysteresis.opens_after_s <= 1.5
