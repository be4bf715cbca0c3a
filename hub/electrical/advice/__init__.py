"""Advice that computes: one question a file, each with its formula, its inputs, its source and a confirmation."""

from hub.electrical.advice.answer import Advice
from hub.electrical.advice.brightness import BrightnessAdvice, BrightnessQuestion, highest_level
from hub.electrical.advice.feeds import FeedsQuestion, fewest_feeds
from hub.electrical.advice.frame_rate import FrameRateQuestion, frame_rate
from hub.electrical.advice.fuse import FuseQuestion, fuse_between
from hub.electrical.advice.supply import SupplyQuestion, supply_size
from hub.electrical.advice.wire import WireQuestion, smallest_wire

__all__ = [
    "Advice",
    "BrightnessAdvice",
    "BrightnessQuestion",
    "FeedsQuestion",
    "FrameRateQuestion",
    "FuseQuestion",
    "SupplyQuestion",
    "WireQuestion",
    "fewest_feeds",
    "frame_rate",
    "fuse_between",
    "highest_level",
    "smallest_wire",
    "supply_size",
]
