"""What a board put on its wires, read back from its capture files: revisions, gaps between frames, highest amps."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from node_agent.outputs.capture import CapturedFrame, read_capture
from node_agent.power import EMITTERS


@dataclass(frozen=True, slots=True)
class ShownRevision:
    """A revision (None: none held), by the wall clock and the show time of its first frame."""

    revision: int | None
    first_written_at_s: float
    first_show_time_s: float
    frames: int


@dataclass(frozen=True, slots=True)
class CaptureSummary:
    """All channels of a board together. `highest_a` is the estimate of the highest frame, idle current included.

    `last_written_at_s` is of the channel that fell silent first; None where a channel has no frame at all.
    """

    frames: int
    highest_a: float
    longest_gap_s: float
    last_written_at_s: float | None
    revisions: tuple[ShownRevision, ...]


def summarise(paths: Iterable[Path], since_s: float = 0.0) -> CaptureSummary:
    """Summary of the frames written from `since_s` (wall clock) on, channel files of one board.

    Frames of one show time are one frame of the board. With a `since_s` the wait for the first frame after it is a gap
    like any other. Raises OutputError for a file that is no capture.
    """
    amps_at: defaultdict[float, float] = defaultdict(float)
    shown: dict[int | None, list[tuple[float, float]]] = defaultdict(list)
    longest_gap_s = 0.0
    frames = 0
    last_s: list[float | None] = []
    for path in paths:
        amps_of = _AmpsOfFrames()
        written_s: float | None = None
        earlier_s = since_s or None
        for frame in read_capture(path):
            if frame.written_at_s < since_s:
                continue
            frames += 1
            if earlier_s is not None:
                longest_gap_s = max(longest_gap_s, frame.written_at_s - earlier_s)
            earlier_s = written_s = frame.written_at_s
            amps_at[frame.show_time_s] += amps_of(frame)
            shown[frame.revision].append((frame.written_at_s, frame.show_time_s))
        last_s.append(written_s)
    ended_s = [each for each in last_s if each is not None]
    revisions = (ShownRevision(revision, *min(times), len(times)) for revision, times in shown.items())
    return CaptureSummary(
        frames,
        max(amps_at.values(), default=0.0),
        longest_gap_s,
        min(ended_s) if ended_s and len(ended_s) == len(last_s) else None,
        tuple(sorted(revisions, key=lambda each: each.first_written_at_s)),
    )


class _AmpsOfFrames:
    """Amps of one channel's frames; a frame that repeats the data before it is not decoded again."""

    def __init__(self) -> None:
        self._data: bytes | None = None
        self._amps = 0.0

    def __call__(self, frame: CapturedFrame) -> float:
        if frame.data is not self._data:
            kind = frame.header.pixel_type
            full_ma = np.array([kind.full_ma.red, kind.full_ma.green, kind.full_ma.blue, kind.full_ma.white])
            present = np.array([letter in kind.colour_order for letter in EMITTERS])
            sums = frame.decode().codes.sum(axis=0, dtype=np.uint64)
            lit_ma = float((sums * (full_ma * present)).sum()) / 255
            self._amps = (frame.header.pixels * kind.idle_ma + lit_ma) * 1e-3
            self._data = frame.data
        return self._amps
