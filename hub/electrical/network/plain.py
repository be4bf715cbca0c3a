"""Sections that hang on one supply alone: all of a venue as one banded system.

Both rails are alike and carry the same current, so their two drops are one drop over the loop's ohms. With T at the
supply's terminals the volts are x + w·T: x what the loads pull down, w = 1 where no load follows the volts. What the
supply delivers, and so T, follows from Kirchhoff's current law. Both columns come out of one factorisation of one
tridiagonal matrix, which is symmetric and, since every section has a feed, positive definite.
"""

import numpy as np

from hub.electrical.network.assembly import Assembly, Flags, Floats, sums_by
from hub.electrical.network.state import Draw, State
from hub.electrical.network.topology import Topology


class PlainSections:
    """Prepared once for a network; solved for each draw."""

    def __init__(self, net: Assembly, topology: Topology) -> None:
        plain = topology.fed & ~topology.meshed
        source_of_section = np.zeros(net.sections, dtype=np.intp)
        source_of_section[topology.pairs[:, 0]] = topology.pairs[:, 1]
        self._net = net
        self._pixels: Flags = plain[net.section_of]
        self._feeds: Flags = self._pixels[net.feed_pixel]
        self._source_of = source_of_section[net.section_of]
        self._rail = net.step_siemens * (net.rail_whole & self._pixels)
        self._feed_on = sums_by(net.feed_pixel[self._feeds], net.feed_siemens[self._feeds], net.pixels)
        behind = np.append(0.0, self._rail)[: net.pixels]
        # Pixels of other sections stay as unknowns of their own, so that places in all arrays agree.
        self._diagonal = self._rail + behind + self._feed_on + ~self._pixels

    def solve(self, draw: Draw, into: State) -> None:
        net, pixels, source_of = self._net, self._pixels, self._source_of
        if not pixels.any():
            return
        load_a, shunt = draw.load_a * pixels, draw.shunt_siemens * pixels
        pulled, share = self._columns(load_a, shunt)
        fixed_a = sums_by(source_of, load_a + shunt * pulled, net.source_volts.size)
        siemens = sums_by(source_of, shunt * share, net.source_volts.size)
        terminal_v = (net.source_volts - net.source_ohm * fixed_a) / (1 + net.source_ohm * siemens)
        volts = pulled + share * terminal_v[source_of]
        step_a = self._rail * (volts - np.append(volts[1:], 0.0))
        at, source = net.feed_pixel[self._feeds], net.feed_source[self._feeds]
        feed_a = net.feed_siemens[self._feeds] * ((1 - share[at]) * terminal_v[source] - pulled[at])
        into.volts[pixels] = volts[pixels]
        into.step_a[pixels] = into.step_return_a[pixels] = step_a[pixels]
        into.feed_a[self._feeds] = into.feed_return_a[self._feeds] = feed_a
        into.source_volts[source] = terminal_v[source]

    def _columns(self, load_a: Floats, shunt: Floats) -> tuple[Floats, Floats]:
        """x and w of the formula above."""
        from scipy.linalg import solveh_banded

        follows = bool(shunt.any())
        right = np.column_stack((-load_a, self._feed_on)) if follows else -load_a[:, None]
        bands = np.vstack((self._diagonal + shunt, -self._rail))
        if self._net.pixels == 1:  # too small for scipy's tridiagonal routine
            columns = right / bands[:1]
        else:
            columns = solveh_banded(bands, right, lower=True, check_finite=False)
        return columns[:, 0], columns[:, 1] if follows else np.ones(self._net.pixels)
