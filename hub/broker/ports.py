"""Choosing and checking ports before a server is started on them."""

import errno
import socket

from hub.errors import UnavailableError


def usable_port(host: str, port: int, option: str) -> int:
    """`port`, or a free one for 0. Raises UnavailableError naming `option` as the remedy when it cannot be had."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
    except socket.gaierror as error:
        raise UnavailableError(f"{host!r} is no address of this machine ({error.strerror})") from error
    family, kind, protocol, _, address = found[0]
    with socket.socket(family, kind, protocol) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(address)
        except OSError as error:
            why = "is in use" if error.errno == errno.EADDRINUSE else f"cannot be had ({error.strerror})"
            raise UnavailableError(
                f"port {port} of {host} {why}; stop what listens there, or choose another with {option}"
            ) from error
        return int(probe.getsockname()[1])
