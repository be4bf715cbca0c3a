"""The one interface of every way out of the board, and the family of its errors."""

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class WireFrame:
    """One frame of one channel as it goes onto the data line, reset included; of which show time and revision."""

    data: bytes | memoryview
    show_time_s: float
    revision: int | None


class Output(Protocol):
    """Where a channel's frames go. One thread at a time uses it."""

    def send(self, frame: WireFrame) -> None:
        """Puts a frame out; on real hardware it blocks for the wire time. Raises OutputError when it cannot."""
        ...

    def close(self) -> None:
        """Lets the way out go. The pixels keep what they were sent last; closing twice is harmless."""
        ...


class OutputError(Exception):
    """A way out that does not work. `field` names the setting at fault, `remedy` what to do about it."""

    def __init__(self, field: str, reason: str, remedy: str) -> None:
        super().__init__(f"{field}: {reason}; {remedy}")
        self.field, self.reason, self.remedy = field, reason, remedy
