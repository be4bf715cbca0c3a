"""Under which address boards reach a broker that is bound to every address of this machine."""

import ipaddress
import socket
from typing import Final

_PROBE: Final = ("192.0.2.1", 9)  # TEST-NET-1 (RFC 5737): asked for the route there, nothing is sent


def is_loopback(host: str) -> bool:
    """Whether nothing but this machine can reach `host`."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def address_for_boards(host: str) -> str:
    """`host`, or this machine's own address in the network where `host` stands for every address."""
    if host not in ("0.0.0.0", "::", ""):  # noqa: S104 (compared, not bound)
        return host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_PROBE)
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])
