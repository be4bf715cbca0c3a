"""What stands in the audit's document: one overview, one sheet a supply, all drawn. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from markupsafe import Markup

from hub.audit.document.figures_chart import figures_chart
from hub.audit.document.volts_chart import volts_chart
from hub.audit.figures import Verdict
from hub.audit.service import Examined
from hub.audit.view import Audit, SupplyAudit
from hub.audit.wiring_view import Note, RunAudit, Wiring
from hub.electrical.class_2 import SOURCE as CLASS_2_SOURCE
from hub.electrical.class_2 import class_2_limit
from hub.electrical.levels import Level
from hub.errors import NotFoundError
from schemas import Supply, Venue

SEEN_A: Final = 0.005
"""A difference in amps that the sheet's figures show."""


@dataclass(frozen=True, slots=True, eq=False)
class RunOnSheet:
    """A run with its chart, and those notes on it that concern the sheet's supply.

    `negative_more`: number and amps of each feed whose negative conductor carries more than its positive one.
    """

    run: RunAudit
    chart: Markup
    notes: list[Note]
    negative_more: list[tuple[int, float]]


@dataclass(frozen=True, slots=True, eq=False)
class SupplySheet:
    """One supply: its figures drawn, its place in Class 2 in words, and every run that it feeds."""

    audit: SupplyAudit
    supply: Supply
    chart: Markup
    class_2: str
    runs: list[RunOnSheet]


@dataclass(frozen=True, slots=True, eq=False)
class AuditDocument:
    """All that the page's template shows. `only` names the supply where the document is of that one alone."""

    venue: Venue
    audit: Audit
    revision: int | None
    scene_title: str | None
    made_at: datetime
    version: str
    only: str | None
    overview: list[SupplyAudit]
    """Faults first, then what wants attention, then the rest in the venue's order."""
    sheets: list[SupplySheet]


def audit_document(examined: Examined, made_at: datetime, version: str, only: str | None = None) -> AuditDocument:
    """The document of a venue, or of its supply `only`. Raises NotFoundError for a supply that is not there."""
    audit, venue = examined.audit, examined.standing.venue
    if only is not None and all(one.supply != only for one in audit.supplies):
        raise NotFoundError("supply", only)
    scene = next((one.title for one in venue.scenes if one.id == audit.scene), audit.scene)
    return AuditDocument(
        venue=venue,
        audit=audit,
        revision=examined.revision,
        scene_title=scene,
        made_at=made_at,
        version=version,
        only=only,
        overview=sorted(audit.supplies, key=_urgency),
        sheets=_sheets(examined, only),
    )


def drawings(audit: Audit, only: str | None) -> int:
    """How many drawings the document would hold, by which its size and the time to make it go."""
    on_sheets = (supply for run in audit.runs for supply in {feed.supply for feed in run.feeds})
    if only is not None:
        return 1 + sum(supply == only for supply in on_sheets)
    return len(audit.supplies) + sum(1 for _ in on_sheets)


def class_2_words(supply: Supply) -> str:
    """Where a supply's nameplate stands to the Class 2 limit."""
    limit = class_2_limit(supply.volts)
    nameplate = f"{supply.volts:g} V × {supply.rated_a:g} A = {supply.volts * supply.rated_a:.0f} W"
    if limit is None:
        return f"{nameplate}: above the volts for which Class 2 has a limit ({CLASS_2_SOURCE})."
    bounds = f"{limit.rated_a:.3g} A and {limit.rated_w:.0f} W at {supply.volts:g} V ({CLASS_2_SOURCE})"
    if supply.rated_a <= limit.rated_a:
        return f"{nameplate}: within the Class 2 limit of {bounds}. Whether it is Class 2 its label says."
    return f"{nameplate}: above the Class 2 limit of {bounds}. Its wiring needs fuses and is not Class 2."


def _urgency(supply: SupplyAudit) -> int:
    if supply.verdict is Verdict.OVERLOADED or supply.wiring is Wiring.FAULT:
        return 0
    return 1 if supply.wiring is Wiring.ATTENTION else 2


def _sheets(examined: Examined, only: str | None) -> list[SupplySheet]:
    audit, venue = examined.audit, examined.standing.venue
    places: dict[str, list[int]] = {}
    for place, run in enumerate(audit.runs):
        for supply in dict.fromkeys(feed.supply for feed in run.feeds):
            places.setdefault(supply, []).append(place)
    notes: dict[tuple[str, int], list[Note]] = {}
    for note in audit.notes:
        notes.setdefault((note.node, note.channel), []).append(note)
    stated = {supply.id: supply for supply in venue.supplies}
    return [
        SupplySheet(
            audit=one,
            supply=stated[one.supply],
            chart=figures_chart(one, audit.scene),
            class_2=class_2_words(stated[one.supply]),
            runs=list(_runs_on_sheet(examined, one, places.get(one.supply, ()), notes)),
        )
        for one in audit.supplies
        if only is None or one.supply == only
    ]


def _runs_on_sheet(
    examined: Examined, supply: SupplyAudit, places: Sequence[int], notes: dict[tuple[str, int], list[Note]]
) -> Iterable[RunOnSheet]:
    for place in places:
        run = examined.audit.runs[place]
        volts = {level: examined.standing.solutions[level].ladders[place].volts for level in Level}
        yield RunOnSheet(
            run=run,
            chart=volts_chart(run, supply.volts, volts),
            notes=[note for note in notes.get((run.node, run.channel), ()) if supply.supply in note.supplies],
            negative_more=[
                (number, feed.loaded_a)
                for number, feed in enumerate(run.feeds, start=1)
                if feed.loaded_a - abs(feed.under_budget_a) > SEEN_A
            ],
        )
