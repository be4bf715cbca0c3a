"""What the tree of fault finding is made of. Data: nothing here knows a node, a clock or a database."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from hub.fault_finding.hands import Hands, cautions_of
from hub.fault_finding.knowledge import Knowledge
from hub.fault_finding.view import CarriedItem
from schemas import TestPattern

NOT_IT: Final = "not-it"
"""The answer to a diagnosis that did not prove right."""

Carry = Callable[[Knowledge], Iterable[CarriedItem]]


@dataclass(frozen=True, slots=True)
class Known:
    """What the hub answers by itself: one of the question's answers, and the words for it."""

    answer: str
    words: str


Asked = Callable[[Knowledge], Known | None]
"""A question to the hub itself; None is: it does not know."""


@dataclass(frozen=True, slots=True)
class Choice:
    """An answer, and the step that follows it. `words` may hold figures, see `hub.fault_finding.figures`."""

    answer: str
    words: str
    then: str


@dataclass(frozen=True, slots=True)
class Question:
    """Something to look at. `known` answers it where the hub knows; `words` and `look` may hold figures.

    With `shows` that test pattern is on the run while it is asked.
    """

    step: str
    words: str
    look: str
    choices: tuple[Choice, ...]
    hands: Hands = Hands.LOOK
    more_cautions: tuple[str, ...] = ()
    shows: TestPattern | None = None
    known: Asked | None = None

    @property
    def cautions(self) -> tuple[str, ...]:
        return cautions_of(self.hands, self.more_cautions)


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """An end: what it is, how to prove it, what to do, what to carry. `if_not` is where to go on if it was not that."""

    step: str
    title: str
    likely: str
    proof: str
    remedy: str
    carry: tuple[Carry, ...]
    hands: Hands
    source: str
    more_cautions: tuple[str, ...] = ()
    if_not: str | None = None

    @property
    def cautions(self) -> tuple[str, ...]:
        return cautions_of(self.hands, self.more_cautions)


Step = Question | Diagnosis
