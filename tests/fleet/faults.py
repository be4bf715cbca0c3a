"""Faults to put into a simulated fleet: what is done to a board, and what the hub must find."""

from collections.abc import Callable
from dataclasses import dataclass, field

from hub.health.kinds import FindingKind
from tests.fleet.board import SimulatedBoard
from tests.fleet.hub import SimulatedFleet
from tests.fleet.venue import RATED_A

RESTARTS = 4
RESTART_EVERY_S = 90.0
BREAKS = 6
BREAK_EVERY_S = 60.0


@dataclass(frozen=True)
class Injected:
    """A fault put into `subject` at `at_s`, of which the hub must tell by one finding of `kind`."""

    what: str
    kind: FindingKind
    subject: str
    at_s: float


@dataclass
class Faults:
    """Puts faults into boards of `fleet`, a board each, and remembers them."""

    fleet: SimulatedFleet
    injected: list[Injected] = field(default_factory=list)

    def inject(self, what: str, board: SimulatedBoard) -> Injected:
        kind, do = FAULTS[what]
        do(self.fleet, board)
        subject = board.supply if kind in (FindingKind.OVERLOADED, FindingKind.LIMITED) else board.node
        one = Injected(what, kind, subject, self.fleet.agenda.now_s)
        self.injected.append(one)
        return one


def _lose_power(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    board.lose_power()


def _hang(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    board.hang()


def _overload(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    """Its limiter fails: it alone draws more than the supply's budget."""
    board.supply_figures |= {"amps": RATED_A, "highest_a": RATED_A, "wanted_a": RATED_A}


def _slow(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    board.figures |= {"frame_rate_hz": 41.0}


def _fall_behind(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    """Its agent comes back with an older revision and takes no newer one."""
    board.showing = 7
    board.restart("restart")


def _heat(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    board.figures |= {"temperature_c": 91.0}


def _sag(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    board.board |= {"under_voltage": True}


def _restart_again_and_again(fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    """Its agent fails and is started again, four times."""
    for number in range(RESTARTS):
        fleet.agenda.after(number * RESTART_EVERY_S, lambda: board.restart("crash"))


def _flap(fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    """Its cable is loose."""
    for number in range(BREAKS):
        fleet.agenda.after(number * BREAK_EVERY_S, board.break_off)


def _fill_disk(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    board.board |= {"disk_free_share": 0.004}


def _lose_telemetry(_fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    board.loss_share = 0.2


def _double(fleet: SimulatedFleet, board: SimulatedBoard) -> None:
    """A second board with the same credential: whoever connects throws the other out, who comes back."""
    number = fleet.boards.index(board)
    SimulatedBoard(number, fleet.agenda, fleet.broker, seed=number).start()


FAULTS: dict[str, tuple[FindingKind, Callable[[SimulatedFleet, SimulatedBoard], None]]] = {
    "power lost": (FindingKind.SILENT, _lose_power),
    "hangs": (FindingKind.SILENT, _hang),
    "draws too much": (FindingKind.OVERLOADED, _overload),
    "too slow": (FindingKind.SLOW, _slow),
    "keeps an older revision": (FindingKind.BEHIND, _fall_behind),
    "too hot": (FindingKind.HOT, _heat),
    "board's volts sag": (FindingKind.UNDER_VOLTED, _sag),
    "restarts again and again": (FindingKind.RESTARTING, _restart_again_and_again),
    "loose cable": (FindingKind.FLAPPING, _flap),
    "disk full": (FindingKind.DISK_FULL, _fill_disk),
    "loses a fifth of its telemetry": (FindingKind.LOST_TELEMETRY, _lose_telemetry),
    "two boards with one credential": (FindingKind.DOUBLE_IDENTITY, _double),
}
