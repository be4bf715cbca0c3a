"""A venue in miniature around the real ledger and the real rules of nodes: boards that die at any point, a network that
loses, repeats, delays and reorders, a hub that is killed before and after it saves or publishes."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from hub.budgets.entry import Entry, budgets_of
from hub.budgets.ledger import Demand, Ledger, Step
from hub.desired.budgets import Load
from node_agent.grants import Grants
from node_agent.rejections import Rejections
from schemas import Grant, GrantHeld

VENUE = "arcade"
NODES = ("a", "b", "c")
SUPPLIES = ("s", "t")
LINES = 2
WIRINGS: tuple[Mapping[str, Mapping[str, Load]], ...] = (
    {"s": {"a": Load(6_000_000, 150_000), "b": Load(3_000_000, 75_000), "c": Load(3_000_000, 75_000)}},
    {"s": {"a": Load(6_000_000, 150_000), "b": Load(3_000_000, 75_000)}, "t": {"c": Load(3_000_000, 75_000)}},
    {"s": {"b": Load(9_000_000, 200_000)}, "t": {"a": Load(3_000_000, 75_000), "c": Load(1_000_000, 25_000)}},
    {"s": {"a": Load(1_000_000, 25_000), "c": Load(9_000_000, 75_000)}, "t": {"b": Load(6_000_000, 75_000)}},
    {"s": {"c": Load(3_000_000, 75_000)}},
)


@dataclass
class Disk:
    """What survives a board's death. `fails` as a full disk does."""

    grant: Grant | None = None

    def keep_grant(self, grant: Grant) -> None:
        self.grant = grant


class Died(Exception):  # noqa: N818 nothing is wrong: the power went
    """The power went at this point."""


@dataclass
class Lines:
    """Which grant the last frame of each data line was limited by; pixels hold it, whatever becomes of the board."""

    held: list[Grant | None] = field(default_factory=lambda: [None] * LINES)

    def ma(self, supply: str) -> int:
        return max(_ma(grant, supply) for grant in self.held)


class Board:
    """One node's board and its pixels."""

    grants_of: type[Grants] = Grants

    def __init__(self, node: str) -> None:
        self.node = node
        self.disk = Disk()
        self.lines = Lines()
        self.boot_id = ""
        self.grants: Grants | None = None
        self._obeyed: Grant | None = None
        self._dies_after_keeping = False

    def start(self, boot_id: str) -> None:
        self.boot_id, self._obeyed = boot_id, None
        self.grants = self.grants_of(VENUE, self.node, boot_id, self.disk, self._obey, Rejections())
        self.grants.restore()

    def die(self) -> None:
        self.grants = None

    def hear(self, payload: bytes, *, dies: bool) -> None:
        """`dies`: once the grant is kept, before it is obeyed."""
        if self.grants is None:
            return
        self._dies_after_keeping = dies
        try:
            self.grants.receive(payload)
        except Died:
            self.die()
        self._dies_after_keeping = False

    def send(self, line: int) -> None:
        """A frame on one line; where that was the last one missing, the grant is on the wires."""
        if self.grants is None:
            return
        self.lines.held[line] = self._obeyed
        numbers = {grant.number if grant else 0 for grant in self.lines.held}
        if len(numbers) == 1 and self._obeyed is not None:
            self.grants.reached_wires(self._obeyed.number)

    def report(self) -> "Report | None":
        return None if self.grants is None else Report(self.node, self.boot_id, self.grants.held)

    def _obey(self, grant: Grant) -> None:
        if self._dies_after_keeping:
            raise Died
        self._obeyed = grant


@dataclass(frozen=True)
class Report:
    node: str
    boot_id: str
    held: GrantHeld | None


@dataclass
class Database:
    """What the hub has saved."""

    entries: dict[str, Entry] = field(default_factory=dict)
    doubted: bool = False

    def save(self, step: Step) -> None:
        self.entries |= step.entries
        if step.doubted is not None:
            self.doubted = step.doubted


