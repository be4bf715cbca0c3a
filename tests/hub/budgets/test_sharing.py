"""Division by need: never more than there is, a floor for everybody, and no moves without a reason."""

from hypothesis import given
from hypothesis import strategies as st

from hub.budgets.sharing import Claim, share_by_need
from hub.desired.budgets import Load

EVEN = Load(6_000_000, 100_000)


def claims(**wanted_and_present: tuple[int | None, int]) -> dict[str, Claim]:
    return {node: Claim(EVEN, present, wanted) for node, (wanted, present) in wanted_and_present.items()}


def test_before_anything_is_known_shares_are_the_fixed_ones() -> None:
    assert share_by_need(8_000, claims(a=(None, 0), b=(None, 0), c=(None, 0), d=(None, 0))) == dict.fromkeys(
        "abcd", 2_000
    )


def test_who_wants_more_gets_what_others_can_spare_above_their_floor() -> None:
    shares = share_by_need(8_000, claims(a=(6_000, 2_000), b=(200, 2_000), c=(200, 2_000), d=(200, 2_000)))
    assert shares["a"] > 6_000
    assert all(shares[node] >= 600 for node in "bcd"), "idle and a quarter of the fixed share"


def test_where_all_want_too_much_the_modest_are_served_first_and_the_rest_share() -> None:
    shares = share_by_need(8_000, claims(a=(6_000, 2_000), b=(6_000, 2_000), c=(1_000, 2_000), d=(500, 2_000)))
    assert shares["a"] == shares["b"] > 2_000
    assert shares["c"] >= 1_125
    assert shares["d"] >= 600


def test_nothing_moves_while_everybody_has_what_they_want() -> None:
    present = claims(a=(3_000, 5_000), b=(200, 1_000), c=(200, 1_000), d=(200, 1_000))
    assert share_by_need(8_000, present) == {"a": 5_000, "b": 1_000, "c": 1_000, "d": 1_000}


def test_nothing_moves_for_a_trifle() -> None:
    present = claims(a=(3_300, 3_700), b=(1_200, 1_380), c=(1_200, 1_460), d=(1_200, 1_460))
    assert share_by_need(8_000, present) == {node: claim.present_ma for node, claim in present.items()}


def test_who_cannot_be_asked_keeps_what_is_reserved_and_the_rest_is_shared_without_it() -> None:
    asked = claims(a=(6_000, 1_000), b=(6_000, 1_000))
    shares = share_by_need(8_000, asked | {"dead": Claim(EVEN, 5_000, 0, kept_ma=5_000)})
    assert shares == {"a": 1_500, "b": 1_500, "dead": 5_000}


def test_where_the_dead_keep_everything_the_living_share_nothing() -> None:
    assert share_by_need(8_000, claims(a=(6_000, 0)) | {"dead": Claim(EVEN, kept_ma=9_000)}) == {"a": 0, "dead": 9_000}


amounts = st.integers(0, 12_000)


@given(
    whole_ma=st.integers(0, 20_000),
    nodes=st.lists(
        st.builds(
            Claim,
            st.builds(Load, st.integers(0, 9_000_000), st.integers(0, 500_000)),
            amounts,
            st.none() | amounts,
            st.none() | amounts,
        ),
        min_size=1,
        max_size=8,
    ),
)
def test_shares_never_add_up_to_more_than_the_budget_or_what_must_be_kept(whole_ma: int, nodes: list[Claim]) -> None:
    shares = share_by_need(whole_ma, {str(number): claim for number, claim in enumerate(nodes)})
    kept_ma = sum(claim.kept_ma for claim in nodes if claim.kept_ma is not None)
    assert all(share >= 0 for share in shares.values())
    assert sum(shares.values()) <= max(whole_ma, kept_ma)
    again = {str(n): Claim(claim.load, shares[str(n)], claim.wanted_ma, claim.kept_ma) for n, claim in enumerate(nodes)}
    if kept_ma <= whole_ma:
        assert share_by_need(whole_ma, again) == shares, "and what was moved once stays where it is"
