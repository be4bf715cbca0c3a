"""What a venue shows at a show time: the revision in force and, while it fades in, what showed before it."""

import numpy as np

from hub.rollout import InForce
from hub.scenes.lights import Linear, VenueLights


class Look:
    """A revision from its take on, mixed in linear light with what was there, as the boards mix it."""

    def __init__(self, in_force: InForce, lights: VenueLights, before: "Look | None") -> None:
        self.revision = in_force.revision
        self.at_s = in_force.take.at_ms / 1_000
        self.lights = lights
        self._scene = in_force.prepared.scene
        self._fade_s = in_force.take.fade_ms / 1_000
        self._before = before
        self._still: Linear | None = None

    def linear(self, show_s: float) -> Linear:
        """Shape (pixels, 3); a new array. `show_s` is at or after the take."""
        frame = self.lights.linear(self._scene, show_s)
        share = (show_s - self.at_s) / self._fade_s if self._fade_s > 0 else 1.0
        if share >= 1:
            self._before = self._still = None
            return frame
        old = self._old(show_s)
        frame -= old
        frame *= np.float32(max(share, 0.0))
        frame += old
        return frame

    def fading(self, show_s: float) -> bool:
        return show_s < self.at_s + self._fade_s

    def _old(self, show_s: float) -> Linear:
        if self._still is None and self._before is not None:
            same = self._before.lights.joined.first_pixel == self.lights.joined.first_pixel
            if same and self._before.lights.pixels == self.lights.pixels and not self._before.fading(self.at_s):
                return self._before.linear(show_s)
            # A look that is itself fading in, or of other wiring, stands still: boards do the same.
            self._still = self._carried(self._before)
        if self._still is None:
            self._still = np.zeros((self.lights.pixels, 3), dtype=np.float32)
        return self._still

    def _carried(self, before: "Look") -> Linear:
        """The last colours before the take, where channel and index match; the rest rises from darkness."""
        last = before.linear(self.at_s)
        carried = np.zeros((self.lights.pixels, 3), dtype=np.float32)
        old = _slices(before.lights)
        for place, new in _slices(self.lights).items():
            if place in old:
                pixels = min(old[place].stop - old[place].start, new.stop - new.start)
                carried[new.start : new.start + pixels] = last[old[place].start : old[place].start + pixels]
        return carried


def _slices(lights: VenueLights) -> dict[tuple[str, int], slice]:
    channels = zip(lights.joined.channels, lights.joined.body.channels, strict=True)
    first = lights.joined.first_pixel
    return {place: slice(first[place], first[place] + channel.pixels) for place, channel in channels}
