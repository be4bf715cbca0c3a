"""Single turns of the ledger: what a lost database leaves in doubt, what a release frees, what a silent node keeps."""

import itertools

import pytest

from hub.budgets.entry import Entry
from hub.budgets.ledger import LARGEST_NUMBER_JUMP, NUMBERS_SKIPPED, REPEAT_S, Ledger
from schemas import Budget, GrantHeld
from tests.hub.budgets.world import WIRINGS, World

A, B, C = "a", "b", "c"


def held(number: int, amps: float, *, on_wires: bool = True) -> GrantHeld:
    return GrantHeld(number=number, supplies=(Budget(supply="s", budget_a=amps),), on_wires=on_wires)


@pytest.fixture
def world() -> World:
    """Three nodes on one supply of 8 A, by fixed shares 4, 2 and 2 A; nobody has been heard."""
    return World()


def granted(world: World) -> dict[str, int]:
    return {node: entry.granted.get("s", 0) for node, entry in world.ledger.entries.items()}


def test_node_heard_first_is_granted_its_fixed_share_for_its_boot(world: World) -> None:
    world.ledger.heard(B, "b0071234", None, online=True)
    world.step()
    entry = world.ledger.entries[B]
    assert (entry.number, entry.boot_id, entry.granted) == (1, "b0071234", {"s": 2_000})
    assert world.database.entries[B] == entry


def test_nothing_is_saved_or_published_while_nothing_changes(world: World) -> None:
    world.heal()
    assert world.ledger.step(world.now_s, lambda _node: True, 5).empty
    assert world.ledger.repeats(world.now_s + 100, 5) == []


def test_grant_is_repeated_ever_more_seldom_until_it_is_confirmed(world: World) -> None:
    world.ledger.heard(B, "b0071234", None, online=True)
    world.step()
    told_s = [s for s in range(600) if world.ledger.repeats(world.now_s + s, 5)]
    assert told_s[0] == REPEAT_S
    gaps = [later - earlier for earlier, later in itertools.pairwise(told_s)]
    assert gaps == sorted(gaps)
    assert gaps[-1] == 60
    world.ledger.heard(B, "b0071234", held(1, 2.0), online=True)
    assert world.ledger.repeats(world.now_s + 10_000, 5) == []


def test_share_of_a_silent_node_stays_its_own_and_others_wait(world: World) -> None:
    world.heal()
    world.boards[A].die()
    world.ledger.lost(A)
    world.wiring = {"s": {B: WIRINGS[0]["s"][B], C: WIRINGS[0]["s"][C]}}
    world.set_demands()
    for _ in range(5):
        world.now_s += 5
        world.step()
    assert granted(world) == {A: 4_000, B: 2_000, C: 2_000}


def test_release_gives_the_share_to_others_and_leaves_an_empty_grant_for_the_board(world: World) -> None:
    world.heal()
    world.boards[A].die()
    world.ledger.lost(A)
    world.by_need["s"] = True
    world.ledger.wanted |= {(B, "s"): 6_000, (C, "s"): 1_000}
    world.set_demands()
    number = world.ledger.entries[A].number
    world.ledger.release(A)
    for _ in range(5):
        world.now_s += 5
        world.step()
        for node in (B, C):
            entry = world.ledger.entries[node]
            world.ledger.heard(node, "0a0b0c0d", held(entry.number, entry.granted["s"] / 1_000), online=True)
    assert world.ledger.entries[A] == Entry(number=number + 1, confirmed=number, known=True, released=True)
    assert granted(world)[B] > 4_000
    assert world.committed_ma("s") <= 8_000


def test_released_board_that_comes_back_counts_again_and_is_lowered_first(world: World) -> None:
    world.heal()
    number = world.ledger.entries[A].number
    world.ledger.release(A)
    world.step()
    world.ledger.heard(A, "0a0b0c0d", held(number, 4.0), online=True)
    assert world.ledger.entries[A].reserved == {"s": 4_000}
    assert world.ledger.repeats(world.now_s + REPEAT_S, 5) == [A], "the empty grant"


def test_board_with_older_state_put_back_counts_with_what_it_holds(world: World) -> None:
    world.heal()
    world.whole_ma["s"] = 4_000
    world.set_demands()
    world.heal()
    number = world.ledger.entries[B].number
    world.ledger.heard(B, "0a0b0c0d", held(number - 1, 3.5), online=True)
    assert world.ledger.entries[B].reserved == {"s": 3_500}
    assert world.ledger.entries[B].unconfirmed
    assert world.ledger.repeats(world.now_s, 5) == [B], "it is told the newest again"


