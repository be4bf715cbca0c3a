"""Root cause: what several faults have in common, by example and by chance."""

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hub.health.cause import (
    DISPROVED_AFTER_S,
    SHARED_WITHIN_S,
    Cause,
    Faults,
    Fold,
    Shares,
    Standing,
    Trouble,
    fold_faults,
    shares_of,
)
from hub.health.cause_words import cautions_of, words_of
from hub.health.kinds import CauseKind, FindingKind
from hub.health.roots import FOLDED_KINDS
from hub.health.rules.book import RULES
from schemas import Venue

KINDS = (CauseKind.SUPPLY, CauseKind.SWITCH, CauseKind.ZONE, CauseKind.VENUE)
PSU = Cause(CauseKind.SUPPLY, "psu-3")
SWITCH = Cause(CauseKind.SWITCH, "sw-1")
WHOLE = Cause(CauseKind.VENUE, "arcade")
EIGHT = [f"bay-{number}" for number in range(8)]
OTHERS = [f"foyer-{number}" for number in range(4)]
SHARES = Shares({PSU: EIGHT, WHOLE: EIGHT + OTHERS})


def look(
    bad: dict[str, float],
    held: tuple[Fold, ...] = (),
    *,
    now_s: float = 100.0,
    shares: Shares = SHARES,
    unknown: tuple[str, ...] = (),
    soon: tuple[str, ...] = (),
) -> tuple[Fold, ...]:
    """`bad`: since when; everybody else is well, unless named."""
    standing = dict.fromkeys(unknown, Standing.UNKNOWN) | dict.fromkeys(soon, Standing.OPEN)
    faults = Faults(
        {node: Trouble(began_s) for node, began_s in bad.items()}, lambda node: standing.get(node, Standing.WELL)
    )
    return fold_faults(shares, KINDS, faults, held, now_s, fresh_s=61.0).folds


def test_supply_is_the_cause_when_all_its_nodes_fall_silent_together() -> None:
    (fold,) = look(dict.fromkeys(EIGHT, 95.0))
    assert (fold.cause, fold.nodes) == (PSU, frozenset(EIGHT))


@pytest.mark.parametrize(
    ("bad", "unknown", "soon", "causes"),
    [
        (dict.fromkeys(EIGHT[:2], 95.0), (), (), []),
        (dict.fromkeys(EIGHT[:7], 95.0), (), (), []),
        (dict.fromkeys(EIGHT[:7], 95.0), EIGHT[7:], (), [PSU]),
        (dict.fromkeys(EIGHT[:7], 95.0), (), EIGHT[7:], []),
        (dict.fromkeys(EIGHT[:7], 95.0) | {EIGHT[7]: 3.0}, (), (), [PSU]),
        (dict.fromkeys(EIGHT[:1], 95.0) | dict.fromkeys(EIGHT[1:], 3.0), (), (), []),
        (dict.fromkeys(EIGHT, 3.0), (), (), []),
        (dict.fromkeys(EIGHT + OTHERS, 95.0), (), (), [WHOLE]),
        (dict.fromkeys(EIGHT + OTHERS[1:], 95.0), (), (), [PSU]),
    ],
    ids=[
        "two of eight",
        "seven of eight",
        "the eighth cannot be judged",
        "the eighth will be known soon",
        "the eighth was off long before",
        "seven were off long before",
        "all long ago, told one by one",
        "the whole venue",
        "one of the venue is well",
    ],
)
def test_cause_needs_every_node_that_can_be_judged(
    bad: dict[str, float], unknown: tuple[str, ...], soon: tuple[str, ...], causes: list[Cause]
) -> None:
    assert [fold.cause for fold in look(bad, unknown=tuple(unknown), soon=tuple(soon))] == causes


def test_node_that_was_off_long_before_is_not_folded() -> None:
    (fold,) = look(dict.fromkeys(EIGHT[:7], 95.0) | {EIGHT[7]: 3.0})
    assert fold.nodes == frozenset(EIGHT[:7])


