"""What a finding says that stands for several nodes: what they share, and where to look instead of at each board."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from hub.cautions import FUSE, HEAT, HEIGHT, MAINS, METER, POWER_OFF
from hub.health.cause import Cause
from hub.health.kinds import CauseKind, FindingKind
from hub.health.rule import Words

NAMES_IN_A_SENTENCE: Final = 4
_THINGS: Final = MappingProxyType(
    {
        CauseKind.SUPPLY: "supply {}",
        CauseKind.SWITCH: "network switch {}",
        CauseKind.ZONE: "zone {}",
        CauseKind.VENUE: "the whole venue",
    }
)


@dataclass(frozen=True, slots=True)
class _Shared:
    """`together` follows "8 nodes"; {name} is the cause's, {count} the nodes'."""

    together: str
    likely_cause: str
    next_check: str
    cautions: tuple[str, ...] = ()


_SILENT: Final = "fell silent together"
_APART: Final = "keep show time badly since the same moment"
_UNTRUSTED: Final = "get no time from the hub since the same moment"
_LOSING: Final = "lose telemetry since the same moment"
_COMING_AND_GOING: Final = "come and go together"
_SUPPLY_CAUTIONS: Final = (METER, MAINS, POWER_OFF, FUSE, HEAT, HEIGHT)
_NETWORK_CHECK: Final = (
    "Look at the link lights of {name} and at its cable to the hub; move one board elsewhere to see."
)
_HUB_CHECK: Final = (
    "Look at the load of the hub's machine and of the broker, then at the network between it and the boards."
)

_SHARED: Final[Mapping[tuple[FindingKind, CauseKind], _Shared]] = MappingProxyType(
    {
        (FindingKind.SILENT, CauseKind.SUPPLY): _Shared(
            _SILENT,
            "Supply {name}, its fuse or what feeds it, and not {count} boards.",
            "Measure volts at the output of {name}; none: its fuse, its switch, the breaker before it. If they are "
            "right, follow the positive wire from there to the first of these boards.",
            _SUPPLY_CAUTIONS,
        ),
        (FindingKind.SILENT, CauseKind.SWITCH): _Shared(
            _SILENT,
            "Network switch {name}, its power or its way to the hub, and not {count} boards.",
            "See whether {name} has power and its link lights are on; then the cable from it to the hub.",
            (MAINS, HEIGHT),
        ),
        (FindingKind.SILENT, CauseKind.ZONE): _Shared(
            _SILENT,
            "Something at zone {name} that these boards share: a circuit, a duct of cables, heat or water.",
            "Go to zone {name} before any board: the breaker of that circuit, shared cables, water, heat.",
            (MAINS, POWER_OFF, HEAT, HEIGHT),
        ),
        (FindingKind.SILENT, CauseKind.VENUE): _Shared(
            _SILENT,
            "The venue's mains or its network as a whole, and not {count} boards.",
            "Is there power at all? If not, the main breaker; if so, the network's router and the cable to the hub.",
            (MAINS,),
        ),
        (FindingKind.UNDER_VOLTED, CauseKind.SUPPLY): _Shared(
            "get too few volts since the same moment",
            "Supply {name} sags: too much load, its output set too low, or a loose terminal that all of them hang on.",
            "Measure volts at the output of {name} under load, then at its terminals and the first joint after them.",
            _SUPPLY_CAUTIONS,
        ),
        (FindingKind.RESTARTING, CauseKind.SUPPLY): _Shared(
            "start again and again together",
            "Supply {name} drops out: too much load, its own protection, or a loose terminal that all of them hang on.",
            "Watch volts at the output of {name} while it is loaded; feel for a loose terminal once it is off.",
            _SUPPLY_CAUTIONS,
        ),
        (FindingKind.HOT, CauseKind.ZONE): _Shared(
            "became too hot together",
            "Heat at zone {name}: sun on a closed cover, ventilation that failed, something hot beside the boards.",
            "Open what shades or vents zone {name}; meanwhile take a darker scene.",
            (HEAT, HEIGHT),
        ),
        (FindingKind.WEAK_SIGNAL, CauseKind.SWITCH): _Shared(
            "have a weak signal since the same moment",
            "Radio access point {name} was moved, hidden behind metal, or its channel is crowded.",
            "Stand {name} where it was, or free its view of the boards; try another channel.",
            (HEIGHT,),
        ),
        (FindingKind.FLAPPING, CauseKind.SWITCH): _Shared(
            _COMING_AND_GOING, "Network switch {name} or its cable to the hub has a loose contact.", _NETWORK_CHECK
        ),
        (FindingKind.FLAPPING, CauseKind.VENUE): _Shared(
            _COMING_AND_GOING, "The network as a whole, the broker or the hub's machine, and no board.", _HUB_CHECK
        ),
        (FindingKind.LOST_TELEMETRY, CauseKind.SWITCH): _Shared(
            _LOSING, "Network switch {name} or its cable to the hub drops packets.", _NETWORK_CHECK
        ),
        (FindingKind.LOST_TELEMETRY, CauseKind.VENUE): _Shared(
            _LOSING, "The network as a whole drops packets, or broker or hub cannot keep up.", _HUB_CHECK
        ),
        (FindingKind.SKEWED, CauseKind.SWITCH): _Shared(
            _APART, "The way over network switch {name} is slow or uneven.", _NETWORK_CHECK
        ),
        (FindingKind.SKEWED, CauseKind.VENUE): _Shared(
            _APART, "The network is saturated, or broker or hub is too busy to answer in time.", _HUB_CHECK
        ),
        (FindingKind.CLOCK_UNTRUSTED, CauseKind.SWITCH): _Shared(
            _UNTRUSTED, "The way over network switch {name} takes too long for any clock exchange.", _NETWORK_CHECK
        ),
        (FindingKind.CLOCK_UNTRUSTED, CauseKind.VENUE): _Shared(
            _UNTRUSTED, "The hub answers no clock exchange in time: it or the broker is too busy.", _HUB_CHECK
        ),
        (FindingKind.CLOCKS_APART, CauseKind.VENUE): _Shared(
            "have clocks that time synchronisation keeps, and all are apart from the hub's",
            "The hub's own clock is wrong, and not {count} boards'.",
            "See that time synchronisation runs on the hub's machine and reaches its servers.",
        ),
        (FindingKind.SLOW, CauseKind.VENUE): _Shared(
            "became slow together",
            "The scene that all of them show is too heavy for these boards.",
            "Take a lighter scene, or take layers out of this one; compare its weight with the one before.",
        ),
    }
)


def words_of(kind: FindingKind, cause: Cause, also: Sequence[Cause], nodes: Collection[str]) -> Words:
    """The words of a finding of `kind` that stands for `nodes`, which share `cause` and, just these nodes, `also`."""
    shared = _SHARED[kind, cause.kind]
    things = " or ".join(_THINGS[one.kind].format(one.name) for one in (cause, *also))
    just_these = ": each has just these nodes" if also else ""
    filled = {"name": cause.name, "count": len(nodes)}
    return Words(
        f"{len(nodes)} nodes {shared.together}: {names_of(nodes)}. They share {things}{just_these}.",
        shared.likely_cause.format(**filled),
        shared.next_check.format(**filled),
    )


def cautions_of(kind: FindingKind, cause: Cause) -> tuple[str, ...]:
    return _SHARED[kind, cause.kind].cautions


def names_of(nodes: Collection[str]) -> str:
    """The first few by name, and how many more."""
    ordered = sorted(nodes)
    shown, more = ordered[:NAMES_IN_A_SENTENCE], len(ordered) - NAMES_IN_A_SENTENCE
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")
