"""Every rule by its kind, and who judges what."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Protocol

from hub.health.kinds import FindingKind
from hub.health.rule import Outcome, Rule
from hub.health.rules import behind, clock_untrusted, clocks_apart, overloaded, silent, skewed, slow
from hub.health.sight import NodeSight, SupplySight


class NodeJudgement(Protocol):
    """What is wrong with a node; `open_now`: it is told already, so that the limit for its end holds."""

    def __call__(self, sight: NodeSight, *, open_now: bool) -> Outcome: ...


class SupplyJudgement(Protocol):
    """The same of a supply."""

    def __call__(self, sight: SupplySight, *, open_now: bool) -> Outcome: ...


_OF_NODES: Final = (silent, slow, behind, skewed, clock_untrusted, clocks_apart)
_OF_SUPPLIES: Final = (overloaded,)

NODE_JUDGEMENTS: Final[Mapping[FindingKind, NodeJudgement]] = MappingProxyType(
    {rule.RULE.kind: rule.judge for rule in _OF_NODES}
)
SUPPLY_JUDGEMENTS: Final[Mapping[FindingKind, SupplyJudgement]] = MappingProxyType(
    {rule.RULE.kind: rule.judge for rule in _OF_SUPPLIES}
)
RULES: Final[Mapping[FindingKind, Rule]] = MappingProxyType(
    {rule.RULE.kind: rule.RULE for rule in (*_OF_NODES, *_OF_SUPPLIES)}
)
