"""A broker's URL, taken apart once and checked: where it is, who we are, whether the way there is encrypted."""

from dataclasses import dataclass, field
from typing import Final
from urllib.parse import unquote, urlsplit

from hub.errors import InvalidError, Mistake

_DEFAULT_PORTS: Final = {"mqtt": 1883, "mqtts": 8883}


@dataclass(frozen=True, slots=True)
class BrokerAddress:
    """How the hub reaches a broker."""

    host: str
    port: int
    encrypted: bool
    user: str | None = None
    secret: str | None = field(default=None, repr=False)

    @property
    def public_url(self) -> str:
        """Without user and secret: what node credentials carry."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{'mqtts' if self.encrypted else 'mqtt'}://{host}:{self.port}"


def parse_broker_url(url: str) -> BrokerAddress:
    """`mqtt[s]://[user:secret@]host[:port]`; user and secret percent-encoded. Raises InvalidError naming the fault."""
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError as error:
        raise _refused(str(error)) from error
    if parts.scheme not in _DEFAULT_PORTS:
        raise _refused(f"it must start with mqtt:// or mqtts://, not {parts.scheme or 'nothing'}")
    if not parts.hostname:
        raise _refused("it names no host")
    if parts.path not in ("", "/") or parts.query or parts.fragment:
        raise _refused("nothing may follow the port")
    return BrokerAddress(
        host=parts.hostname,
        port=port or _DEFAULT_PORTS[parts.scheme],
        encrypted=parts.scheme == "mqtts",
        user=unquote(parts.username) if parts.username else None,
        secret=unquote(parts.password) if parts.password else None,
    )


def _refused(reason: str) -> InvalidError:
    # The URL may carry a secret: it is never repeated in a message.
    mistake = Mistake("broker", reason, "write it as mqtt[s]://user:secret@host:port, percent-encoding odd characters")
    return InvalidError(f"the broker's URL cannot be used: {reason}", [mistake])
