"""REST of the advice. What is asked of a venue stands below it; what any wire, fuse or supply needs does not."""

from typing import Annotated

from fastapi import APIRouter, Query

from hub.app import TheHub
from hub.electrical.advice.answer import Advice
from hub.electrical.advice.brightness import BrightnessAdvice, BrightnessQuestion, highest_level
from hub.electrical.advice.feeds import FeedsQuestion, fewest_feeds
from hub.electrical.advice.frame_rate import FrameRateQuestion, frame_rate
from hub.electrical.advice.fuse import FuseQuestion, fuse_between
from hub.electrical.advice.supply import SupplyQuestion, supply_size
from hub.electrical.advice.wire import WireQuestion, smallest_wire
from hub.electrical.circuits import venue_circuits
from schemas.contract import Id

router = APIRouter(tags=["advice"])


@router.get("/venues/{venue}/advice/brightness")
def advice_brightness(hub: TheHub, venue: Id, question: Annotated[BrightnessQuestion, Query()]) -> BrightnessAdvice:
    """The highest level, of the venue and of each supply, at which every budget, fuse, wire and pixel's volts hold.

    Found from the venue's network solved dark and at full white, between which everything is a straight line, and
    confirmed by solving at that level and at 1 % more.
    """
    return highest_level(venue_circuits(hub.inventory.venue(venue)), question)


@router.get("/venues/{venue}/advice/feeds")
def advice_feeds(hub: TheHub, venue: Id, question: Annotated[FeedsQuestion, Query()]) -> Advice:
    """The fewest feeds of a run and their places, so that no pixel falls below the wanted volts at the wanted level.

    Values hold the volts at every pixel as the solver gives them; the confirmation says why fewer cannot do.
    """
    return fewest_feeds(venue_circuits(hub.inventory.venue(venue)), question)


@router.get("/advice/wire")
def advice_wire(question: Annotated[WireQuestion, Query()]) -> Advice:
    """The smallest wire, in mm² and in American Wire Gauge, by voltage drop and by ampacity, and which rule decided."""
    return smallest_wire(question)


@router.get("/advice/fuse")
def advice_fuse(question: Annotated[FuseQuestion, Query()]) -> Advice:
    """The standard fuse between a load and its wire, or why none fits. Give `wire_mm2` or `wire_awg`."""
    return fuse_between(question)


@router.get("/advice/supply")
def advice_supply(question: Annotated[SupplyQuestion, Query()]) -> Advice:
    """The next usual rating for a load, with derating and the heat around the supply, and how it stands to Class 2."""
    return supply_size(question)


@router.get("/advice/frame-rate")
def advice_frame_rate(question: Annotated[FrameRateQuestion, Query()]) -> Advice:
    """The frame rate that a run holds; for a higher one, over how many outputs to split it, and at which pixels."""
    return frame_rate(question)
