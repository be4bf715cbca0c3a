"""Volts and amps of all runs at once, filled in by the two ways of solving, each its own sections."""

from dataclasses import dataclass

import numpy as np

from hub.electrical.network.assembly import Assembly, Floats


@dataclass(frozen=True, slots=True, eq=False)
class Draw:
    """What pixels take: load_a + shunt_siemens × volts, (pixels,) each."""

    load_a: Floats
    shunt_siemens: Floats


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """volts, step_a, step_return_a: (pixels,), a step being the one to the next pixel. feed_a, feed_return_a: (feeds,).
    source_volts: (sources,) at the terminals."""

    volts: Floats
    step_a: Floats
    step_return_a: Floats
    feed_a: Floats
    feed_return_a: Floats
    source_volts: Floats


def dead_state(net: Assembly) -> State:
    """Nothing flows; no pixel has volts."""
    pixels, feeds = net.pixels, net.feed_pixel.size
    return State(
        volts=np.full(pixels, np.nan),
        step_a=np.zeros(pixels),
        step_return_a=np.zeros(pixels),
        feed_a=np.zeros(feeds),
        feed_return_a=np.zeros(feeds),
        source_volts=net.source_volts.copy(),
    )
