"""The rules of the findings: pure, one valid base and one thing changed per case."""

from dataclasses import replace

import pytest

from hub.fleet.lifeline import presumed_dead
from hub.fleet.state import NodeState
from hub.health.kinds import FindingKind
from hub.health.rule import GOOD, UNKNOWN, Fault, Hysteresis, Outcome
from hub.health.rules import behind, overloaded, silent, slow
from hub.health.rules.book import RULES
from hub.health.rules.silent import NEVER_HEARD_GRACE_S, RECONNECT_GRACE_S
from hub.health.sight import Drawing, NodeSight, SupplySight
from hub.health.track import REST, Track, Turn, step
from schemas import Held, Refusal, Reported, Telemetry
from tests.hub.fleet.test_awareness import BOOT, presence
from tests.hub.played_node import telemetry

LINK_UP_S = 1_000.0
HASH = "0" * 64


def node(*, online: bool = True, heard_at_s: float | None = 1_100.0, died_at_s: float | None = None) -> NodeState:
    return NodeState(
        "arcade",
        "bay-01",
        online=online,
        presence=presence("online", 1) if heard_at_s is not None else None,
        boot_id=BOOT,
        session=1,
        heard_at_s=heard_at_s,
        died_at_s=died_at_s,
        telemetry=telemetry(),
        telemetry_at_s=heard_at_s,
        reported=Reported(boot_id=BOOT, session=1, showing=Held(revision=3, sha256=HASH)),
    )


def sight(
    state: NodeState,
    *,
    now_s: float = 1_101.0,
    link_up_at_s: float | None = LINK_UP_S,
    known_s: float = 0.0,
    desired: int | None = None,
    before: Telemetry | None = None,
) -> NodeSight:
    return NodeSight(state, known_s, now_s, link_up_at_s, lambda _venue, _node: desired, state.telemetry, before)


def is_silent(state: NodeState, now_s: float, link_up_at_s: float | None = LINK_UP_S, known_s: float = 0.0) -> Outcome:
    return silent.judge(sight(state, now_s=now_s, link_up_at_s=link_up_at_s, known_s=known_s), open_now=False)


def load(*drawing: Drawing, fresh: bool = True, open_now: bool = False) -> Outcome:
    return overloaded.judge(SupplySight(3.2, drawing, fresh), open_now=open_now)


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
    ("amps", "scale", "open_now", "faulty"),
    [
        ([1.6, 1.6], 1.0, False, False),
        ([1.6, 1.7], 1.0, False, True),
        ([1.6, 1.62], 1.0, False, False),
        ([1.6, 1.62], 1.0, True, True),
        ([1.0, 1.0], 0.94, False, True),
        ([1.0, 1.0], 0.96, False, False),
        ([1.0, 1.0], 0.96, True, True),
        ([1.0, 1.0], 0.99, True, False),
    ],
)
def test_supply_is_overloaded_over_budget_or_with_the_limiter_at_work(
    amps: list[float], scale: float, open_now: bool, faulty: bool
) -> None:
    outcome = load(Drawing("bay-01", amps[0], 1.0), Drawing("bay-02", amps[1], scale), open_now=open_now)
    assert isinstance(outcome, Fault) is faulty
    if not faulty:
        assert outcome is GOOD


def test_supply_with_a_node_missing_can_be_proven_overloaded_but_not_well() -> None:
    assert isinstance(load(Drawing("bay-01", 3.5, 1.0), fresh=False), Fault)
    assert load(Drawing("bay-01", 1.0, 1.0), fresh=False, open_now=True) is UNKNOWN


def test_node_over_its_own_share_is_a_fault_though_the_supply_has_room() -> None:
    others = Drawing("bay-02", 0.5, 1.0, granted_a=1.6)
    outcome = load(others, Drawing("bay-01", 1.7, 1.0, granted_a=1.6))
    assert isinstance(outcome, Fault)
    assert (outcome.evidence["reason"], outcome.evidence["share_a"]) == ("over its share", 1.6)
    black = Drawing("bay-01", 0.2, 1.0, granted_a=0.1)
    assert not overloaded.over_its_share(replace(black, limiter_scale=0.0)), "black, though idle it draws more"


def test_node_that_dims_for_its_share_is_told_with_the_share() -> None:
    outcome = load(Drawing("bay-01", 1.0, 0.5, granted_a=1.0))
    assert isinstance(outcome, Fault)
    assert (outcome.evidence["budget_a"], outcome.evidence["share_a"]) == (3.2, 1.0)


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


LOAD: dict[str, object] = {"node": "bay-01", "amps": 3.1, "budget_a": 3.2, "share_a": 3.2, "limiter_scale": 0.5}


@pytest.mark.parametrize(
    ("kind", "evidence"),
    [
        (FindingKind.SILENT, {"told_by": "last will"}),
        (FindingKind.SILENT, {"told_by": "no word"}),
        (FindingKind.SILENT, {"told_by": "never heard"}),
        (FindingKind.OVERLOADED, LOAD | {"reason": "over budget", "amps": 3.5}),
        (FindingKind.OVERLOADED, LOAD | {"reason": "over its share", "share_a": 1.6}),
        (FindingKind.OVERLOADED, LOAD | {"reason": "budget limiter at work"}),
        (FindingKind.OVERLOADED, LOAD | {"reason": "budget limiter at work", "share_a": 1.6}),
        (FindingKind.SLOW, {"frame_rate_hz": 30.0, "frame_rate_target_hz": 60.0, "late_share": 0.1}),
        (FindingKind.BEHIND, {"revision_desired": 4, "revision_showing": None, "refused": None}),
    ],
)
def test_every_finding_names_the_node_and_what_to_check(kind: FindingKind, evidence: dict[str, object]) -> None:
    words = RULES[kind].words("bay-01", evidence)
    assert "bay-01" in words.message
    assert words.next_check.endswith((".", "?"))
    assert max(len(words.message), len(words.next_check)) <= 400
