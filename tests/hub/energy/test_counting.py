"""What is counted of a board's counter; and whatever is lost, repeated or reordered, never more than is true."""

from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hub.energy.counting import FIRST_HEARD_S, MARGIN, Counted, Counter, Disbelief, Told, count

RATED_A = 10.0
# Two hours after its start a board has drawn 3 A all along.
LAST = Counter(Told("b00t0001", 6.0, 7_200.0, 100_000.0))
NEXT = Told("b00t0001", 6.005, 7_206.0, 100_006.0)


def counted(before: Counter | None, told: Told) -> Counted:
    result = count(before, told, RATED_A)
    assert isinstance(result, Counted)
    return result


def test_charge_since_the_last_word_is_new() -> None:
    result = counted(LAST, NEXT)
    assert result.amp_h == pytest.approx(0.005)
    assert result.hours == pytest.approx(6 / 3_600)
    assert result.counter == Counter(NEXT)


def test_word_that_is_repeated_adds_nothing() -> None:
    assert counted(LAST, replace(LAST.told, heard_at_s=100_001.0)).amp_h == 0


def test_lost_messages_lose_nothing() -> None:
    later = Told("b00t0001", 9.0, 10_800.0, 103_600.0)
    assert counted(LAST, later).amp_h == pytest.approx(3.0)
    assert counted(LAST, later).hours == pytest.approx(1.0)


def test_new_boot_starts_at_nothing_and_ends_the_one_before() -> None:
    born = Told("b00t0002", 0.01, 20.0, 100_060.0)
    result = counted(LAST, born)
    assert result.amp_h == 0.01
    assert result.hours == pytest.approx(20 / 3_600)
    late = Told("b00t0001", 6.02, 7_210.0, 100_070.0)
    assert count(result.counter, late, RATED_A) is Disbelief.ENDED_BOOT


@pytest.mark.parametrize(
    ("told", "why"),
    [
        (replace(NEXT, charge_ah=5.99), Disbelief.BACKWARDS),
        (replace(NEXT, uptime_s=7_100.0), Disbelief.BACKWARDS),
        # In 6 s a supply of 10 A cannot have given more than 12.5 A × 6 s = 75 A·s = 0.0208 A·h.
        (replace(NEXT, charge_ah=6.021), Disbelief.IMPOSSIBLE),
        # Time that has not passed for the hub does not help.
        (replace(NEXT, charge_ah=7.0, uptime_s=1e9), Disbelief.IMPOSSIBLE),
        # Nor does another boot: nobody was on between the two words but for 6 s.
        (Told("b00t0002", 0.05, 5_000.0, 100_006.0), Disbelief.IMPOSSIBLE),
    ],
)
def test_what_cannot_be_is_not_believed(told: Told, why: Disbelief) -> None:
    assert count(LAST, told, RATED_A) is why


def test_just_possible_is_believed() -> None:
    assert counted(LAST, replace(NEXT, charge_ah=6.0208)).amp_h == pytest.approx(0.0208)


def test_charge_told_too_soon_is_counted_once_time_has_passed() -> None:
    early = Told("b00t0001", 6.0278, 7_210.0, 100_002.0)  # 10 A for 10 s, heard 2 s after the last
    assert count(LAST, early, RATED_A) is Disbelief.IMPOSSIBLE
    assert counted(LAST, Told("b00t0001", 6.0417, 7_215.0, 100_014.0)).amp_h == pytest.approx(0.0417)


def test_clock_set_back_delays_charge_and_loses_none() -> None:
    result = counted(LAST, replace(NEXT, heard_at_s=50_000.0))
    assert result.amp_h == 0
    after = counted(result.counter, Told("b00t0001", 6.010, 7_212.0, 50_006.0))
    assert after.amp_h == pytest.approx(0.010)


def test_board_never_heard_is_believed_back_to_its_start() -> None:
    assert counted(None, Told("b00t0001", 0.5, 600.0, 0.0)).amp_h == 0.5


@pytest.mark.parametrize(
    "told", [Told("b00t0001", 20.0, FIRST_HEARD_S + 1, 0.0), Told("b00t0001", 1e9, 600.0, 0.0)], ids=["long", "lying"]
)
def test_board_never_heard_is_counted_from_now_where_that_cannot_be_ours(told: Told) -> None:
    assert counted(None, told) == Counted(Counter(told))


@dataclass(frozen=True)
class _History:
    """Words of some boots in their order, and the true charge of each boot at its last word."""

    words: list[Told]
    true_ah: float


@st.composite
def histories(draw: st.DrawFn) -> _History:
    """One to five boots of up to eight words each, drawing up to the rating; off between boots."""
    words, now_s, true_ah = [], 1e9, 0.0
    for number in range(draw(st.integers(1, 5))):
        now_s += draw(st.floats(0.5, 5_000))
        started_s, charge_ah = now_s, 0.0
        for _ in range(draw(st.integers(1, 8))):
            lasted_s = draw(st.floats(0.2, 3_600))
            now_s += lasted_s
            charge_ah += draw(st.floats(0, RATED_A)) * lasted_s / 3_600
            words.append(Told(f"b00t000{number}", charge_ah, now_s - started_s, now_s))
        true_ah += charge_ah
    return _History(words, true_ah)


def total_ah(words: list[Told]) -> float:
    counter, amp_h = None, 0.0
    for word in words:
        result = count(counter, word, RATED_A)
        if isinstance(result, Counted):
            counter, amp_h = result.counter, amp_h + result.amp_h
    return amp_h


def heard_in(order: list[Told]) -> list[Told]:
    """The words in this order of arrival: one that was overtaken is heard no sooner than what overtook it."""
    heard, at_s = [], 0.0
    for word in order:
        at_s = max(at_s, word.heard_at_s)
        heard.append(replace(word, heard_at_s=at_s))
    return heard


@given(st.data(), histories())
def test_never_more_than_is_true_whatever_is_lost_repeated_or_reordered(data: st.DataObject, history: _History) -> None:
    arrived = data.draw(st.lists(st.sampled_from(history.words), max_size=40))
    assert total_ah(heard_in(arrived)) <= history.true_ah * (1 + 1e-9)


@given(st.data(), histories())
def test_exactly_what_is_true_once_each_boots_last_word_arrives(data: st.DataObject, history: _History) -> None:
    arrived: list[Told] = []
    for boot in dict.fromkeys(word.boot_id for word in history.words):
        of_boot = [word for word in history.words if word.boot_id == boot]
        arrived += [*data.draw(st.lists(st.sampled_from(of_boot), max_size=10)), of_boot[-1]]
    assert total_ah(heard_in(arrived)) == pytest.approx(history.true_ah, rel=1e-9)


@given(
    st.lists(st.tuples(st.sampled_from("abc"), st.floats(0, 1e9), st.floats(0, 1e10), st.floats(0, 60)), max_size=60)
)
def test_liar_gets_no_more_counted_than_the_supply_can_give(lies: list[tuple[str, float, float, float]]) -> None:
    now_s, counter, amp_h = 1e9, Counter(Told("b00t0000", 0.0, 0.0, 1e9)), 0.0
    for boot, charge_ah, uptime_s, passed_s in lies:
        now_s += passed_s
        result = count(counter, Told(boot, charge_ah, uptime_s, now_s), RATED_A)
        if isinstance(result, Counted):
            counter, amp_h = result.counter, amp_h + result.amp_h
    assert amp_h <= MARGIN * RATED_A * (now_s - 1e9) / 3_600 + 1e-9
