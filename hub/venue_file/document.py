"""A file that was parsed: plain values, the line of each, and what was wrong but could be read over."""

from dataclasses import dataclass, field
from typing import Any, Final

from hub.errors import Mistake
from hub.venue_file.fault import Where

MAX_DEPTH: Final = 32


@dataclass(slots=True)
class Lines:
    """Where a value starts, and where its parts start. Lines count from 1."""

    line: int
    parts: dict[str | int, "Lines"] = field(default_factory=dict)

    def of(self, location: Where) -> int:
        """Line of the value at `location`; of the nearest value around it where there is none."""
        place = self
        for part in location:
            found = place.parts.get(part)
            if found is None:
                break
            place = found
        return place.line


@dataclass(frozen=True, slots=True)
class Document:
    """Plain values (dict, list, text, numbers, None), their lines (YAML has them), and what was wrong but readable."""

    value: Any
    lines: Lines | None
    mistakes: tuple[Mistake, ...]

    def line_of(self, where: Where) -> int | None:
        return None if self.lines is None else self.lines.of(where)