class World:
    """`bound_ma` is what each supply may carry: its budget, or what was already reserved when that was lowered."""

    ledger_of: type[Ledger] = Ledger
    board_of: type[Board] = Board

    def __init__(self) -> None:
        self.now_s = 1_000.0
        self.boots = 0
        self.database = Database()
        self.boards = {node: self.board_of(node) for node in NODES}
        self.grants: dict[str, list[bytes]] = {node: [] for node in NODES}
        self.reports: list[Report] = []
        self.shown = dict.fromkeys(NODES, True)
        self.whole_ma = {"s": 8_000, "t": 4_000}
        self.by_need = dict.fromkeys(SUPPLIES, False)
        self.wiring = WIRINGS[0]
        self.members: tuple[str, ...] = NODES
        self.bound_ma = dict(self.whole_ma)
        self.ledger = self.ledger_of()
        self.set_demands()

    def boot(self, node: str) -> None:
        self.boots += 1
        self.boards[node].start(f"{self.boots:08x}")

    def set_demands(self) -> None:
        loads = {s: {n: load for n, load in nodes.items() if n in self.members} for s, nodes in self.wiring.items()}
        demands = {s: Demand(self.whole_ma[s], self.by_need[s], nodes) for s, nodes in loads.items()}
        self.ledger.set_demands(demands, self.members)
        for supply in SUPPLIES:
            self.bound_ma[supply] = max(self.whole_ma[supply], self.committed_ma(supply), self.drawn_ma(supply))

    def step(self, *, dies: str = "") -> None:
        """One turn of the hub, which may die before saving, before accepting, or in the middle of publishing."""
        step = self.ledger.step(self.now_s, lambda node: self.shown[node], most=5)
        if dies == "before saving":
            self.restart_hub()
            return
        self.database.save(step)
        if dies == "after saving":
            self.restart_hub()
            return
        self.ledger.accept(step, self.now_s)
        for node in [*step.issued, *self.ledger.repeats(self.now_s, 5)]:
            self.publish(node)
            if dies == "while publishing":
                self.restart_hub()
                return
        self.tighten()

    def publish(self, node: str) -> None:
        entry = self.ledger.entries[node]
        grant = Grant(
            venue=VENUE, node=node, number=entry.number, boot_id=entry.boot_id, supplies=budgets_of(entry.granted)
        )
        self.grants[node].append(grant.model_dump_json().encode())

    def restart_hub(self) -> None:
        self.ledger = self.ledger_of(entries=dict(self.database.entries), doubted=self.database.doubted)
        self.set_demands()

    def hear(self, report: Report, *, online: bool = True) -> None:
        self.ledger.heard(report.node, report.boot_id, report.held, online=online)

    def committed_ma(self, supply: str) -> int:
        return sum(self.ledger.committed_ma(supply, node) for node in NODES)

    def drawn_ma(self, supply: str) -> int:
        """What the wires may draw: each node's limit, and the idle current of its pixels in any case."""
        demand = self.ledger.demands.get(supply)
        return sum(
            max(board.lines.ma(supply), _idle_ma(demand.loads.get(node) if demand else None))
            for node, board in self.boards.items()
        )

    def tighten(self) -> None:
        """What was over the budget when that was lowered may stay over it, and never rise again."""
        for supply in SUPPLIES:
            self.bound_ma[supply] = max(self.whole_ma[supply], min(self.bound_ma[supply], self.committed_ma(supply)))

    def heal(self, rounds: int = 40) -> None:
        """Everybody is on, and everything arrives: what must come out in the end comes out within some turns."""
        for node, board in self.boards.items():
            if board.grants is None:
                self.boot(node)
        for _ in range(rounds):
            self.now_s += 11.0
            for node, board in self.boards.items():
                for payload in self.grants[node]:
                    board.hear(payload, dies=False)
                self.grants[node].clear()
                for line in range(LINES):
                    board.send(line)
                report = board.report()
                assert report is not None
                self.hear(report)
                self.check()
            for _ in range(2):
                self.step()
            self.check()

    def check(self) -> None:
        for supply in SUPPLIES:
            drawn, bound = self.drawn_ma(supply), self.bound_ma[supply]
            assert drawn <= bound, f"supply {supply} carries {drawn} mA of {bound} mA"


def _ma(grant: Grant | None, supply: str) -> int:
    if grant is None:
        return 0
    return sum(round(one.budget_a * 1_000) for one in grant.supplies if one.supply == supply)


def _idle_ma(load: Load | None) -> int:
    return 0 if load is None else -(-load.idle_ua // 1_000)
