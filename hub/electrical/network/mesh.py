"""Meshed sections: nodal analysis of both rails, one sparse system.

Nodes are the positive and the negative rail at each pixel and the supplies' terminals. Each conductor is a branch of
half the loop's ohms; a supply is a branch with its volts in series or, without output resistance, one node with those
volts between its terminals. Isolated parts float: one node of each is taken as 0 V.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from hub.electrical.network.assembly import Assembly, Flags, Floats, Places, sums_by
from hub.electrical.network.state import Draw, State
from hub.electrical.network.topology import Topology


@dataclass(frozen=True, slots=True, eq=False)
class _Branches:
    """Current from `start` to `end`: siemens × (volts of start - volts of end + emf_v)."""

    start: Places
    end: Places
    siemens: Floats
    emf_v: Floats | float = 0.0

    def amps(self, node_v: Floats) -> Floats:
        return self.siemens * (node_v[self.start] - node_v[self.end] + self.emf_v)


class MeshedSections:
    """Prepared once for a network; solved for each draw."""

    def __init__(self, net: Assembly, topology: Topology) -> None:
        self._net = net
        self._pixels: Flags = topology.meshed[net.section_of]
        self._feeds: Flags = self._pixels[net.feed_pixel]
        if not self._pixels.any():
            return
        # The negative rail goes on through sections that nothing feeds.
        unfed = ~topology.fed[net.section_of]
        has_negative = self._pixels | (unfed & np.isin(net.ladder_of, net.ladder_of[self._pixels]))
        sources = np.unique(net.feed_source[self._feeds])
        with_ohms = sources[net.source_ohm[sources] > 0]
        count = _Counter()
        self._positive = count.number(net.pixels, self._pixels)
        self._negative = count.number(net.pixels, has_negative)
        self._minus = count.number(net.source_volts.size, sources)
        self._plus = self._minus.copy()
        self._plus[with_ohms] = count.number(net.source_volts.size, with_ohms)[with_ohms]
        self._nodes = count.nodes
        self._sources = sources
        self._rails = np.flatnonzero(net.rail_whole & self._pixels)
        self._returns = np.flatnonzero((net.step_siemens > 0) & has_negative & np.append(has_negative[1:], False))
        self._branches = tuple(self._conductors(with_ohms))

    def solve(self, draw: Draw, into: State) -> None:
        pixels = self._pixels
        if not pixels.any():
            return
        positive, negative = self._positive[pixels], self._negative[pixels]
        shunts = _Branches(positive, negative, draw.shunt_siemens[pixels])
        load_a = draw.load_a[pixels]
        into_nodes_a = sums_by(negative, load_a, self._nodes) - sums_by(positive, load_a, self._nodes)
        node_v = _node_volts((*self._branches, shunts), into_nodes_a)
        forth, back, rails, returns, _ = (branches.amps(node_v) for branches in self._branches)
        into.volts[pixels] = node_v[positive] - node_v[negative]
        into.step_a[self._rails] = rails
        into.step_return_a[self._returns] = returns
        into.feed_a[self._feeds] = forth
        into.feed_return_a[self._feeds] = back
        sources, ohm = self._sources, self._net.source_ohm[self._sources]
        given_a = sums_by(self._net.feed_source[self._feeds], forth, self._net.source_volts.size)
        into.source_volts[sources] = self._net.source_volts[sources] - ohm * given_a[sources]

    def _conductors(self, with_ohms: Places) -> Iterator[_Branches]:
        net = self._net
        source, pixel = net.feed_source[self._feeds], net.feed_pixel[self._feeds]
        wire = 2 * net.feed_siemens[self._feeds]
        inner_v = np.where(net.source_ohm[source] > 0, 0.0, net.source_volts[source])
        yield _Branches(self._plus[source], self._positive[pixel], wire, inner_v)
        yield _Branches(self._negative[pixel], self._minus[source], wire)
        rails, returns = self._rails, self._returns
        yield _Branches(self._positive[rails], self._positive[rails + 1], 2 * net.step_siemens[rails])
        yield _Branches(self._negative[returns + 1], self._negative[returns], 2 * net.step_siemens[returns])
        yield _Branches(
            self._minus[with_ohms], self._plus[with_ohms], 1 / net.source_ohm[with_ohms], net.source_volts[with_ohms]
        )


class _Counter:
    """Numbers nodes through."""

    def __init__(self) -> None:
        self.nodes = 0

    def number(self, size: int, which: Flags | Places) -> Places:
        """(size,) the next node numbers at `which`; -1 elsewhere."""
        numbers = np.full(size, -1, dtype=np.intp)
        chosen = np.arange(size)[which]
        numbers[chosen] = self.nodes + np.arange(chosen.size)
        self.nodes += chosen.size
        return numbers


def _node_volts(branches: tuple[_Branches, ...], into_nodes_a: Floats) -> Floats:
    """(nodes,) volts; `into_nodes_a` is pushed into each node by the loads."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.sparse.linalg import splu

    nodes = into_nodes_a.size
    start = np.concatenate([branch.start for branch in branches])
    end = np.concatenate([branch.end for branch in branches])
    siemens = np.concatenate([branch.siemens for branch in branches])
    emf_a = np.concatenate([branch.siemens * branch.emf_v for branch in branches])
    right = into_nodes_a + sums_by(end, emf_a, nodes) - sums_by(start, emf_a, nodes)
    rows, columns = np.concatenate((start, end, start, end)), np.concatenate((start, end, end, start))
    values = np.concatenate((siemens, siemens, -siemens, -siemens))
    matrix = coo_array((values, (rows, columns)), shape=(nodes, nodes)).tocsc()
    _, part = connected_components(matrix, directed=False)
    floating = np.ones(nodes, dtype=np.bool_)
    floating[np.unique(part, return_index=True)[1]] = False
    # Columns of chains hold few entries: narrow panels take half the time of the routine's own choice.
    factors = splu(
        matrix[floating][:, floating],
        permc_spec="COLAMD",
        diag_pivot_thresh=0.0,
        relax=1,
        panel_size=2,
        options={"SymmetricMode": True},
    )
    node_v = np.zeros(nodes)
    node_v[floating] = factors.solve(right[floating])
    return node_v
