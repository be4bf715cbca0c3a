"""Ports of a rehearsal: chosen once and kept, since every board's credential names the broker's."""

import json
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from hub.broker.ports import usable_port
from hub.errors import UnavailableError
from hub.settings import Settings

_STEP = 10
_TRIED = 1_000


@dataclass(frozen=True, slots=True)
class Ports:
    """Where the hub and its broker listen, on loopback."""

    api: int
    broker: int


def lasting_ports(kept: Path) -> Ports:
    """The ports in the file `kept`; a new file gets the usual ones, or the next that are free."""
    if kept.exists():
        return Ports(**json.loads(kept.read_text()))
    usual = Settings(data_dir=kept.parent)
    ports = Ports(_free_port(usual.port), _free_port(usual.broker_port))
    kept.parent.mkdir(parents=True, exist_ok=True)
    kept.write_text(json.dumps(asdict(ports)))
    return ports


def _free_port(wanted: int) -> int:
    # Steps of our own and not the system's choice: its ports are those of outgoing connections, any of which may have
    # taken the port when the rehearsal comes up again.
    for port in range(wanted, wanted + _TRIED, _STEP):
        with suppress(UnavailableError):
            return usable_port("127.0.0.1", port, "--data")
    raise UnavailableError(f"no free port on 127.0.0.1 from {wanted} to {wanted + _TRIED}; stop what listens there")
