"""Figures and facts about a node and a run, in words: what questions are filled in with, and what the hub tells."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from hub.fault_finding.knowledge import Knowledge
from schemas import Feed

OF_A_NODE: Final = frozenset({"node", "supply", "volts", "rated_a", "switch", "fuses"})
OF_A_RUN: Final = frozenset({"channel", "pixels", "last_pixel", "minimum_v", "far_end_v", "colour_order", "length_m"})
LIMITER_AT_REST: Final = 0.98
MAX_FACT_FEEDS: Final = 8


def figures_of(know: Knowledge) -> dict[str, str]:
    """What words may hold in braces; those of a run only where the run is known."""
    supply = know.supplies[0] if know.supplies else None
    figures = {
        "node": know.node.id,
        "supply": "its supply" if supply is None else f"supply {supply.id}",
        "volts": "its supply's volts" if supply is None else f"{supply.volts:g} V",
        "rated_a": "its stated amps" if supply is None else f"{supply.rated_a:g} A",
        "switch": know.node.network_switch or "its network switch or access point",
        "fuses": _fuses(know.feeds),
    }
    if know.channel is None or know.kind is None:
        return figures
    run = know.channel.run
    lowest = know.lowest
    return figures | {
        "channel": str(know.channel.number),
        "pixels": str(run.pixels),
        "last_pixel": str(run.pixels - 1),
        "minimum_v": f"{know.kind.minimum_volts:g} V",
        "far_end_v": "what its supply gives" if lowest is None else f"{lowest.far_end_v:.2f} V",
        "colour_order": know.kind.colour_order,
        "length_m": f"{run.pixels / run.pixels_per_m:.1f} m",
    }


def facts_of(know: Knowledge) -> list[str]:
    """What the hub knows just now, a sentence each."""
    return [*_heard(know), *_limiter(know), *_volts(know), *_wiring(know), *(one.message for one in know.findings)]


def _heard(know: Knowledge) -> Iterator[str]:
    heard = know.heard
    if not heard.online:
        at = "since it started" if heard.heard_at_s is None else f"since {_clock(know, heard.heard_at_s)}"
        yield f"The hub has not heard {know.node.id} {at}."
        return
    yield f"The hub hears {know.node.id}."
    if heard.reported is not None and heard.reported.showing is not None:
        yield f"It shows {'darkness' if heard.reported.scene is None else f'scene {heard.reported.scene}'}."
    if (told := heard.told) is not None and told.frame_rate_target_hz > 0:
        yield f"It shows {told.frame_rate_hz:.1f} of {told.frame_rate_target_hz:.1f} frames a second."


def _limiter(know: Knowledge) -> Iterator[str]:
    limiter = know.limiter
    if limiter is not None and limiter[1] < LIMITER_AT_REST:
        yield f"Its budget limiter dims to {limiter[1] * 100:.0f} % for supply {limiter[0]}."


def _volts(know: Knowledge) -> Iterator[str]:
    lowest = know.lowest
    if lowest is not None and know.kind is not None:
        yield (
            f"By the plan its darkest place is pixel {lowest.at_pixel} with {lowest.volts:.2f} V when all is as bright "
            f"as the budget lets it; the type works down to {know.kind.minimum_volts:g} V."
        )


def _wiring(know: Knowledge) -> Iterator[str]:
    if know.channel is None:
        return
    run = know.channel.run
    for feed in run.feeds[:MAX_FACT_FEEDS]:
        fuse = "no fuse stated" if feed.fuse_a is None else f"fuse {feed.fuse_a:g} A"
        yield f"Fed at pixel {feed.at_pixel} from supply {feed.supply}: {wire_of(feed)}, {feed.length_m:g} m, {fuse}."
    if run.positive_cut_before:
        cuts = ", ".join(str(one) for one in run.positive_cut_before)
        yield f"Its positive rail is cut on purpose before pixel {cuts}."


def wire_of(feed: Feed) -> str:
    """A feed's wire as the venue states it."""
    return f"AWG {feed.wire_awg}" if feed.wire_awg is not None else f"{feed.wire_mm2:g} mm²"


def _fuses(feeds: tuple[Feed, ...]) -> str:
    stated = sorted({feed.fuse_a for feed in feeds if feed.fuse_a is not None})
    return "its fuse" if not stated else f"its fuse of {' or '.join(f'{one:g}' for one in stated)} A"


def _clock(know: Knowledge, at_s: float) -> str:
    return datetime.fromtimestamp(at_s, ZoneInfo(know.venue.time_zone)).strftime("%H:%M:%S on %Y-%m-%d")