class TestLostDatabase:
    """An empty ledger among nodes that hold grants: 6, 1 and 1 A of 8, by need."""

    @pytest.fixture
    def ledger(self, world: World) -> Ledger:
        world.by_need["s"] = True
        world.set_demands()
        world.ledger.heard(A, "0a0b0c0d", held(40, 6.0), online=True)
        return world.ledger

    def test_numbers_go_on_above_the_highest_with_room_for_grants_on_their_way(
        self, world: World, ledger: Ledger
    ) -> None:
        world.step()
        assert ledger.entries[A].number == 40 + NUMBERS_SKIPPED
        assert ledger.doubted
        assert world.database.doubted

    def test_what_a_node_holds_is_reserved_until_it_confirms_less(self, world: World, ledger: Ledger) -> None:
        world.step()
        assert ledger.entries[A].reserved == {"s": 6_000}
        assert ledger.entries[A].granted == {"s": 4_000}, "its fixed share"

    def test_nothing_is_raised_before_everybody_on_the_supply_has_confirmed_a_new_number(
        self, world: World, ledger: Ledger
    ) -> None:
        world.step()
        ledger.heard(A, "0a0b0c0d", held(ledger.entries[A].number, 4.0), online=True)
        ledger.heard(B, "0a0b0c0e", held(7, 1.0), online=True)
        for _ in range(3):
            world.now_s += 5
            world.step()
        assert granted(world) == {A: 4_000, B: 1_000}
        ledger.heard(B, "0a0b0c0e", held(ledger.entries[B].number, 1.0), online=True)
        world.now_s += 5
        world.step()
        assert granted(world)[B] == 1_000, "C may hold anything"
        world.restart_hub()
        assert world.ledger.doubted
        world.ledger.heard(A, "0a0b0c0d", held(ledger.entries[A].number, 4.0), online=True)
        world.ledger.heard(B, "0a0b0c0e", held(ledger.entries[B].number, 1.0), online=True)
        world.ledger.heard(C, "0a0b0c0f", None, online=True)
        for _ in range(3):
            world.now_s += 5
            world.step()
        assert not world.ledger.doubted
        assert granted(world) == {A: 4_000, B: 2_000, C: 2_000}

    def test_dead_node_that_is_released_ends_the_doubt(self, world: World, ledger: Ledger) -> None:
        world.step()
        ledger.heard(A, "0a0b0c0d", held(ledger.entries[A].number, 4.0), online=True)
        for node in (B, C):
            ledger.release(node)
        assert not ledger.doubted

    def test_last_word_of_a_dead_node_is_counted(self, world: World, ledger: Ledger) -> None:
        ledger.heard(C, "0a0b0c0f", held(9, 3.0), online=False)
        world.step()
        assert ledger.entries[C].reserved == {"s": 3_000}
        assert not ledger.entries[C].heard


def test_older_database_put_back_is_noticed_by_a_number_that_has_another_content(world: World) -> None:
    world.heal()
    number = world.ledger.entries[B].number
    world.ledger.heard(B, "0a0b0c0d", held(number, 3.0), online=True)
    assert world.ledger.doubted
    assert world.ledger.entries[B].reserved == {"s": 3_000}
    assert not any(entry.known for entry in world.ledger.entries.values())
    world.heal()
    assert not world.ledger.doubted


def test_claim_far_above_everything_known_uses_no_numbers_up_but_its_amps_are_counted(world: World) -> None:
    world.heal()
    before = world.ledger.entries[B]
    world.ledger.heard(B, "0a0b0c0d", held(before.number + LARGEST_NUMBER_JUMP + 1, 5.0), online=True)
    assert world.ledger.entries[B].number == before.number
    assert world.ledger.entries[B].reserved == {"s": 5_000}
    assert not world.ledger.doubted


def test_budget_that_is_lowered_is_taken_from_everybody_at_once(world: World) -> None:
    world.heal()
    world.whole_ma["s"] = 4_000
    world.set_demands()
    world.step()
    assert granted(world) == {A: 2_000, B: 1_000, C: 1_000}
    assert world.committed_ma("s") == 8_000, "until they say so"


def test_idle_current_of_a_node_is_kept_for_it_whatever_it_is_granted(world: World) -> None:
    world.heal()
    world.ledger.release(A)
    assert world.ledger.committed_ma("s", A) == 150
