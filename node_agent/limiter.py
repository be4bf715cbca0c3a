"""The budget limiter: turns linear light into 8-bit codes whose estimated draw never exceeds a supply's budget."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from node_agent.dither import Dither, NodeFrames
from node_agent.frame_rate import frame_period_s
from node_agent.power import NO_FEED, PowerModel
from node_agent.render import channel_slices
from node_agent.separation import separate_white, white_light
from schemas import DesiredBody

SAFE_BUDGET_A: Final = 0.6
"""For a supply without a known budget: 30 pixels of 20 mA, all that should hang on a board's own 5 V pin (common
practice, no source)."""

RELEASE_S: Final = 2.0
"""Time constant with which a scale rises again once the scene draws less."""

_RESERVE_SHARE: Final = 1 / 8
_HALF: Final = np.array(0.5, dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class LimitedFrame:
    """`codes` red, green, blue, white, shape (pixels, 4), colour planes one after another in memory; per supply, in the
    order of the limiter's `supplies`: the estimate `amps` of these codes, the `scale` 0..1 that was applied, and
    `wanted_a`, what the frame would have drawn without a limit, its codes rounded.

    Where `idle_over_budget` is true the dark pixels alone draw more than the budget: they are black, and only fewer
    pixels or a larger supply help.
    """

    codes: NDArray[np.uint8]
    amps: NDArray[np.float64]
    scale: NDArray[np.float64]
    wanted_a: NDArray[np.float64]
    idle_over_budget: NDArray[np.bool_]


class BudgetLimiter:
    """Limits frame after frame; the one thing that it remembers is the scale of each supply.

    One scale serves all emitters of all pixels on a supply, so hue is kept. It falls within the frame that needs it and
    rises by a first-order lag. It comes from rounded codes, so that dithering does not stir it. Half a code of every
    emitter is kept back so that rounding cannot exceed the budget; where a budget is too small for that reserve, or a
    dithered frame would exceed it all the same, the codes are floored.
    """

    supplies: tuple[str, ...]
    budget_a: NDArray[np.float64]

    def __init__(self, body: DesiredBody, nodes: Sequence[NodeFrames] | None = None) -> None:
        """`nodes` are those whose frames follow one another in `body`'s; by default it is one node's, at its rate."""
        self.power = PowerModel(body)
        self.supplies = self.power.supplies
        budgets = {budget.supply: budget.budget_a for budget in body.budgets}
        self._ceiling_a = np.array([budgets.get(supply, SAFE_BUDGET_A) for supply in self.supplies], dtype=np.float64)
        self._half_code_a = (self.power.worst_case_a() - self.power.idle_a()) / 255 / 2
        self._limit_by(self._ceiling_a)
        self._scale = self._scale_before = np.ones(len(self.supplies))
        self._gains, self._whites = _emitters(body)
        self._pixels = self._gains.shape[1]
        self._planes = np.zeros((4 if self._whites else 3, self._pixels), dtype=np.float32)
        self._scaled = np.zeros_like(self._planes)
        self._dither = Dither(nodes or (NodeFrames(self._pixels, frame_period_s(body)),), len(self._planes))

    def grant(self, granted_a: Mapping[str, float]) -> None:
        """From the next frame on each supply is limited by what is granted of it, and never by more than its budget.

        A supply that is not named is granted nothing. What hangs on no supply keeps its safe budget: nobody shares it.
        """
        granted = [math.inf if supply == NO_FEED else granted_a.get(supply, 0.0) for supply in self.supplies]
        self._limit_by(np.minimum(self._ceiling_a, np.array(granted, dtype=np.float64)))

    def limit(self, linear: NDArray[np.float32], elapsed_s: float, show_time_s: float | None = None) -> LimitedFrame:
        """The codes of a frame of linear RGB, shape (pixels, 3), `elapsed_s` after the frame before.

        Dithered as at `show_time_s`; without it rounded, which is what the dithered frames around it come to.
        Where the pixel has a white emitter, that makes what it can of a colour; then white balance applies.
        Raises ValueError for a frame of another shape. Values outside 0..1, and those that are no number, are brought
        into it.
        """
        if linear.shape != (self._pixels, 3):
            raise ValueError(f"linear: shape {linear.shape}; this node's frames have the shape ({self._pixels}, 3)")
        planes = self._to_emitters(linear)
        codes = np.zeros((4, self._pixels), dtype=np.uint8)
        used = codes[: len(planes)]
        _quantise(planes, _HALF, self._scaled, used)
        lit_a = self.power.lit_a(codes.T)
        wanted_a = self.power.idle_a() + lit_a
        # Half a code of every emitter bounds what rounding hid from this sum.
        demand_a = lit_a + self._half_code_a
        target = np.minimum(1.0, np.divide(self._target_a, demand_a, out=np.ones_like(demand_a), where=demand_a > 0))
        lag = -math.expm1(-max(elapsed_s, 0.0) / RELEASE_S)
        self._scale_before = self._scale
        self._scale = np.minimum(target, self._scale + np.maximum(target - self._scale, 0.0) * lag)
        self._scale[self._available_a <= 0] = 0.0
        thresholds = _HALF
        if show_time_s is not None and not self._dither.plain:
            thresholds = self._dither.thresholds(show_time_s)
        if thresholds is not _HALF or (self._scale < 1).any():
            lit_a = self._quantise_scaled(planes, thresholds, codes, used)
        amps = self.power.idle_a() + lit_a
        return LimitedFrame(codes.T, amps, self._scale.copy(), wanted_a, self._idle_over_budget.copy())

    def follow(self, other: "BudgetLimiter") -> None:
        """Goes on from the scales of a limiter of the same supplies."""
        self._scale = other._scale

    def take_back(self) -> None:
        """The last frame is not shown after all: the next one is limited as if it had not been."""
        self._scale = self._scale_before

    def _limit_by(self, budget_a: NDArray[np.float64]) -> None:
        idle_a = self.power.idle_a()
        self.budget_a = budget_a
        self._idle_over_budget = idle_a > budget_a
        self._available_a = np.maximum(budget_a - idle_a, 0.0)
        self._target_a = self._available_a - np.minimum(self._half_code_a, self._available_a * _RESERVE_SHARE)

    def _to_emitters(self, linear: NDArray[np.float32]) -> NDArray[np.float32]:
        planes = self._planes
        colour = planes[:3]
        np.fmax(linear.T, np.float32(0), out=colour)  # fmax also turns what is no number into 0
        np.minimum(colour, np.float32(1), out=colour)
        for pixels, light in self._whites:
            separate_white(colour[:, pixels], light, planes[3, pixels])
        planes *= self._gains
        return planes

    def _quantise_scaled(
        self,
        planes: NDArray[np.float32],
        thresholds: NDArray[np.float32],
        codes: NDArray[np.uint8],
        used: NDArray[np.uint8],
    ) -> NDArray[np.float64]:
        scale = self._scale.astype(np.float32)
        scaled = planes
        if (scale < 1).any():
            scaled = np.multiply(planes, scale[self.power.supply_of_pixel], out=self._scaled)
        _quantise(scaled, thresholds, self._scaled, used)
        lit_a = self.power.lit_a(codes.T)
        over = self.power.idle_a() + lit_a > self.budget_a
        if over.any():
            # A millionth less covers what float32 may have rounded up; floored, the sum then stays below the target.
            scale[over] *= np.float32(1 - 1e-6)
            of_over = over[self.power.supply_of_pixel]
            floored = planes[:, of_over] * scale[self.power.supply_of_pixel[of_over]]
            used[:, of_over] = floored.astype(np.uint8)
            lit_a = self.power.lit_a(codes.T)
        return lit_a


def _quantise(
    values: NDArray[np.float32],
    thresholds: NDArray[np.float32],
    scratch: NDArray[np.float32],
    codes: NDArray[np.uint8],
) -> None:
    """The whole part of `values` 0..255 + `thresholds` above 0 and below 1; those of a half round."""
    np.add(values, thresholds, out=scratch)
    np.copyto(codes, scratch, casting="unsafe")


def _emitters(body: DesiredBody) -> tuple[NDArray[np.float32], tuple[tuple[slice, NDArray[np.float32]], ...]]:
    """Codes at full scale after white balance, emitters x pixels; and the pixels that have a white emitter, with its
    light."""
    slices = channel_slices(body)
    whites = tuple(
        (slices[channel.number], white_light(channel))
        for channel in body.channels
        if "W" in channel.pixel_type.colour_order
    )
    pixels = sum(channel.pixels for channel in body.channels)
    gains = np.zeros((4 if whites else 3, pixels), dtype=np.float32)
    for channel in body.channels:
        balance = channel.white_balance
        full = np.array([balance.red, balance.green, balance.blue, balance.white], dtype=np.float32) * 255
        gains[:, slices[channel.number]] = full[: len(gains), None]
    return gains, whites
