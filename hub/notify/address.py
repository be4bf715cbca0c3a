"""A destination's URL: whether it can be used, and what of it may be shown."""

import re
from typing import Final

import httpx

from hub.errors import InvalidError, Mistake
from hub.notify.apprise_sender import UnusableUrlError, apprise_service
from hub.notify.destination import DestinationKind

MAX_SHOWN: Final = 120
MAX_PORT: Final = 65_535


def check_url(kind: DestinationKind, url: str) -> None:
    """Raises InvalidError naming `body.url`. Nothing is sent."""
    # Not by its contract, whose errors quote what they refuse.
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9+.-]*://[\x21-\x7e]*", url):
        raise _unusable("it is no URL in ASCII without spaces", "write it as SCHEME://…, other characters as %XX")
    if kind is DestinationKind.APPRISE:
        try:
            apprise_service(url)
        except UnusableUrlError as error:
            raise InvalidError("the destination's URL cannot be used", [error.mistake]) from error
        return
    try:
        parsed = httpx.URL(url)
    except httpx.InvalidURL as error:
        raise _unusable("it is no URL", "write it as https://HOST/PATH") from error
    if parsed.scheme not in ("http", "https") or not parsed.host:
        raise _unusable(
            f"a {kind.value} is sent by HTTP, and this is no http:// or https:// URL with a host",
            "write it as https://HOST/PATH; for mail, chat and the rest choose the kind apprise",
        )
    if parsed.port is not None and not 0 < parsed.port <= MAX_PORT:
        raise _unusable(f"{parsed.port} is no port", "leave it out, or write one from 1 to 65535")
    if parsed.userinfo or parsed.fragment:
        raise _unusable("it holds a user or a fragment", "put what the receiver knows you by into path or query")


def shown_address(url: str) -> str:
    """The URL without anything that could be a secret: scheme and host by HTTP, the scheme alone otherwise."""
    scheme, _, rest = url.partition("://")
    if scheme.lower() not in ("http", "https"):
        return f"{scheme.lower()}://…"[:MAX_SHOWN]
    return f"{scheme.lower()}://{httpx.URL(url).netloc.decode()[: MAX_SHOWN - 20]}/…" if rest else "…"


def _unusable(reason: str, remedy: str) -> InvalidError:
    return InvalidError("the destination's URL cannot be used", [Mistake("body.url", reason, remedy)])
