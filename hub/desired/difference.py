"""What would change on a node: two desired bodies compared, told as a person reads it. Pure."""

from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

from schemas import DesiredBody, DesiredChannel, TimedTake

MAX_TOLD: Final = 8
"""Of each kind; what is more is counted."""


class BodyDifference(NamedTuple):
    """Lines in words, none where nothing differs."""

    wiring: tuple[str, ...]
    budgets: tuple[str, ...]
    scenes: tuple[str, ...]
    timetable: tuple[str, ...]


def body_difference(before: DesiredBody | None, after: DesiredBody, from_ms: int) -> BodyDifference:
    """From what a node holds to what it would hold; `before` is None where it holds nothing. Timed takes that are past
    at `from_ms` do not count, nor does how far each document reaches: a refresh moves that every day."""
    if before is None:
        pixels = sum(channel.pixels for channel in after.channels)
        wiring = f"new to the rollouts: {len(after.channels)} channels, {pixels} pixels"
        return BodyDifference((wiring,), (), (f"{len(after.scenes)} scenes",), ())
    return BodyDifference(
        _told(_wiring(before, after)),
        _told(_budgets(before, after)),
        _told(_scenes(before, after)),
        _told(_timetable(before.timetable, after.timetable, from_ms)),
    )


def _told(lines: Iterator[str]) -> tuple[str, ...]:
    every = tuple(lines)
    return every if len(every) <= MAX_TOLD else (*every[:MAX_TOLD], f"and {len(every) - MAX_TOLD} more")


def _wiring(before: DesiredBody, after: DesiredBody) -> Iterator[str]:
    old = {channel.number: channel for channel in before.channels}
    new = {channel.number: channel for channel in after.channels}
    for number in sorted(old.keys() | new.keys()):
        if number not in new:
            yield f"channel {number} is no longer used"
        elif number not in old:
            yield f"channel {number} is new: {new[number].pixels} pixels of {new[number].pixel_type.key}"
        elif old[number] != new[number]:
            yield f"channel {number}: {', '.join(_channel(old[number], new[number]))}"
    if before.frame_rate_limit_hz != after.frame_rate_limit_hz:
        yield f"frame rate limit {_hertz(before.frame_rate_limit_hz)} -> {_hertz(after.frame_rate_limit_hz)}"


def _channel(old: DesiredChannel, new: DesiredChannel) -> Iterator[str]:
    if old.pixels != new.pixels:
        yield f"pixels {old.pixels} -> {new.pixels}"
    if old.pixel_type.key != new.pixel_type.key:
        yield f"pixel type {old.pixel_type.key} -> {new.pixel_type.key}"
    elif old.pixel_type != new.pixel_type:
        yield f"figures of pixel type {new.pixel_type.key}"
    if old.pin != new.pin:
        yield f"pin {old.pin} -> {new.pin}"
    for field, words in _CHANNEL_FIELDS.items():
        if getattr(old, field) != getattr(new, field):
            yield words


_CHANNEL_FIELDS: Final[Mapping[str, str]] = {
    "feeds": "feeds",
    "positive_cut_before": "cuts in the positive rail",
    "white_balance": "white balance",
    "white_emitter_k": "colour of the white emitter",
    "trims": "trims of zones",
}


def _hertz(limit_hz: float | None) -> str:
    return "none" if limit_hz is None else f"{limit_hz:g} Hz"


def _budgets(before: DesiredBody, after: DesiredBody) -> Iterator[str]:
    old = {budget.supply: budget.budget_a for budget in before.budgets}
    new = {budget.supply: budget.budget_a for budget in after.budgets}
    for supply in sorted(old.keys() | new.keys()):
        if supply not in new:
            yield f"supply {supply} no longer feeds it"
        elif supply not in old:
            yield f"supply {supply} feeds it now, {new[supply]:g} A for all that hangs on it"
        elif old[supply] != new[supply]:
            yield f"supply {supply}: {old[supply]:g} A -> {new[supply]:g} A for all that hangs on it"


def _scenes(before: DesiredBody, after: DesiredBody) -> Iterator[str]:
    old = {scene.id: scene for scene in before.scenes}
    new = {scene.id: scene for scene in after.scenes}
    yield from (f"scene {name} is new" for name in new if name not in old)
    yield from (f"scene {name} is gone" for name in old if name not in new)
    yield from (f"scene {name} is changed" for name in new if name in old and old[name].layers != new[name].layers)
    old_zones, new_zones = {zone.id: zone for zone in before.zones}, {zone.id: zone for zone in after.zones}
    for name in sorted(old_zones.keys() | new_zones.keys()):
        if old_zones.get(name) != new_zones.get(name):
            yield f"its part of zone {name} is changed"
    if before.master_level != after.master_level:
        yield f"master level {before.master_level:g} -> {after.master_level:g}"


def _timetable(before: tuple[TimedTake, ...], after: tuple[TimedTake, ...], from_ms: int) -> Iterator[str]:
    old = {take.at_ms: take for take in before if take.at_ms > from_ms}
    new = {take.at_ms: take for take in after if take.at_ms > from_ms}
    if not old or not new:
        if old or new:
            yield f"timed takes: {len(old)} -> {len(new)}"
        return
    reach_ms = min(max(old), max(new))
    differing = [
        at_ms for at_ms in sorted(old.keys() | new.keys()) if at_ms <= reach_ms and old.get(at_ms) != new.get(at_ms)
    ]
    if differing:
        yield f"timed takes: {len(differing)} differ"