def test_venue_of_two_nodes_is_no_cause() -> None:
    pair = Shares({WHOLE: OTHERS[:2]})
    assert look(dict.fromkeys(OTHERS[:2], 95.0), shares=pair) == ()


def test_cause_that_has_just_the_same_nodes_is_named_too() -> None:
    (fold,) = look(dict.fromkeys(EIGHT, 95.0), shares=Shares({PSU: EIGHT, SWITCH: EIGHT}))
    assert (fold.cause, fold.also) == (PSU, (SWITCH,))
    message = words_of(FindingKind.SILENT, fold.cause, fold.also, fold.nodes).message
    assert "supply psu-3 or network switch sw-1: each has just these nodes" in message


def test_cause_of_more_nodes_takes_over() -> None:
    held = look(dict.fromkeys(EIGHT, 90.0))
    (fold,) = look(dict.fromkeys(EIGHT, 90.0) | dict.fromkeys(OTHERS, 95.0), held)
    assert (fold.cause, len(fold.nodes)) == (WHOLE, 12)


def test_cause_is_disproved_by_a_node_that_stays_well_and_not_before_a_minute() -> None:
    held = look(dict.fromkeys(EIGHT, 95.0))
    seven = dict.fromkeys(EIGHT[:7], 95.0)
    (doubted,) = look(seven, held, now_s=110.0)
    assert doubted.doubted_since_s == 110.0
    (still,) = look(seven, (doubted,), now_s=110.0 + DISPROVED_AFTER_S - 0.5)
    assert look(seven, (still,), now_s=110.0 + DISPROVED_AFTER_S) == ()
    (again,) = look(dict.fromkeys(EIGHT, 95.0), (doubted,), now_s=120.0)
    assert again.doubted_since_s is None, "it was cut off again: nothing speaks against the supply any more"


def test_node_that_follows_within_a_minute_joins_and_a_later_one_stands_alone() -> None:
    held = look(dict.fromkeys(EIGHT[:7], 95.0), unknown=tuple(EIGHT[7:]))
    (fold,) = look(dict.fromkeys(EIGHT[:7], 95.0) | {EIGHT[7]: 150.0}, held, now_s=151.0)
    assert EIGHT[7] in fold.nodes
    (fold,) = look(dict.fromkeys(EIGHT[:7], 95.0) | {EIGHT[7]: 156.0}, held, now_s=157.0)
    assert EIGHT[7] not in fold.nodes


def test_what_nodes_share_is_read_from_the_venue() -> None:
    run = {"pixel_type": "rgb", "pixels": 10, "pixels_per_m": 30}

    def node(name: str, supplies: list[str], **more: str) -> dict[str, object]:
        feeds = [{"supply": supply, "wire_mm2": 1.5, "length_m": 1} for supply in supplies]
        return {"id": name, "outputs": 1, "channels": [{"number": 1, "pin": "a", "run": run | {"feeds": feeds}}]} | more

    span = {"channel": 1, "pixels": 10, "path": [[0, 0], [1, 0]]}
    zones = [
        {"id": "left", "spans": [span | {"node": "a"}, span | {"node": "b"}]},
        {"id": "right", "spans": [span | {"node": "c"}]},
        {"id": "all", "of": ["left", "right"]},
    ]
    nodes = [node("a", ["p"]), node("b", ["p", "q"]), node("c", ["q"], powered_by="p"), node("d", ["q"])]
    venue = Venue.model_validate_json(json.dumps({"id": "v", "title": "V", "nodes": nodes, "zones": zones}))
    assert {(cause.kind.value, cause.name): set(found) for cause, found in shares_of(venue).nodes_of.items()} == {
        ("supply", "p"): {"a", "c"},
        ("zone", "left"): {"a", "b"},
        ("zone", "all"): {"a", "b", "c"},
        ("venue", "v"): {"a", "b", "c", "d"},
    }


