"""Planned work as the API takes and shows it."""

import json
from collections.abc import Container, Iterator
from typing import Annotated, Final

from pydantic import BaseModel, Field

from hub.errors import InvalidError, Mistake
from hub.health.kinds import FindingKind
from hub.health.models import Mute
from schemas import Venue
from schemas.contract import Contract, Id, ShowTimeMs, Title

MAX_NAMES: Final = 500
LONGEST_MS: Final = 366 * 86_400_000

Names = Annotated[tuple[Id, ...], Field(max_length=MAX_NAMES)]


class MuteRequest(Contract):
    """Planned work: what it covers is told to nobody while it lasts. Nodes and zones add up; none of both is all."""

    nodes: Names = ()
    zones: Annotated[Names, Field(description="Every node with pixels in one of these zones.")] = ()
    kinds: Annotated[
        tuple[FindingKind, ...], Field(max_length=len(FindingKind), description="Only these kinds; none is all.")
    ] = ()
    from_ms: Annotated[ShowTimeMs | None, Field(description="Null is now.")] = None
    until_ms: ShowTimeMs
    reason: Annotated[Title, Field(description="What is being done, for whoever wonders at the quiet.")]

    def check(self, venue: Venue, now_ms: int) -> None:
        """Raises InvalidError with every mistake that the contract alone cannot see."""
        mistakes = [*self._mistakes(venue, now_ms)]
        if mistakes:
            raise InvalidError("the planned work cannot be taken as it stands", mistakes)

    def _mistakes(self, venue: Venue, now_ms: int) -> Iterator[Mistake]:
        yield from _unknown("nodes", "node", self.nodes, {node.id for node in venue.nodes})
        yield from _unknown("zones", "zone", self.zones, {zone.id for zone in venue.zones})
        from_ms = now_ms if self.from_ms is None else self.from_ms
        if self.until_ms <= now_ms:
            yield Mistake("until_ms", "the work would be over already", "send a later time")
        elif self.until_ms <= from_ms:
            yield Mistake("until_ms", "the work would end before it begins", "send a time after `from_ms`")
        if self.until_ms - now_ms > LONGEST_MS:
            yield Mistake("until_ms", "more than a year ahead", "plan the work nearer to its time")


class MuteView(BaseModel):
    """Planned work. Over once `until_ms` has passed or somebody lifted it; times are show time, ms."""

    id: str
    nodes: list[Id]
    zones: list[Id]
    kinds: list[FindingKind]
    from_ms: int
    until_ms: int
    reason: str
    made_at_ms: int
    made_by: str | None = Field(description="Null where the token had no name.")
    lifted_at_ms: int | None
    lifted_by: str | None


def mute_view_of(mute: Mute) -> MuteView:
    return MuteView(
        id=str(mute.id),
        nodes=json.loads(mute.nodes),
        zones=json.loads(mute.zones),
        kinds=json.loads(mute.kinds),
        from_ms=mute.from_ms,
        until_ms=mute.until_ms,
        reason=mute.reason,
        made_at_ms=mute.made_at_ms,
        made_by=mute.made_by,
        lifted_at_ms=mute.lifted_at_ms,
        lifted_by=mute.lifted_by,
    )


def _unknown(field: str, noun: str, names: tuple[str, ...], known: Container[str]) -> Iterator[Mistake]:
    for place, name in enumerate(names):
        if name not in known:
            yield Mistake(f"{field}.{place}", f"the venue has no {noun} {name!r}", f"name one of the venue's {noun}s")
