"""How many errors the agent has logged."""

import logging
from typing import Final

_AGENT: Final = logging.getLogger("node_agent")


class LoggedErrors(logging.Handler):
    """Counts from `begin` to `end`, on whatever thread they are logged."""

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.count = 0

    def begin(self) -> None:
        _AGENT.addHandler(self)

    def end(self) -> None:
        _AGENT.removeHandler(self)

    def emit(self, record: logging.LogRecord) -> None:  # noqa: ARG002 that it came is all
        self.count += 1
