"""What a rule is: what it is about, its severity, hysteresis and words; and what a judgement answers. Pure."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum, StrEnum
from math import inf
from typing import Final

from hub.health.kinds import CauseKind, FindingKind, Severity

Evidence = Mapping[str, object]


class Calm(Enum):
    """No fault: nothing is wrong; or nothing fresh tells either way, which opens nothing and ends nothing; or the
    subject is no more, which ends at once what was open about it."""

    GOOD = "good"
    UNKNOWN = "unknown"
    GONE = "gone"


GOOD: Final = Calm.GOOD
UNKNOWN: Final = Calm.UNKNOWN
GONE: Final = Calm.GONE


class About(StrEnum):
    """What the subject of a kind of finding is."""

    NODE = "node"
    SUPPLY = "supply"
    STRANGER = "stranger"
    VENUE = "venue"


@dataclass(frozen=True, slots=True)
class Fault:
    """Something is wrong now. `node` is where to look first, if anywhere; `evidence` holds measured figures."""

    node: str | None
    evidence: Evidence


Outcome = Fault | Calm


@dataclass(frozen=True, slots=True)
class Hysteresis:
    """A fault is told once it has held for `opens_after_s`, and has ended once nothing was wrong for `ends_after_s`."""

    opens_after_s: float
    ends_after_s: float


@dataclass(frozen=True, slots=True)
class Subject:
    """What a finding is about. By its kind `name` is a node's, a supply's, an unknown node's or the venue's id."""

    venue: str
    kind: FindingKind
    name: str


@dataclass(frozen=True, slots=True)
class Words:
    """One sentence of what is wrong, one of what it most likely comes from, one of what to do first."""

    message: str
    likely_cause: str
    next_check: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One kind of finding. `words(name, evidence)` speaks of the subject `name`; `cautions` come before any work on it.

    `causes`: what several subjects of this kind may share that is then the one thing wrong, likeliest first.
    `explains`: kinds that this one brings with it by itself on the same node. `explained_for_s`: how long at a stretch
    another kind may be why this one is wrong.
    """

    kind: FindingKind
    severity: Severity
    hysteresis: Hysteresis
    words: Callable[[str, Evidence], Words]
    about: About = About.NODE
    cautions: tuple[str, ...] = ()
    causes: tuple[CauseKind, ...] = ()
    explains: tuple[FindingKind, ...] = ()
    explained_for_s: float = inf
