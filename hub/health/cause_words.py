"""What a finding says that stands for several nodes: what they share, and where to look instead of at each board."""

from collections.abc import Collection, Sequence
from types import MappingProxyType
from typing import Final

from hub.health.cause import Cause
from hub.health.kinds import CauseKind, FindingKind
from hub.health.rule import Words
from hub.health.rules.cautions import FUSE, HEAT, HEIGHT, MAINS, POWER_OFF

NAMES_IN_A_SENTENCE: Final = 4

_TOGETHER: Final = MappingProxyType(
    {
        FindingKind.SILENT: "fell silent together",
        FindingKind.UNDER_VOLTED: "get too few volts since the same moment",
        FindingKind.HOT: "became too hot together",
        FindingKind.THROTTLED: "were slowed down by heat or volts together",
        FindingKind.WEAK_SIGNAL: "have a weak signal since the same moment",
        FindingKind.LOST_TELEMETRY: "lose telemetry since the same moment",
        FindingKind.FLAPPING: "come and go together",
        FindingKind.RESTARTING: "start again and again together",
    }
)
_THINGS: Final = MappingProxyType(
    {
        CauseKind.SUPPLY: "supply {}",
        CauseKind.SWITCH: "network switch {}",
        CauseKind.ZONE: "zone {}",
        CauseKind.VENUE: "the whole venue",
    }
)
_CAUSES: Final = MappingProxyType(
    {
        CauseKind.SUPPLY: "Supply {name}, its fuse or what feeds it, and not {count} boards.",
        CauseKind.SWITCH: "Network switch {name}, its power or its way to the hub, and not {count} boards.",
        CauseKind.ZONE: "Something at zone {name} that these boards share: a circuit, a duct of cables, heat or water.",
        CauseKind.VENUE: "The venue's mains or its network as a whole, and not {count} boards.",
    }
)
_CHECKS: Final = MappingProxyType(
    {
        CauseKind.SUPPLY: "Measure volts at the output of {name}; none: its fuse, its switch, the breaker before it. "
        "If they are right, follow the positive wire from there to the first of these boards.",
        CauseKind.SWITCH: "See whether {name} has power and its link lights are on; then the cable from it to the hub.",
        CauseKind.ZONE: "Go to zone {name} before any board: breaker of that circuit, shared cables, water, heat.",
        CauseKind.VENUE: "Is there light and power at all? Then the main breaker; if there is, the network's router "
        "and the cable to the hub.",
    }
)
_SAGGING: Final = Words(
    "",
    "Supply {name} sags: too much load, its output set too low, or a loose terminal that all of them hang on.",
    "Measure volts at the output of {name} under load, then at its terminals and the first joint after them.",
)
_BY_SUPPLY: Final = MappingProxyType({FindingKind.UNDER_VOLTED: _SAGGING, FindingKind.RESTARTING: _SAGGING})
_CAUTIONS: Final = MappingProxyType(
    {
        CauseKind.SUPPLY: (MAINS, POWER_OFF, FUSE, HEAT, HEIGHT),
        CauseKind.SWITCH: (MAINS, HEIGHT),
        CauseKind.ZONE: (MAINS, POWER_OFF, HEAT, HEIGHT),
        CauseKind.VENUE: (MAINS,),
    }
)


def words_of(kind: FindingKind, cause: Cause, also: Sequence[Cause], nodes: Collection[str]) -> Words:
    """The words of a finding of `kind` that stands for `nodes`, which share `cause` and, just these nodes, `also`."""
    count = len(nodes)
    together = _TOGETHER.get(kind, f"are {kind.value} since the same moment")
    shared = " or ".join(_thing(one) for one in (cause, *also))
    both = ": each has just these nodes" if also else ""
    special = _BY_SUPPLY.get(kind) if cause.kind is CauseKind.SUPPLY else None
    likely, check = (
        (special.likely_cause, special.next_check) if special else (_CAUSES[cause.kind], _CHECKS[cause.kind])
    )
    return Words(
        f"{count} nodes {together}: {names_of(nodes)}. They share {shared}{both}.",
        likely.format(name=cause.name, count=count),
        check.format(name=cause.name, count=count),
    )


def cautions_of(cause: Cause) -> tuple[str, ...]:
    return _CAUTIONS[cause.kind]


def names_of(nodes: Collection[str]) -> str:
    """The first few by name, and how many more."""
    ordered = sorted(nodes)
    shown, more = ordered[:NAMES_IN_A_SENTENCE], len(ordered) - NAMES_IN_A_SENTENCE
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")


def _thing(cause: Cause) -> str:
    return _THINGS[cause.kind].format(cause.name)
