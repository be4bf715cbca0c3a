"""State awareness, after the Sparkplug 3.0 specification, chapters 4 to 6."""

import pytest

from hub.fleet.awareness import Verdict, apply_presence, apply_reported, apply_telemetry
from hub.fleet.state import NodeState
from schemas import Presence, Reported
from tests.hub.played_node import telemetry

BOOT, OTHER_BOOT = "aaaaaaaa", "bbbbbbbb"


def presence(state: str, session: int, boot_id: str = BOOT) -> Presence:
    return Presence.model_validate({"state": state, "boot_id": boot_id, "session": session, "agent_version": "0.1.0"})


def born(session: int = 5) -> NodeState:
    node = NodeState("arcade", "bay-01")
    assert apply_presence(node, presence("online", session), 100.0, retained=False) is Verdict.APPLIED
    return node


def test_birth_makes_a_node_known_and_online() -> None:
    node = born()
    assert (node.online, node.boot_id, node.session, node.heard_at_s) == (True, BOOT, 5, 100.0)
    assert not node.needs_rebirth


def test_death_of_the_session_ends_it() -> None:
    node = born()
    assert apply_presence(node, presence("offline", 5), 101.0, retained=False) is Verdict.APPLIED
    assert not node.online
    assert node.died_at_s == 101.0


@pytest.mark.parametrize(("session", "boot_id"), [(4, BOOT), (6, BOOT), (5, OTHER_BOOT)])
def test_death_of_another_session_changes_nothing(session: int, boot_id: str) -> None:
    node = born()
    verdict = apply_presence(node, presence("offline", session, boot_id), 101.0, retained=False)
    assert verdict is Verdict.OTHER_SESSION
    assert (node.online, node.boot_id, node.session, node.died_at_s) == (True, BOOT, 5, None)


def test_will_that_overtakes_the_birth_of_its_session_wins() -> None:
    node = born(5)
    apply_presence(node, presence("offline", 6), 101.0, retained=False)
    assert apply_presence(node, presence("online", 6), 101.1, retained=False) is Verdict.DEAD_SESSION
    assert node.session == 5
    # The node as it was: what becomes of session 5 its own will, or its silence, tells.
    assert apply_presence(node, presence("online", 7), 103.0, retained=False) is Verdict.APPLIED
    assert (node.online, node.session) == (True, 7)


def test_words_of_a_dead_session_do_not_wake_it() -> None:
    node = born()
    apply_presence(node, presence("offline", 5), 101.0, retained=False)
    late = telemetry(boot_id=BOOT, session=5)
    assert apply_telemetry(node, late, 101.1) is Verdict.DEAD_SESSION
    assert not node.online


def test_first_word_of_an_unknown_node_asks_for_rebirth_and_is_not_taken() -> None:
    node = NodeState("arcade", "bay-01")
    assert apply_telemetry(node, telemetry(boot_id=BOOT, session=5), 100.0) is Verdict.UNKNOWN_STATE
    assert node.needs_rebirth
    assert node.telemetry is None
    assert not node.online


def test_word_of_another_session_asks_for_rebirth_and_is_not_taken() -> None:
    node = born(5)
    assert apply_telemetry(node, telemetry(boot_id=BOOT, session=6), 101.0) is Verdict.OTHER_SESSION
    assert node.needs_rebirth
    assert node.telemetry is None
    reported = Reported(boot_id=OTHER_BOOT, session=5)
    assert apply_reported(node, reported, 101.0, retained=False) is Verdict.OTHER_SESSION
    assert node.reported is None


def test_sequence_wraps_at_255_without_a_gap() -> None:
    node = born()
    for sequence in (253, 254, 255, 0, 1):
        apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=sequence), 101.0)
    assert node.sequence_gaps == 0
    assert not node.needs_rebirth


def test_gap_is_counted_and_asks_for_rebirth_but_the_figures_count() -> None:
    node = born()
    apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=7), 101.0)
    apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=9, frames=999), 102.0)
    assert node.sequence_gaps == 1
    assert node.needs_rebirth
    assert node.telemetry is not None
    assert node.telemetry.frames == 999
    apply_presence(node, presence("online", 5), 102.5, retained=False)
    assert not node.needs_rebirth


@pytest.mark.parametrize(
    ("sequences", "lost"),
    [((7, 8, 8, 9), 0), ((7, 8, 6, 9), 0), ((254, 255, 253, 0), 0), ((7, 10, 8, 11), 2)],
    ids=["twice", "late", "late as numbers wrap", "after a gap"],
)
def test_telemetry_that_comes_late_or_twice_is_no_loss(sequences: tuple[int, ...], lost: int) -> None:
    node = born()
    for sequence in sequences:
        apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=sequence), 101.0)
    assert node.arrivals.recent(101.0).lost == lost


def test_sequence_starts_anew_with_a_session() -> None:
    node = born(5)
    apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=77), 101.0)
    apply_presence(node, presence("online", 6), 102.0, retained=False)
    apply_telemetry(node, telemetry(boot_id=BOOT, session=6, sequence=0), 103.0)
    assert node.sequence_gaps == 0


def test_retained_birth_names_the_session_but_proves_no_life() -> None:
    node = NodeState("arcade", "bay-01")
    apply_presence(node, presence("online", 5), 100.0, retained=True)
    assert not node.online
    assert node.heard_at_s is None
    assert node.needs_rebirth
    apply_telemetry(node, telemetry(boot_id=BOOT, session=5), 101.0)
    assert node.online


def test_retained_death_is_no_news_of_when() -> None:
    node = NodeState("arcade", "bay-01")
    apply_presence(node, presence("offline", 5), 100.0, retained=True)
    assert not node.online
    assert node.died_at_s is None
    held = Reported(boot_id=BOOT, session=5)
    assert apply_reported(node, held, 100.0, retained=True) is Verdict.APPLIED
    assert node.reported == held
    assert not node.online


def test_boots_and_connections_are_counted_by_births_that_name_others() -> None:
    node = born(5)
    apply_presence(node, presence("online", 5), 101.0, retained=False)  # asked for rebirth
    apply_presence(node, presence("online", 6), 102.0, retained=False)
    apply_presence(node, presence("online", 1, OTHER_BOOT), 103.0, retained=False)
    apply_presence(node, presence("online", 7), 104.0, retained=False)
    assert [boot.boot_id for boot in node.boots] == [BOOT, OTHER_BOOT, BOOT]
    assert list(node.connections) == [100.0, 102.0, 103.0, 104.0]


def test_retained_birth_is_no_connection() -> None:
    node = NodeState("arcade", "bay-01")
    apply_presence(node, presence("online", 5), 100.0, retained=True)
    assert (list(node.boots), list(node.connections)) == ([], [])


def test_lost_telemetry_is_counted_by_its_sequence() -> None:
    node = born()
    for sequence in (254, 255, 2, 3):
        apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=sequence), 101.0)
    assert node.arrivals.recent(101.0) == (4, 2)
    assert node.sequence_gaps == 1


def test_what_the_hub_dropped_is_no_loss_of_the_node() -> None:
    node = born()
    apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=0), 101.0)
    apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=4), 101.0, skipped=3)
    assert not node.needs_rebirth
    apply_telemetry(node, telemetry(boot_id=BOOT, session=5, sequence=9), 101.0, skipped=3)
    assert node.needs_rebirth
    assert node.arrivals.recent(101.0) == (3, 1)
