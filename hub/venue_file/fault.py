"""A mistake before it has a line: where it stands in the venue, what is wrong, what to do."""

from dataclasses import dataclass, field

from hub.errors import Mistake
from hub.validation import field_name

Where = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a venue. `where` leads to it: `("nodes", 3, "channels", 0, "pin")`."""

    where: Where
    reason: str
    remedy: str

    def mistake(self, line: int | None = None) -> Mistake:
        return Mistake(field_name(self.where), self.reason, self.remedy, line)


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Ids of items whose own mistakes keep them out of the venue: a reference to one of them is not judged."""

    supplies: frozenset[str] = field(default=frozenset())
    nodes: frozenset[str] = field(default=frozenset())
    zones: frozenset[str] = field(default=frozenset())
    scenes: frozenset[str] = field(default=frozenset())
    pixel_types: frozenset[str] = field(default=frozenset())
