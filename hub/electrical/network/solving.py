"""Solves a network: once where every load keeps its current, in passes where low pixels draw less.

**Law of a low pixel** (assumption, no source): below its lowest working volts U it draws I·V/U, I being its current
above. Its current sinks have no headroom left there and turn into resistances; what the emitter takes for itself makes
the real current smaller still, so the law errs on the side of more drop. The current never falls as the volts rise,
so there is one solution, and with all loads such it is not below 0 V. The passes are Newton's method. Where each
section hangs on one supply, volts climb from pass to pass and pixels only leave the set of low ones, so the passes end;
in a mesh pixels may come back to it, and thousands of random ones took five passes at most.
"""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from hub.electrical.network.assembly import Assembly, Flags, Floats, assemble, sums_by
from hub.electrical.network.checking import check_network
from hub.electrical.network.elements import Ladder, Source
from hub.electrical.network.mesh import MeshedSections
from hub.electrical.network.plain import PlainSections
from hub.electrical.network.solution import LadderSolution, NetworkSolution
from hub.electrical.network.state import Draw, State, dead_state
from hub.electrical.network.topology import Topology, topology_of

# A pixel within a billionth of its lowest volts stands on them: rounding must neither tell otherwise nor keep it going
# in and out of the set of low ones.
ROUNDING: Final = 1e-9
MOST_PASSES: Final = 100


def solve_network(sources: Sequence[Source], ladders: Sequence[Ladder]) -> NetworkSolution:
    """Volts at every pixel, amps in every conductor. Order of ladders does not matter.

    Supplies are isolated from each other but for the runs; grounds joined elsewhere are left out. Raises ValueError
    that names the field at fault.
    """
    check_network(sources, ladders)
    net = assemble(sources, ladders)
    topology = topology_of(net)
    low, draw, state = _settle(net, topology)
    drawn_a = np.where(np.isnan(state.volts), 0.0, draw.load_a + draw.shunt_siemens * state.volts)
    given_a = sums_by(net.feed_source, state.feed_a, len(sources))
    return NetworkSolution(
        ladders=tuple(_ladder_solutions(net, state, drawn_a, low)),
        source_a=given_a,
        source_volts=state.source_volts,
        paralleled=_paralleled(net, topology),
    )


def _settle(net: Assembly, topology: Topology) -> tuple[Flags, Draw, State]:
    plain, meshed, state = PlainSections(net, topology), MeshedSections(net, topology), dead_state(net)
    limit_v = net.minimum_v * (1 - ROUNDING)
    fallen = np.zeros(net.pixels, dtype=np.bool_)
    for _ in range(MOST_PASSES):
        shunt = np.divide(net.load_a, net.minimum_v, out=np.zeros(net.pixels), where=fallen)
        draw = Draw(np.where(fallen, 0.0, net.load_a), shunt)
        plain.solve(draw, state)
        meshed.solve(draw, state)
        low = state.volts < limit_v
        now_fallen = net.current_falls & (low | fallen & (state.volts < net.minimum_v))
        if np.array_equal(now_fallen, fallen):
            return low, draw, state
        fallen = now_fallen
    raise RuntimeError(f"the currents of pixels below their lowest volts did not settle in {MOST_PASSES} passes")


def _ladder_solutions(net: Assembly, state: State, drawn_a: Floats, low: Flags) -> Iterator[LadderSolution]:
    pixels, feeds = net.first_pixel.tolist(), net.first_feed.tolist()
    for ladder in range(len(pixels) - 1):
        first, end = pixels[ladder], pixels[ladder + 1]
        wires = slice(feeds[ladder], feeds[ladder + 1])
        yield LadderSolution(
            volts=state.volts[first:end],
            load_a=drawn_a[first:end],
            feed_a=state.feed_a[wires],
            feed_return_a=state.feed_return_a[wires],
            step_a=state.step_a[first : end - 1],
            step_return_a=state.step_return_a[first : end - 1],
            below_minimum=low[first:end],
        )


def _paralleled(net: Assembly, topology: Topology) -> tuple[tuple[int, int, int], ...]:
    """Each section's first supply with each other one."""
    first = topology.pairs[np.searchsorted(topology.pairs[:, 0], topology.pairs[:, 0]), 1]
    joined = topology.pairs[:, 1] != first
    ladders = net.ladder_of[np.searchsorted(net.section_of, topology.pairs[joined, 0])]
    found = zip(ladders.tolist(), first[joined].tolist(), topology.pairs[joined, 1].tolist(), strict=True)
    return tuple(sorted(set(found)))
