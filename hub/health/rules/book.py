"""Every rule by its kind, and who judges what."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Protocol, TypeVar

from hub.health.kinds import FindingKind
from hub.health.rule import Outcome, Rule
from hub.health.rules import (
    behind,
    clock_untrusted,
    clocks_apart,
    disk_full,
    disk_worn,
    double_identity,
    errors_logged,
    flapping,
    hot,
    hub_overrun,
    limited,
    lost_telemetry,
    memory_low,
    mixed_versions,
    overloaded,
    restarting,
    silent,
    skewed,
    slow,
    throttled,
    under_volted,
    unknown_node,
    weak_signal,
)
from hub.health.sight import NodeSight, StrangerSight, SupplySight, VenueSight

Sight_contra = TypeVar("Sight_contra", contravariant=True)


class Judgement(Protocol[Sight_contra]):
    """What is wrong with a subject; `open_now`: it is told already, so that the limit for its end holds."""

    def __call__(self, sight: Sight_contra, *, open_now: bool) -> Outcome: ...


_OF_NODES: Final = (
    silent,
    slow,
    behind,
    hot,
    under_volted,
    throttled,
    restarting,
    flapping,
    double_identity,
    skewed,
    clock_untrusted,
    clocks_apart,
    disk_full,
    disk_worn,
    memory_low,
    weak_signal,
    lost_telemetry,
    errors_logged,
)
_OF_SUPPLIES: Final = (overloaded, limited)

OF_NODES: Final[Mapping[FindingKind, Judgement[NodeSight]]] = MappingProxyType(
    {rule.RULE.kind: rule.judge for rule in _OF_NODES}
)
OF_SUPPLIES: Final[Mapping[FindingKind, Judgement[SupplySight]]] = MappingProxyType(
    {rule.RULE.kind: rule.judge for rule in _OF_SUPPLIES}
)
OF_STRANGERS: Final[Mapping[FindingKind, Judgement[StrangerSight]]] = MappingProxyType(
    {unknown_node.RULE.kind: unknown_node.judge}
)
OF_VENUES: Final[Mapping[FindingKind, Judgement[VenueSight]]] = MappingProxyType(
    {rule.RULE.kind: rule.judge for rule in (mixed_versions, hub_overrun)}
)
RULES: Final[Mapping[FindingKind, Rule]] = MappingProxyType(
    {rule.RULE.kind: rule.RULE for rule in (*_OF_NODES, *_OF_SUPPLIES, unknown_node, mixed_versions, hub_overrun)}
)
