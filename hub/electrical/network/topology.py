"""Which sections hang on one supply alone, which are meshed, which nothing feeds.

A *mesh* is where Kirchhoff's current law alone does not tell what a supply gives: a section joins two supplies, or the
negative rail closes a loop past a cut (one supply on both sides of it; two runs with the same two supplies). Past any
other cut no current flows, since the supplies on both sides are isolated and what a supply gives comes back to it.
"""

from dataclasses import dataclass

import numpy as np

from hub.electrical.network.assembly import Assembly, Flags, Places


@dataclass(frozen=True, slots=True, eq=False)
class Topology:
    """pairs: (n, 2) each section with each supply that feeds it. fed, meshed: (sections,)."""

    pairs: Places
    fed: Flags
    meshed: Flags


def topology_of(net: Assembly) -> Topology:
    joined = np.column_stack((net.section_of[net.feed_pixel], net.feed_source))
    pairs = np.unique(joined, axis=0)
    supplies = np.bincount(pairs[:, 0], minlength=net.sections)
    fed = supplies > 0
    returns = _return_pairs(net, fed)
    paralleled = supplies > 1
    if not len(returns) and not paralleled.any():
        return Topology(pairs, fed, paralleled)
    # Sections are the vertices 0 .. sections - 1, supplies come after them.
    wires: Places = pairs + np.array((0, net.sections))
    vertices = net.sections + net.source_volts.size
    looped = _in_a_looped_part(np.vstack((wires, returns)), vertices)[: net.sections]
    part = _parts(wires, vertices)[: net.sections]
    return Topology(pairs, fed, looped | np.isin(part, part[paralleled]))


def _return_pairs(net: Assembly, fed: Flags) -> Places:
    """Fed sections of one run that follow each other, whatever lies unfed between them."""
    starts = np.flatnonzero(np.diff(net.section_of, prepend=-1))
    sections = np.flatnonzero(fed)
    ladders = net.ladder_of[starts[sections]]
    follow = np.flatnonzero(ladders[1:] == ladders[:-1])
    return np.column_stack((sections[follow], sections[follow + 1]))


def _in_a_looped_part(edges: Places, vertices: int) -> Flags:
    # A connected graph is a tree, without loops, if it has one edge fewer than vertices.
    part = _parts(edges, vertices)
    loops = np.bincount(part[edges[:, 0]], minlength=vertices) >= np.bincount(part, minlength=vertices)
    looped: Flags = loops[part]
    return looped


def _parts(edges: Places, vertices: int) -> Places:
    """(vertices,) the number of the connected part that each lies in."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(edges)), (edges[:, 0], edges[:, 1])), shape=(vertices, vertices))
    _, part = connected_components(graph, directed=False)
    return part.astype(np.intp)
