"""Where a list in hand stands follows from its row and the time."""

from hypothesis import given
from hypothesis import strategies as st

from hub.cues.standing import InHand, place_in, standing, taken_by_hand
from schemas import Cue, CueList


def cue_list(*follow_on_s: float | None) -> CueList:
    cues = (Cue(id=f"cue-{place}", scene=f"s{place}", follow_on_s=follow) for place, follow in enumerate(follow_on_s))
    return CueList(id="evening", title="Evening", cues=tuple(cues))


def test_list_that_was_just_taken_in_hand_stands_before_its_first_cue() -> None:
    stands = standing(InHand(cue_list(None, None)), 5_000)
    assert (stands.on, stands.since_ms, stands.follows_at_ms, stands.left) == (-1, None, None, False)


def test_cues_follow_one_another_until_one_names_no_time() -> None:
    hand, follow = taken_by_hand(cue_list(10.0, 0.5 + 1, None, 3.0), 0, 100_000, lambda _: True)
    assert [(take.at_ms, take.scene) for take in follow] == [(110_000, "s1"), (111_500, "s2")]
    seen = [(standing(hand, at_ms).on, standing(hand, at_ms).follows_at_ms) for at_ms in (99_000, 109_999, 110_000)]
    assert seen == [(0, 110_000), (0, 110_000), (1, 111_500)]
    last = standing(hand, 999_999_999)
    assert (last.on, last.since_ms, last.follows_at_ms) == (2, 111_500, None)


def test_chain_ends_before_a_cue_that_may_not_go_out_unattended() -> None:
    hand, follow = taken_by_hand(cue_list(1.0, 1.0, 1.0, None), 0, 0, lambda cue: cue.scene != "s2")
    assert [take.scene for take in follow] == ["s1"]
    assert hand.follows_to == 1


def test_nothing_follows_once_something_else_was_taken() -> None:
    hand, _ = taken_by_hand(cue_list(10.0, 10.0, None), 0, 0, lambda _: True)
    left = hand.left(12_000)
    stands = standing(left, 500_000)
    assert (stands.on, stands.follows_at_ms, stands.left) == (1, None, True)
    assert left.left(90_000) == left


@given(
    follow=st.lists(st.none() | st.floats(1, 86_400), min_size=1, max_size=12),
    at_ms=st.integers(0, 2**45),
    after_ms=st.integers(0, 10**9),
    data=st.data(),
)
def test_the_cue_that_is_on_is_the_one_whose_timed_take_came_last(
    follow: list[float | None], at_ms: int, after_ms: int, data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(follow) - 1))
    hand, takes = taken_by_hand(cue_list(*follow), place, at_ms, lambda _: True)
    stands = standing(hand, at_ms + after_ms)
    come = [take for take in takes if take.at_ms <= at_ms + after_ms]
    assert stands.on == place + len(come)
    assert stands.since_ms == (come[-1].at_ms if come else at_ms)
    assert stands.follows_at_ms == (takes[len(come)].at_ms if len(come) < len(takes) else None)


def test_list_that_was_written_anew_is_followed_by_the_ids_of_its_cues() -> None:
    before = cue_list(None, None, None)
    after = before.model_copy(update={"cues": (Cue(id="overture"), *before.cues)})
    assert place_in(after, before, 1) == 2
    assert place_in(after, before, -1) == -1
    without = before.model_copy(update={"cues": before.cues[:1] + before.cues[2:]})
    assert place_in(without, before, 1) == 0  # go then takes what is now in its place
    assert place_in(without.model_copy(update={"cues": before.cues[:1]}), before, 2) == 0
