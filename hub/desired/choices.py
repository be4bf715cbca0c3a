"""What is chosen to show on a venue's nodes: a scene with its moment, nodes that show another, and the timed takes."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from schemas import TimedTake


@dataclass(frozen=True, slots=True)
class Chosen:
    """A scene (None is darkness) and the show time at which it was chosen: timed takes up to then no longer count.

    `opened_ms` where nobody chose it: a new venue's opening scene, and when the venue opened in it.
    """

    scene: str | None
    since_ms: int = 0
    opened_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Choices:
    """`apart` holds the nodes that do not follow `common`, until the next timed take brings all together."""

    common: Chosen
    apart: Mapping[str, Chosen] = field(default_factory=dict)
    timetable: tuple[TimedTake, ...] = ()

    def of(self, node: str) -> Chosen:
        return self.apart.get(node, self.common)

    def scenes(self) -> Iterator[str]:
        """Ids of every scene that is named, some more than once."""
        chosen = (one.scene for one in (self.common, *self.apart.values()))
        yield from (scene for scene in (*chosen, *(take.scene for take in self.timetable)) if scene is not None)
