"""Debian's ngspice as an independent solver: a network as a netlist of both rails, and what its operating point says.

Positive and negative conductors are resistors of half the loop's ohms each, the negative rail goes on through cuts,
every supply is a floating source of its own, every pixel a constant-current sink between the rails.
"""

import shutil
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from hub.electrical.network import Ladder, Source


@dataclass(frozen=True, slots=True)
class Readings:
    """By ladder: volts between the rails, amps of the feeds' positive and negative wires and of the rails' steps (a cut
    rail's step is absent: nan). By source: amps."""

    volts: list[NDArray[np.float64]]
    feed_a: list[NDArray[np.float64]]
    feed_return_a: list[NDArray[np.float64]]
    step_a: list[NDArray[np.float64]]
    step_return_a: list[NDArray[np.float64]]
    source_a: NDArray[np.float64]


def operating_point(sources: Sequence[Source], ladders: Sequence[Ladder], folder: Path) -> Readings:
    """Runs ngspice. Raises FileNotFoundError where it is not installed."""
    program = shutil.which("ngspice")
    if program is None:
        raise FileNotFoundError("ngspice is not installed; on Debian: apt-get install ngspice")
    netlist, raw = folder / "network.cir", folder / "network.raw"
    netlist.write_text("\n".join(_netlist(sources, ladders)))
    done = subprocess.run(
        [program, "-b", "-r", raw, netlist], cwd=folder, capture_output=True, text=True, timeout=60, check=False
    )
    said = done.stdout + done.stderr
    assert done.returncode == 0, said
    # Where the plain iteration does not end, ngspice goes on with conductances of its own to the ground.
    assert "stepping" not in said, said
    values = _raw_values(raw.read_bytes())
    return Readings(
        volts=[
            np.array([values[f"v(p{run}_{k})"] - values[f"v(n{run}_{k})"] for k in range(ladder.load_a.size)])
            for run, ladder in enumerate(ladders)
        ],
        feed_a=[_amps(values, f"vf{run}", len(ladder.feeds)) for run, ladder in enumerate(ladders)],
        feed_return_a=[_amps(values, f"vg{run}", len(ladder.feeds)) for run, ladder in enumerate(ladders)],
        step_a=[_amps(values, f"vp{run}", ladder.load_a.size - 1) for run, ladder in enumerate(ladders)],
        step_return_a=[_amps(values, f"vn{run}", ladder.load_a.size - 1) for run, ladder in enumerate(ladders)],
        source_a=-np.array([values[f"i(vs{number})"] for number in range(len(sources))]),
    )


def _netlist(sources: Sequence[Source], ladders: Sequence[Ladder]) -> Iterator[str]:
    """Volt sources of 0 V are ammeters."""
    yield "* supplies, feeds and runs"
    yield ".options reltol=1e-9 pivrel=0.5"
    for number, source in enumerate(sources):
        inner = f"sx{number}" if source.output_ohm else f"sp{number}"
        yield f"vs{number} {inner} sn{number} dc {source.volts!r}"
        if source.output_ohm:
            yield f"rs{number} {inner} sp{number} {source.output_ohm!r}"
    for run, ladder in enumerate(ladders):
        for k, amps in enumerate(ladder.load_a.tolist()):
            yield f"il{run}_{k} p{run}_{k} n{run}_{k} dc {amps!r}"
        for k in range(ladder.load_a.size - 1):
            if k + 1 not in ladder.cuts:
                yield from _measured(f"p{run}_{k}", f"p{run}_{k}", f"p{run}_{k + 1}", ladder.step_ohm / 2)
            yield from _measured(f"n{run}_{k}", f"n{run}_{k + 1}", f"n{run}_{k}", ladder.step_ohm / 2)
        for place, feed in enumerate(ladder.feeds):
            pixel = f"{run}_{feed.pixel}"
            yield from _measured(f"f{run}_{place}", f"sp{feed.source}", f"p{pixel}", feed.loop_ohm / 2)
            yield from _measured(f"g{run}_{place}", f"n{pixel}", f"sn{feed.source}", feed.loop_ohm / 2)
        for first in _unfed_sections(ladder):
            yield f"runfed{run}_{first} p{run}_{first} n{run}_{first} 1"
    for number, node in enumerate(_one_node_of_each_island(len(sources), ladders)):
        yield f"vground{number} {node} 0 dc 0"
    yield from (".op", ".end", "")


def _measured(name: str, start: str, end: str, ohm: float) -> Iterator[str]:
    yield f"v{name} {start} m{name} dc 0"
    yield f"r{name} m{name} {end} {ohm!r}"


def _one_node_of_each_island(sources: int, ladders: Sequence[Ladder]) -> list[str]:
    """Nothing joins isolated supplies but the runs; each island is grounded once, at a supply's negative terminal."""
    island = list(range(sources))
    for ladder in ladders:
        joined = {island[feed.source] for feed in ladder.feeds}
        island = [min(joined) if one in joined else one for one in island]
    unfed = [f"n{run}_0" for run, ladder in enumerate(ladders) if not ladder.feeds]
    return [f"sn{number}" for number in sorted(set(island))] + unfed


def _unfed_sections(ladder: Ladder) -> Iterator[int]:
    """First pixels of them: a positive rail that hangs on nothing has no volts of its own."""
    for first, end in pairwise((0, *ladder.cuts, ladder.load_a.size)):
        if not any(first <= feed.pixel < end for feed in ladder.feeds):
            yield first


def _amps(values: dict[str, float], name: str, count: int) -> NDArray[np.float64]:
    return np.array([values.get(f"i({name}_{k})", np.nan) for k in range(count)])


def _raw_values(raw: bytes) -> dict[str, float]:
    """Vectors of one point: a header of text, then little-endian doubles."""
    header, _, data = raw.partition(b"Binary:\n")
    lines = header.decode().splitlines()
    first = lines.index("Variables:") + 1
    names = [line.split()[1] for line in lines[first:] if line.startswith("\t")]
    return dict(zip(names, np.frombuffer(data, dtype="<f8").tolist(), strict=True))
