"""What the hub knows of a node and one of its runs at this moment. Pure: others gather it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from hub.desired.compile import pixel_types_of
from hub.health.cause import supply_of_board
from hub.health.kinds import FindingKind
from schemas import Channel, Feed, Node, PixelType, Reported, Run, Supply, Telemetry, Venue


@dataclass(frozen=True, slots=True)
class LowestVolts:
    """The darkest pixel of a run by the venue's network, and the volts at its last pixel."""

    volts: float
    at_pixel: int
    far_end_v: float


@dataclass(frozen=True, slots=True)
class OpenFinding:
    """A finding of the node that is open, in its words."""

    kind: FindingKind
    message: str


@dataclass(frozen=True, slots=True)
class Heard:
    """What the node said of itself, and when the hub last heard it, show time in seconds."""

    online: bool = False
    heard_at_s: float | None = None
    told: Telemetry | None = None
    reported: Reported | None = None


@dataclass(frozen=True)
class Knowledge:
    """`channel` is None until it is known which run it is about. `online` tells of every node of the venue."""

    venue: Venue
    node: Node
    channel: Channel | None = None
    heard: Heard = Heard()
    online: Mapping[str, bool] = field(default_factory=dict)
    lowest: LowestVolts | None = None
    """Of the run, as bright as the budget lets it be; None where no feed reaches it."""
    findings: Sequence[OpenFinding] = ()

    @property
    def run(self) -> Run | None:
        return None if self.channel is None else self.channel.run

    @cached_property
    def kind(self) -> PixelType | None:
        """Pixel type of the run."""
        return None if self.run is None else pixel_types_of(self.venue).get(self.run.pixel_type)

    @property
    def feeds(self) -> tuple[Feed, ...]:
        """Those of the run; without one, of every run of the node."""
        channels = self.node.channels if self.channel is None else (self.channel,)
        return tuple(feed for channel in channels for feed in channel.run.feeds)

    @property
    def supplies(self) -> tuple[Supply, ...]:
        """Those that feed the run, or every run of the node; of a board that is not heard its own comes first."""
        return tuple(self._supply[name] for name in self._supply_names if name in self._supply)

    @property
    def board_supply(self) -> str | None:
        """The supply that powers the board: as stated, or the one that feeds all of its runs."""
        return supply_of_board(self.node)

    @property
    def powered_alike(self) -> tuple[str, ...]:
        """Other nodes whose board hangs on the same supply."""
        shared = self.board_supply
        if shared is None:
            return ()
        return tuple(one.id for one in self.venue.nodes if one.id != self.node.id and supply_of_board(one) == shared)

    @property
    def switched_alike(self) -> tuple[str, ...]:
        """Other nodes on the same network switch or access point."""
        shared = self.node.network_switch
        if shared is None:
            return ()
        return tuple(one.id for one in self.venue.nodes if one.id != self.node.id and one.network_switch == shared)

    @property
    def silent(self) -> bool:
        """Whether the hub found that it is silent: after a start, or without a broker, it hears nobody for a while."""
        return any(one.kind is FindingKind.SILENT for one in self.findings)

    @property
    def limiter(self) -> tuple[str, float] | None:
        """The supply for which the node's limiter dims the most, among those of the run, and its scale."""
        told = () if self.heard.told is None or not self.heard.online else self.heard.told.supplies
        names = set(self._supply_names)
        dimmed = [(one.limiter_scale, one.supply) for one in told if one.supply in names]
        return (min(dimmed)[1], min(dimmed)[0]) if dimmed else None

    @cached_property
    def _supply(self) -> dict[str, Supply]:
        return {supply.id: supply for supply in self.venue.supplies}

    @property
    def _supply_names(self) -> tuple[str, ...]:
        names = [feed.supply for feed in self.feeds]
        about_the_board = self.channel is None or not self.heard.online
        if about_the_board and self.board_supply is not None:
            names.insert(0, self.board_supply)
        return tuple(dict.fromkeys(names))
