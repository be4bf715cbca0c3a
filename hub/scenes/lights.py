"""A venue's light as its nodes show it: rendered and limited by the boards' own code, encoded for screens."""

from collections.abc import Callable, Collection, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.desired import join_bodies
from hub.desired.budgets import share_budgets
from hub.desired.compile import pixel_types_of
from hub.desired.work_light import scenes_with_work_light
from node_agent.limiter import BudgetLimiter, LimitedFrame
from node_agent.render import Renderer
from node_agent.separation import white_light
from schemas import DesiredBody, DesiredChannel, Scene, Venue

Linear = NDArray[np.float32]

_SCREEN_STEPS: Final = 16_384


def _srgb_table() -> NDArray[np.uint8]:
    linear = np.linspace(0.0, 1.0, _SCREEN_STEPS)
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    codes: NDArray[np.uint8] = np.rint(encoded * 255).astype(np.uint8)
    return codes


_SRGB: Final = _srgb_table()


def srgb_codes(light: Linear) -> NDArray[np.uint8]:
    """Linear light 0..1 to 8-bit sRGB (IEC 61966-2-1)."""
    places = light * np.float32(_SCREEN_STEPS - 1)
    places += np.float32(0.5)
    return _SRGB[places.astype(np.uint16)]


class VenueLights:
    """Renderer and limiter of a whole venue, each node within its fixed share of every supply.

    One thread uses it: the limiter remembers, the renderer reuses buffers.
    """

    def __init__(self, venue: Venue, bodies: Mapping[str, DesiredBody]) -> None:
        self.venue = venue
        shares = share_budgets(venue, pixel_types_of(venue))
        scenes = scenes_with_work_light(venue)
        self.joined = join_bodies(bodies, scenes, shares)
        self.renderer = Renderer(self.joined.body)
        self.limiter = BudgetLimiter(self.joined.body, self.joined.node_frames)
        self.pixels = self.joined.pixels
        self.extents = {zone.id: zone.extent for zone in self.joined.body.zones}
        self.scenes: Mapping[str, Scene] = {scene.id: scene for scene in scenes}
        self.channel_slices = self._channel_slices()
        self._shown = self._elevation_order()
        self._gains = self._white_balance()
        self._white_light = self._of_channels(white_light)

    def linear(self, scene: str | None, show_s: float) -> Linear:
        """Linear RGB of every pixel, shape (pixels, 3), a new array; no scene is darkness."""
        if scene is None:
            return np.zeros((self.pixels, 3), dtype=np.float32)
        return self.linear_of(self.scenes[scene], show_s)

    def linear_of(self, scene: Scene, show_s: float) -> Linear:
        """As `linear`, of any scene over zones that the venue's own scenes light; layers over others add nothing."""
        return self.renderer.render(scene, show_s)

    def light(self, codes: NDArray[np.uint8]) -> Linear:
        """Linear light 0..1 of every pixel of the elevation, in the elevation's order, shape (pixels, 3).

        A pixel's code is linear light. White balance is taken out again, since it is there to make a run look like
        this; a white emitter adds its own colour. Trims and the master level stay in: they are there to be seen.
        """
        emitters = codes[self._shown].astype(np.float32) / self._gains
        lit: Linear = np.minimum(emitters[:, :3] + emitters[:, 3:] * self._white_light, np.float32(1))
        return lit

    def limit(self, linear: Linear, elapsed_s: float, show_s: float | None = None) -> LimitedFrame:
        """With `show_s` the very codes that the nodes send then; without it rounded, for screens, whose frames fall at
        other times, and for figures."""
        return self.limiter.limit(linear, elapsed_s, show_s)

    def for_screen(self, codes: NDArray[np.uint8]) -> bytes:
        """R, G, B of 8 bits, sRGB-encoded, of every pixel of the elevation, in the elevation's order."""
        return srgb_codes(self.light(codes)).tobytes()

    def pixels_of(self, nodes: Collection[str]) -> NDArray[np.bool_]:
        """Which pixels of the frame are on one of `nodes`."""
        wanted, mask = frozenset(nodes), np.zeros(self.pixels, dtype=np.bool_)
        for (node, _), place in self.channel_slices.items():
            mask[place] = node in wanted
        return mask

    def elevation_offsets(self) -> dict[tuple[str, int, int], int]:
        """Index in the elevation's order of the first pixel of each span, by node, channel and first pixel."""
        offsets: dict[tuple[str, int, int], int] = {}
        offset = 0
        for place, pixels in self._spans():
            offsets[place] = offset
            offset += pixels
        return offsets

    def _spans(self) -> list[tuple[tuple[str, int, int], int]]:
        """Spans in the elevation's order: by node as the venue lists them, channel, pixel."""
        first = self.joined.first_pixel
        spans = [
            (first[span.node, span.channel] + span.first, (span.node, span.channel, span.first), span.pixels)
            for zone in self.venue.zones
            for span in zone.spans
        ]
        return [(place, pixels) for _, place, pixels in sorted(spans)]

    def _channel_slices(self) -> Mapping[tuple[str, int], slice]:
        """Pixels of each (node, channel) in this frame."""
        channels = zip(self.joined.channels, self.joined.body.channels, strict=True)
        first = self.joined.first_pixel
        return {place: slice(first[place], first[place] + channel.pixels) for place, channel in channels}

    def _elevation_order(self) -> NDArray[np.intp]:
        """Index in this frame of each pixel of the elevation."""
        first = self.joined.first_pixel
        ranges = [
            first[node, channel] + np.arange(start, start + pixels, dtype=np.intp)
            for (node, channel, start), pixels in self._spans()
        ]
        return np.concatenate(ranges) if ranges else np.empty(0, dtype=np.intp)

    def _white_balance(self) -> NDArray[np.float32]:
        """Codes that count as full light, of each pixel of the elevation, shape (pixels, 4)."""

        def full(channel: DesiredChannel) -> NDArray[np.float32]:
            balance = channel.white_balance
            return np.array([balance.red, balance.green, balance.blue, balance.white], dtype=np.float32) * 255

        return self._of_channels(full)

    def _of_channels(self, of: Callable[[DesiredChannel], NDArray[np.float32]]) -> NDArray[np.float32]:
        """What each channel says of its pixels, in the elevation's order."""
        rows = [np.tile(of(channel), (channel.pixels, 1)) for channel in self.joined.body.channels]
        return np.concatenate(rows)[self._shown] if rows else np.ones((0, 1), dtype=np.float32)
