"""Holds a tree of fault finding together: no dead end, no loop, nothing out of reach, no step without what it needs."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from string import Formatter
from types import MappingProxyType
from typing import Final

from hub.fault_finding.course import MAX_STEPS, Tree
from hub.fault_finding.figures import OF_A_NODE, OF_A_RUN
from hub.fault_finding.hands import Hands
from hub.fault_finding.known import NO, YES
from hub.fault_finding.step import NOT_IT, Diagnosis, Question, Step
from hub.fault_finding.symptom import Symptom

MAX_STEP_ID: Final = 60


def tree_of(steps: Iterable[Step], begins: Mapping[Symptom, str]) -> Tree:
    """The tree of these steps. Raises ValueError that names every mistake."""
    steps = tuple(steps)
    tree = Tree(MappingProxyType({step.step: step for step in steps}), MappingProxyType(dict(begins)))
    twice = [
        f"{name}: there are {count} of it" for name, count in Counter(one.step for one in steps).items() if count > 1
    ]
    mistakes = [*twice, *_dangling(tree)]
    if not mistakes:
        mistakes = [*_loops(tree), *_out_of_reach(tree)] or [one for step in steps for one in _of_step(step)]
    if not mistakes:
        mistakes = [*_figures(tree), *_too_long(tree)]
    if mistakes:
        raise ValueError(f"the tree of fault finding has {len(mistakes)} mistakes: {'; '.join(mistakes)}")
    return tree


def followers(step: Step) -> tuple[str, ...]:
    """The steps that may follow, in the order of the answers."""
    if isinstance(step, Diagnosis):
        return () if step.if_not is None else (step.if_not,)
    return tuple(choice.then for choice in step.choices)


def reached(tree: Tree, symptom: Symptom) -> set[str]:
    """Every step that a symptom can lead to."""
    found: set[str] = set()
    waiting = [tree.begins[symptom]]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting.extend(followers(tree.steps[name]))
    return found


def _dangling(tree: Tree) -> Iterator[str]:
    for symptom in Symptom:
        if tree.begins.get(symptom) not in tree.steps:
            yield f"symptom {symptom}: begins nowhere"
    for name, step in tree.steps.items():
        yield from (
            f"{name}: leads to {then!r}, which is no step" for then in followers(step) if then not in tree.steps
        )


def _loops(tree: Tree) -> Iterator[str]:
    """Take away steps that nothing waiting leads to, until none is left; what cannot be taken is in a loop."""
    leading_in = Counter(then for step in tree.steps.values() for then in followers(step))
    waiting = [name for name in tree.steps if not leading_in[name]]
    left = set(tree.steps)
    while waiting:
        name = waiting.pop()
        left.discard(name)
        for then in followers(tree.steps[name]):
            leading_in[then] -= 1
            if not leading_in[then]:
                waiting.append(then)
    if left:
        yield f"in or behind a loop: {', '.join(sorted(left))}"


def _out_of_reach(tree: Tree) -> Iterator[str]:
    found = {name for symptom in tree.begins for name in reached(tree, symptom)}
    yield from (f"{name}: no symptom leads to it" for name in tree.steps if name not in found)


def _of_step(step: Step) -> Iterator[str]:
    if not step.step or len(step.step) > MAX_STEP_ID:
        yield f"{step.step!r}: its id must have 1 to {MAX_STEP_ID} characters"
    if step.hands in (Hands.METER, Hands.WORK) and not step.cautions:
        yield f"{step.step}: work without a caution"
    if isinstance(step, Diagnosis):
        if not step.carry:
            yield f"{step.step}: nothing to carry"
        if not step.cautions:
            yield f"{step.step}: a diagnosis without a caution"
        if not step.source:
            yield f"{step.step}: no source"
        return
    answers = [choice.answer for choice in step.choices]
    if len(answers) < 2 or len(set(answers)) != len(answers) or NOT_IT in answers:
        yield f"{step.step}: needs two or more answers, each once"
    if step.known is not None and answers != [YES, NO]:
        yield f"{step.step}: what the hub answers is yes or no"


def _figures(tree: Tree) -> Iterator[str]:
    """Figures of a run may stand only where every symptom that leads there is of a run."""
    of_node = {name for symptom in tree.begins if not symptom.of_a_run for name in reached(tree, symptom)}
    for name, step in tree.steps.items():
        allowed = OF_A_NODE if name in of_node else OF_A_NODE | OF_A_RUN
        for words in words_of(step):
            used = {field for _, field, _, _ in Formatter().parse(words) if field is not None}
            yield from (f"{name}: there is no {{{field}}} there" for field in sorted(used - allowed))
        if name in of_node and isinstance(step, Question) and step.shows is not None:
            yield f"{name}: shows a pattern, but no run may be known there"


def words_of(step: Step) -> tuple[str, ...]:
    """All that a step says of its own, figures still in their braces."""
    if isinstance(step, Diagnosis):
        return step.title, step.likely, step.proof, step.remedy
    return step.words, step.look, *(choice.words for choice in step.choices)


def _too_long(tree: Tree) -> Iterator[str]:
    lengths: dict[str, int] = {}

    def length(name: str) -> int:
        if name not in lengths:
            lengths[name] = 1 + max((length(then) for then in followers(tree.steps[name])), default=0)
        return lengths[name]

    longest = max(length(name) for name in tree.begins.values())
    if longest * 2 > MAX_STEPS:
        yield f"a search may take {longest} steps, which leaves no room for answers taken back"
