"""A venue's events as a command reads them: server-sent events (WHATWG HTML, section 9.2)."""

import json
from collections.abc import Iterator
from typing import Any

from hub.cli.client import HubClient, path_of


def events_of(client: HubClient, venue: str) -> Iterator[tuple[str, dict[str, Any]] | None]:
    """Kind and data of each event as it comes; None at least every 15 s, so that the reader can end.

    The hub writes an event's data as one line.
    """
    with client.stream("GET", path_of("venues", venue, "events")) as chunks:
        kind = ""
        for line in _lines(chunks):
            name, _, value = line.partition(": ")
            if name == "event":
                kind = value
            elif name == "data":
                yield kind, json.loads(value)
            else:
                yield None


def _lines(chunks: Iterator[bytes]) -> Iterator[str]:
    held = b""
    for chunk in chunks:
        *whole, held = (held + chunk).split(b"\n")
        for line in whole:
            yield line.rstrip(b"\r").decode("utf-8", "replace")
