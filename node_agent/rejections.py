"""Messages that were refused as malformed: each is counted, each kind is logged once."""

import logging
from typing import Final

_KINDS_REMEMBERED: Final = 64

_log = logging.getLogger(__name__)


class Rejections:
    """`count` since the agent started."""

    def __init__(self) -> None:
        self.count = 0
        self._kinds: set[str] = set()

    def add(self, kind: str) -> None:
        """`kind` comes from our own code, never from a message."""
        self.count += 1
        if kind not in self._kinds and len(self._kinds) < _KINDS_REMEMBERED:
            self._kinds.add(kind)
            _log.warning("refused a message (%s); more of this kind are only counted", kind)
