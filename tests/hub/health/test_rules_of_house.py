"""What every rule owes to whoever reads its finding: on a fault of each form, from the rules themselves."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from hub import cautions
from hub.fleet.awareness import apply_presence
from hub.fleet.state import NodeState, Stranger
from hub.health.births import WINDOW_S
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import About, Fault, Outcome, Rule
from hub.health.rules import hub_overrun, limited, mixed_versions, overloaded, unknown_node
from hub.health.rules.book import OF_NODES, RULES
from hub.health.sight import Drawing, LinkSight, StrangerSight, VenueSight
from schemas import Held, Refusal, Reported
from schemas.messages import BoardFigures
from tests.hub.fleet.test_awareness import BOOT, presence
from tests.hub.health.sights import HASH, NOW_S, node, sight, sight_of, supply, told

LONGEST_WORDS = 250
"""Of a message; a finding's rows hold 400 letters."""
CAUTIONS = {text for name, text in vars(cautions).items() if name.isupper()}
HANDS_ON = re.compile(
    r"\b(supply|fuse|terminals?|wire|wiring|volts|heat sink|vents|antenna|card|cables?|plugs?|board's own input)\b",
    re.I,
)
WORDS_KEPT_OUT = re.compile(
    r"\b(segments?|presets?|playlists?|effects?|palettes?|entit(y|ies)|automations?|macros?|props?|virtual)\b", re.I
)


def refused() -> NodeState:
    state = node()
    refusal = Refusal(revision=4, field="scenes.0", reason="too many layers", remedy="fewer")
    state.reported = Reported(boot_id=BOOT, session=1, showing=Held(revision=3, sha256=HASH), refusal=refusal)
    return state


def born(*boots: str, cause: str = "power", link: str = "wireless") -> NodeState:
    """A node with these births, the newest last, each a new session."""
    state = node()
    for number, boot in enumerate(boots):
        apply_presence(state, presence("online", number + 2, 8 * boot), NOW_S - 60 + number, retained=False)
    state.telemetry = told({"start_cause": cause, "link": link})
    return state


def losing() -> NodeState:
    state = node()
    state.arrivals.add(NOW_S, lost=0)
    state.arrivals.add(NOW_S, lost=40)
    state.sequence_gaps = 1
    return state


def erring() -> Outcome:
    seen = sight(node())
    for errors in (0, 9):
        seen.node.telemetry = told({"errors": errors})
        seen.look(NOW_S)
    return OF_NODES[FindingKind.ERRORS_LOGGED](seen, open_now=False)


def running(*versions: str) -> VenueSight:
    states = [node() for _ in versions]
    for number, (state, version) in enumerate(zip(states, versions, strict=True)):
        state.node, state.agent_version = f"bay-{number:02}", version
    return VenueSight(states)


def of_node(kind: FindingKind, *states: NodeState, **looks: Any) -> Iterator[tuple[FindingKind, Outcome]]:  # noqa: ANN401
    for state in states:
        yield kind, OF_NODES[kind](sight(state, **looks), open_now=False)


def figures(kind: FindingKind, board: dict[str, Any] | None = None, **changes: Any) -> tuple[FindingKind, Outcome]:  # noqa: ANN401
    return kind, OF_NODES[kind](sight_of(board, **changes), open_now=False)