@pytest.mark.parametrize(
    ("kind", "cause"), [(kind, cause) for kind in sorted(FOLDED_KINDS) for cause in RULES[kind].causes]
)
def test_every_cause_that_a_rule_names_has_words(kind: FindingKind, cause: CauseKind) -> None:
    words = words_of(kind, Cause(cause, "x" * 40), (), ["n" * 40] * 10)
    assert all(text.endswith((".", "?")) and len(text) <= 400 for text in (words.likely_cause, words.next_check))
    assert len(words.message) <= 400
    if cause is CauseKind.SUPPLY:
        assert any("licensed electrician" in caution for caution in cautions_of(kind, Cause(cause, "psu-3")))


NAMES = [f"n{number}" for number in range(7)]


@st.composite
def venues(draw: st.DrawFn) -> Shares:
    causes = [Cause(kind, name) for kind in KINDS[:3] for name in ("one", "two")] + [WHOLE]
    return Shares({cause: draw(st.sets(st.sampled_from(NAMES), min_size=1)) for cause in causes})


@settings(max_examples=60)
@given(
    venues(),
    st.lists(st.dictionaries(st.sampled_from(NAMES), st.sampled_from(["bad", "well", "soon", "unknown"])), max_size=25),
)
def test_no_node_is_under_two_and_no_cause_stands_against_its_nodes(
    shares: Shares, history: list[dict[str, str]]
) -> None:
    """Nodes turn bad and well by chance, seven seconds between two looks; those not named stay as they are."""
    now_s = 0.0
    state = dict.fromkeys(NAMES, "well")
    began_s: dict[str, float] = {}
    held: tuple[Fold, ...] = ()
    against_since_s: dict[Cause, float] = {}
    for turns in history:
        now_s += 7.0
        state |= turns
        began_s = {node: began_s.get(node, now_s) for node in NAMES if state[node] == "bad"}
        words = {"well": Standing.WELL, "soon": Standing.OPEN, "unknown": Standing.UNKNOWN}
        faults = Faults({node: Trouble(at_s) for node, at_s in began_s.items()}, lambda node: words[state[node]])  # noqa: B023 (called in this turn)
        before = {fold.cause for fold in held}
        held = fold_faults(shares, KINDS, faults, held, now_s, fresh_s=61.0).folds
        bad_under = [node for fold in held for node in fold.nodes if node in began_s]
        assert len(bad_under) == len(set(bad_under))
        for fold in held:
            cover = shares.nodes_of[fold.cause]
            assert fold.nodes <= cover
            assert fold.nodes & began_s.keys(), "a cause stands for nobody"
            well = [node for node in cover if state[node] == "well"]
            if fold.cause not in before:
                assert not well
                assert not any(state[node] == "soon" for node in cover)
                starts = [began_s[node] for node in fold.nodes]
                assert max(starts) - min(starts) <= SHARED_WITHIN_S
                assert len(starts) >= (3 if fold.cause.kind is CauseKind.VENUE else 2)
            if well:
                since_s = against_since_s.setdefault(fold.cause, now_s)
                assert now_s - since_s < DISPROVED_AFTER_S
            else:
                against_since_s.pop(fold.cause, None)
        for cause in [cause for cause in against_since_s if cause not in {fold.cause for fold in held}]:
            del against_since_s[cause]


def test_well_nodes_that_are_not_ended_yet_hold_no_cause_and_speak_against_one() -> None:
    troubles = {node: Trouble(95.0) for node in EIGHT}
    troubles[EIGHT[0]] = replace(troubles[EIGHT[0]], well=True)
    folding = fold_faults(SHARES, KINDS, Faults(troubles, lambda _node: None), (), 100.0, fresh_s=61.0)
    assert folding.folds == ()


def test_nodes_are_asked_about_only_as_far_as_needed() -> None:
    many = Shares({WHOLE: [f"n{number:03}" for number in range(500)]})
    known: dict[str, Standing] = {}
    faults = Faults({f"n{number:03}": Trouble(95.0) for number in range(490, 500)}, known.get)
    first = fold_faults(many, KINDS, faults, (), 100.0, fresh_s=61.0)
    assert (first.folds, len(first.ask)) == ((), 8)
    known[min(first.ask)] = Standing.WELL
    assert fold_faults(many, KINDS, faults, (), 100.5, fresh_s=61.0).ask == {min(first.ask)}
