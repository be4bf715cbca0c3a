"""What the hub answers by itself, a function a question. None is: the hub does not know, so a person is asked."""

from typing import Final

from hub.desired.flatten import flatten_zones
from hub.desired.trims import trims_by_channel
from hub.fault_finding.figures import LIMITER_AT_REST
from hub.fault_finding.knowledge import Knowledge
from hub.fault_finding.step import Known

YES: Final = "yes"
NO: Final = "no"
FULL_RATE: Final = 0.98
HOT_C: Final = 80.0
"""Where boards with a Linux system begin to slow their processor: common practice, no source."""
DARKEST_TRIM: Final = 0.95
MAX_NAMED: Final = 3


def heard(know: Knowledge) -> Known | None:
    if know.heard.online:
        return Known(YES, f"The hub hears {know.node.id}")
    return Known(NO, f"The hub does not hear {know.node.id}") if know.silent else None


def shows_darkness(know: Knowledge) -> Known | None:
    """Whether darkness is what it was told to show."""
    reported = know.heard.reported
    if reported is None or not know.heard.online:
        return None
    if reported.showing is None:
        return Known(YES, f"{know.node.id} holds no revision yet, so it is dark")
    if reported.scene is None:
        return Known(YES, f"{know.node.id} shows darkness, as it was told")
    return Known(NO, f"{know.node.id} shows scene {reported.scene}")


def limiter_dims(know: Knowledge) -> Known | None:
    limiter = know.limiter
    if limiter is None:
        return None
    supply, scale = limiter
    if scale < LIMITER_AT_REST:
        return Known(YES, f"Its budget limiter dims to {scale * 100:.0f} % for supply {supply}")
    return Known(NO, "Its budget limiter is at rest")


def trimmed(know: Knowledge) -> Known | None:
    """Whether the venue's own levels make the run darker: the master level, or the trim of a zone that holds it."""
    if know.channel is None:
        return None
    venue = know.venue
    if venue.master_level < DARKEST_TRIM:
        return Known(YES, f"The master level of the venue is {venue.master_level:.2f}")
    trims = trims_by_channel(venue, flatten_zones(venue)).get((know.node.id, know.channel.number), ())
    darkest = min((max(trim.red, trim.green, trim.blue) for trim in trims), default=1.0)
    if darkest < DARKEST_TRIM:
        return Known(YES, f"Zones that hold the run are trimmed to {darkest:.2f}")
    return Known(NO, "Neither master level nor trims make it darker")


def planned_too_low(know: Knowledge) -> Known | None:
    """Whether by the plan itself the run's darkest place has less than its type needs."""
    lowest, kind = know.lowest, know.kind
    if lowest is None or kind is None:
        return None
    said = f"By the plan pixel {lowest.at_pixel} has {lowest.volts:.2f} V at the most that the budget allows"
    if lowest.volts < kind.minimum_volts:
        return Known(YES, f"{said}, less than the {kind.minimum_volts:g} V that its type needs")
    return Known(NO, f"{said}, enough for its type")


def several_feeds(know: Knowledge) -> Known | None:
    if know.channel is None:
        return None
    feeds = len(know.channel.run.feeds)
    if feeds == 0:
        return None
    return Known(YES, f"The run has {feeds} feeds by the plan") if feeds > 1 else Known(NO, "The run has one feed")


def supply_mates_silent(know: Knowledge) -> Known | None:
    """Whether all boards on the same supply are silent; only where there are others."""
    return _mates_silent(know, know.powered_alike, f"supply {know.board_supply}")


def switch_mates_silent(know: Knowledge) -> Known | None:
    """Whether all boards on the same switch are silent; only where there are others."""
    return _mates_silent(know, know.switched_alike, f"{know.node.network_switch}")


def _mates_silent(know: Knowledge, mates: tuple[str, ...], shared: str) -> Known | None:
    if not mates or not know.silent:
        return None
    if any(know.online.get(node, False) for node in mates):
        return Known(NO, f"Other boards on {shared} are heard")
    shown = ", ".join(mates[:MAX_NAMED])
    named = shown if len(mates) <= MAX_NAMED else f"{shown} and {len(mates) - MAX_NAMED} more"
    return Known(YES, f"All boards on {shared} are silent: {named} too")


def too_few_frames(know: Knowledge) -> Known | None:
    told = know.heard.told
    if told is None or not know.heard.online or told.frame_rate_target_hz <= 0:
        return None
    said = f"{know.node.id} shows {told.frame_rate_hz:.1f} of {told.frame_rate_target_hz:.1f} frames a second"
    return Known(YES if told.frame_rate_hz < told.frame_rate_target_hz * FULL_RATE else NO, said)


def hot_or_throttled(know: Knowledge) -> Known | None:
    told = know.heard.told
    if told is None or not know.heard.online:
        return None
    if told.board is not None and told.board.throttled:
        return Known(YES, "The board says that its processor was slowed down")
    if told.temperature_c is None:
        return None
    return Known(YES if told.temperature_c >= HOT_C else NO, f"The board is at {told.temperature_c:.0f} °C")


def clock_astray(know: Knowledge) -> Known | None:
    """Whether its show time may be off by more than a frame, or rests on nothing that keeps it right."""
    told = know.heard.told
    if told is None or not know.heard.online or told.frame_rate_target_hz <= 0:
        return None
    if told.clock_source in ("wall", "kept"):
        return Known(YES, "It does not get the hub's time")
    frame_ms = 1_000 / told.frame_rate_target_hz
    dispersion_ms = told.clock_dispersion_ms or 0.0
    said = f"It knows show time to {dispersion_ms:.1f} ms; a frame lasts {frame_ms:.1f} ms"
    return Known(YES if dispersion_ms > frame_ms else NO, said)


def board_supply_low(know: Knowledge) -> Known | None:
    told = know.heard.told
    if told is None or told.board is None or told.board.under_voltage is None:
        return None
    said = "When it was last heard, the board said that its own volts were "
    return Known(YES if told.board.under_voltage else NO, said + ("too low" if told.board.under_voltage else "enough"))


def wireless(know: Knowledge) -> Known | None:
    told = know.heard.told
    if told is None or told.board is None or told.board.link is None:
        return None
    return Known(YES if told.board.link == "wireless" else NO, f"It was last heard over a {told.board.link} link")
