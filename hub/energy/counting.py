"""What a board's counter of charge says that was not counted yet, or why it is not believed. Pure.

A board counts amp-hours from its agent's start, so a message that was lost loses nothing: the next one's counter holds
its charge too. Everything it says is hostile until it is physically possible. What is not believed leaves the counter
where it was, so that a later message, with more time passed, brings the charge after all.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from hub.energy.models import MAX_ENDED_BOOTS

# What a node may draw over the supply's rating, and how much sooner than it was drawn it may seem to be told.
MARGIN: Final = 1.25
# A node never heard before is believed back to its start, but no further than this: what was before, was not ours.
FIRST_HEARD_S: Final = 86_400.0
LONGEST_S: Final = 3 * 366 * 86_400.0


class Disbelief(StrEnum):
    """Why a counter is not believed."""

    ENDED_BOOT = "ended-boot"
    BACKWARDS = "backwards"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True, slots=True)
class Told:
    """What one message says of one supply: amp-hours and seconds since the agent's start; heard at, show time."""

    boot_id: str
    charge_ah: float
    uptime_s: float
    heard_at_s: float


@dataclass(frozen=True, slots=True)
class Counter:
    """What a node told last that was believed. Boots in `ended` were followed by another and count no more."""

    told: Told
    ended: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Counted:
    """The counter from now on, the charge that is new, and the hours, up to when it was told, in which it was drawn."""

    counter: Counter
    amp_h: float = 0.0
    hours: float = 0.0


def count(before: Counter | None, told: Told, rated_a: float) -> Counted | Disbelief:
    """What `told` adds. `rated_a` is the supply's: no node can draw more than `MARGIN` times that for long."""
    if before is None:
        return _first(told, rated_a)
    if told.boot_id in before.ended:
        return Disbelief.ENDED_BOOT
    last = before.told
    if told.heard_at_s < last.heard_at_s:
        # The hub's clock was set back; time is counted from here, and the charge comes with the next message.
        return Counted(replace(before, told=replace(last, heard_at_s=told.heard_at_s)))
    charge_ah, lasted_s, ended = told.charge_ah, told.uptime_s, before.ended
    if told.boot_id == last.boot_id:
        charge_ah, lasted_s = charge_ah - last.charge_ah, lasted_s - last.uptime_s
    else:
        ended = (*ended, last.boot_id)[-MAX_ENDED_BOOTS:]
    if charge_ah < 0 or lasted_s < 0:
        return Disbelief.BACKWARDS
    passed_s = told.heard_at_s - last.heard_at_s
    if not _possible(charge_ah, min(lasted_s, passed_s), rated_a):
        return Disbelief.IMPOSSIBLE
    return Counted(Counter(told, ended), charge_ah, min(lasted_s, MARGIN * passed_s, LONGEST_S) / 3_600)


def _first(told: Told, rated_a: float) -> Counted:
    counter = Counter(told)
    if told.uptime_s <= FIRST_HEARD_S and _possible(told.charge_ah, told.uptime_s, rated_a):
        return Counted(counter, told.charge_ah, told.uptime_s / 3_600)
    return Counted(counter)


def _possible(charge_ah: float, in_s: float, rated_a: float) -> bool:
    return charge_ah * 3_600 <= MARGIN * rated_a * in_s
