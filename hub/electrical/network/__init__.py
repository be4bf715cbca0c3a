"""Volts and amps of supplies, feed wires and runs as one resistive network."""

from hub.electrical.network.elements import FeedWire, Ladder, Source
from hub.electrical.network.solution import (
    LadderSolution,
    NetworkSolution,
    feed_drop_v,
    feed_heat_w,
    heat_w_per_m,
)
from hub.electrical.network.solving import solve_network

__all__ = [
    "FeedWire",
    "Ladder",
    "LadderSolution",
    "NetworkSolution",
    "Source",
    "feed_drop_v",
    "feed_heat_w",
    "heat_w_per_m",
    "solve_network",
]