def each_form() -> Iterator[tuple[FindingKind, Outcome]]:
    """A fault of every form that a rule can tell of."""
    kinds = FindingKind
    yield from of_node(
        kinds.SILENT,
        node(online=False, died_at_s=1_100.5),
        node(online=False),
        node(online=False, heard_at_s=None),
    )
    yield from of_node(kinds.BEHIND, node(), refused(), desired=4)
    for cause in BoardFigures.model_fields["start_cause"].annotation.__args__:  # type: ignore[union-attr]
        yield from of_node(kinds.RESTARTING, born(*"abcdef01", cause=cause))
    for link in ("wired", "wireless"):
        yield from of_node(kinds.FLAPPING, born(*"aaaaaaa", link=link))
    yield from of_node(kinds.DOUBLE_IDENTITY, born(*"abababa"))
    yield from of_node(kinds.LOST_TELEMETRY, losing())
    yield kinds.ERRORS_LOGGED, erring()
    yield figures(kinds.SLOW, frame_rate_hz=30.0)
    yield figures(kinds.SLOW, {"throttled": True}, frame_rate_hz=30.0)
    yield figures(kinds.SLOW, frame_rate_hz=30.0, render_ms=20.0)
    yield figures(kinds.HOT, temperature_c=84.0)
    yield figures(kinds.HOT, {"throttled": True}, temperature_c=84.0)
    yield figures(kinds.THROTTLED, {"throttled": True})
    yield figures(kinds.THROTTLED, {"throttled": True}, temperature_c=None)
    yield figures(kinds.UNDER_VOLTED, {"under_voltage": True})
    yield figures(kinds.SKEWED, clock_dispersion_ms=50.0)
    for source in ("wall", "kept"):
        yield figures(kinds.CLOCK_UNTRUSTED, clock_dispersion_ms=None, clock_source=source)
    for offset_ms in (-90_000.0, 2_500.0):
        yield figures(kinds.CLOCKS_APART, clock_offset_ms=offset_ms, wall_clock_disciplined=True)
    yield figures(kinds.DISK_FULL, {"disk_free_share": 0.01})
    yield figures(kinds.DISK_WORN, {"disk_worn_share": 1.0})
    yield figures(kinds.DISK_WORN, {"disk_read_only": True})
    yield figures(kinds.MEMORY_LOW, {"memory_free_share": 0.01})
    yield figures(kinds.WEAK_SIGNAL, {"signal_dbm": -80.0})
    yield kinds.OVERLOADED, overloaded.judge(supply(Drawing("bay-01", 9.0, 1.0)), open_now=False)
    yield kinds.OVERLOADED, overloaded.judge(supply(Drawing("bay-01", 2.0, 1.0, 1.0)), open_now=False)
    yield kinds.LIMITED, limited.judge(supply(Drawing("bay-01", 2.0, 0.5)), open_now=False)
    yield kinds.LIMITED, limited.judge(supply(Drawing("bay-01", 2.0, 0.5, 1.0)), open_now=False)
    heard = Stranger(NOW_S - 30, NOW_S, 9)
    yield kinds.UNKNOWN_NODE, unknown_node.judge(StrangerSight("bay-99", heard, NOW_S, LinkSight(0.0)), open_now=False)
    yield kinds.MIXED_VERSIONS, mixed_versions.judge(running("1.0.0", "1.0.0", "1.1.0"), open_now=False)
    yield (
        kinds.MIXED_VERSIONS,
        mixed_versions.judge(running("1.0.0", "1.1.0", "1.2.0", "1.3.0", *"abc"), open_now=False),
    )
    yield kinds.HUB_OVERRUN, hub_overrun.judge(VenueSight((), dropped_lately=812), open_now=False)


FORMS = list(each_form())
NAMES = {About.NODE: "bay-01", About.SUPPLY: "psu-1", About.STRANGER: "bay-99", About.VENUE: "arcade"}


def test_every_kind_has_its_rule_and_every_rule_a_form_here() -> None:
    assert set(RULES) == set(FindingKind)
    assert {kind for kind, _outcome in FORMS} == set(FindingKind)


@pytest.mark.parametrize(("kind", "outcome"), FORMS, ids=[kind.value for kind, _outcome in FORMS])
def test_finding_tells_what_where_why_and_what_next(kind: FindingKind, outcome: Outcome) -> None:
    assert isinstance(outcome, Fault), "the form is a fault"
    rule, name = RULES[kind], NAMES[RULES[kind].about]
    words = rule.words(name, outcome.evidence)
    sentences = (words.message, words.likely_cause, words.next_check)
    assert name in words.message
    assert outcome.node is None or outcome.node in words.message or rule.about is About.VENUE
    for sentence in sentences:
        assert sentence[0].isupper() or sentence.startswith((name, outcome.node or name))
        assert sentence.endswith((".", "?"))
        assert "None" not in sentence
        assert not WORDS_KEPT_OUT.search(sentence)
        assert len(sentence) <= LONGEST_WORDS
    assert len(set(sentences)) == len(sentences)
    assert all(value is None or isinstance(value, str | int | float) for value in outcome.evidence.values())
    if HANDS_ON.search(f"{words.likely_cause} {words.next_check}"):
        assert rule.cautions, f"hands go to volts or heights: {words.next_check}"


@pytest.mark.parametrize("rule", RULES.values(), ids=[kind.value for kind in RULES])
def test_rule_is_whole(rule: Rule) -> None:
    assert rule.severity in Severity
    assert 0 <= rule.hysteresis.opens_after_s <= 3_600
    assert 0 < rule.hysteresis.ends_after_s <= WINDOW_S
    assert set(rule.cautions) <= CAUTIONS
    assert len(set(rule.cautions)) == len(rule.cautions)
    order = [list(CauseKind).index(cause) for cause in rule.causes]
    assert order == sorted(order), "likeliest first, as causes are ranked"
    assert rule.about is About.NODE or not rule.causes, "only nodes share something"
    for explained in (RULES[kind] for kind in rule.explains):
        assert {rule.about, explained.about} == {About.NODE}
        # Who is told of nothing below an alarm would else miss it; a silence that stays is told after all.
        assert explained.severity.rank <= rule.severity.rank or explained.explained_for_s <= 120
    if rule.about is About.SUPPLY:
        assert {cautions.MAINS, cautions.FUSE} <= set(rule.cautions)
