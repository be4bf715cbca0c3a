"""Samples: a telemetry message as figures, taken on the fleet loop's thread; many of them as an array, on another."""

from operator import attrgetter
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.history.block import Figures
from hub.history.quantities import COLUMNS
from schemas import Telemetry

SAMPLE: Final = np.dtype([("subject", "<u4"), ("at_ms", "<i8"), ("values", "<f4", (len(COLUMNS),))])
"""As the journal holds it. NaN: not told."""
Samples = NDArray[np.void]

Told = tuple[float | None, ...]
"""Slot of the node, show time in seconds, boot, sequence and counter of late frames; then what `_TOLD` names."""
BOOT, SEQUENCE, LATE, FIRST_FIGURE = 2, 3, 4, 5
BOOT_BITS: Final = 0xFFFFFFFFFFFF  # of its hash: a float holds them exactly

_FIGURES: Final = attrgetter(
    "boot_id",
    "sequence",
    "late_frames",
    "frame_rate_hz",
    "render_ms",
    "temperature_c",
    "clock_dispersion_ms",
    "supplies",
    "board",
)


def told(slot: int, at_s: float, telemetry: Telemetry) -> Told:
    """The figures of one message: amps summed over supplies, the lowest limiter scale, None where it says nothing."""
    boot, sequence, late, rate_hz, render_ms, temperature_c, dispersion_ms, supplies, board = _FIGURES(telemetry)
    amps = highest_a = scale = memory = disk = signal = None
    if supplies:
        amps, highest_a, scale = 0.0, 0.0, 1.0
        for one in supplies:
            amps += one.amps
            highest_a += one.highest_a
            if one.limiter_scale < scale:
                scale = one.limiter_scale
    if board is not None:
        memory, disk, signal = board.memory_free_share, board.disk_free_share, board.signal_dbm
    # In the order of `Quantity`, late frames apart.
    return (
        slot,
        at_s,
        hash(boot) & BOOT_BITS,
        sequence,
        late,
        amps,
        highest_a,
        scale,
        rate_hz,
        None,
        render_ms,
        temperature_c,
        dispersion_ms,
        memory,
        disk,
        signal,
    )


def samples_of(slots: NDArray[np.intp], at_s: Figures, values: Figures) -> Samples:
    """An array of samples, its subjects still slots; `values` may lack the last columns."""
    samples = np.zeros(len(slots), SAMPLE)
    samples["subject"] = slots
    samples["at_ms"] = np.floor(at_s * 1_000)
    samples["values"] = np.nan
    samples["values"][:, : values.shape[1]] = values
    return samples
