"""A revision made ready to show: everything that is costly or may fail is done before its take."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from node_agent.frame_rate import frame_period_s
from node_agent.limiter import BudgetLimiter, LimitedFrame
from node_agent.outputs import encoder_for
from node_agent.render import Renderer
from schemas import Desired, DesiredBody, DesiredChannel, Grant, Shown, next_timed_take, shown_at

Codes = NDArray[np.uint8]
Linear = NDArray[np.float32]
SCENES_KEPT: Final = 3
"""What shows, what it fades from, what comes next: a scene of three layers over 2,048 pixels is half a MiB."""


class PreparedRevision:
    """Renders, limits and encodes one revision on its node. One thread at a time uses it.

    Raises PlacementError where zones and channels do not fit together, OutputError where a pixel type's timing cannot
    be produced.
    """

    def __init__(self, desired: Desired) -> None:
        body = desired.body
        self.desired = desired
        self._scenes = {scene.id: scene for scene in body.scenes}
        self._renderer = Renderer(body, SCENES_KEPT)
        self._limiter = BudgetLimiter(body)
        self._obeyed: Grant | None = None
        self.channels: dict[int, DesiredChannel] = {channel.number: channel for channel in body.channels}
        self.encoders = {
            number: encoder_for(channel.pixel_type, channel.pixels) for number, channel in self.channels.items()
        }
        self.supplies = self._limiter.supplies
        self.slices = self._renderer.channel_slices
        self.pixel_count = self._renderer.pixel_count
        self.dark_frames = self.encode(np.zeros((self.pixel_count, 4), dtype=np.uint8))
        self.wire_time_s = max((encoder.wire_time_s for encoder in self.encoders.values()), default=0.0)
        self.period_s = frame_period_s(body)

    @property
    def revision(self) -> int:
        return self.desired.revision

    def shown(self, show_s: float) -> Shown:
        """What shows at a show time: the scene that was chosen, or that of a timed take."""
        return shown_at(self.desired.body, _show_ms(show_s))

    def make_ready(self, after_s: float, until_s: float) -> None:
        """Prepares the scene of the timed take that comes within this time, if any: its first frame is then in time."""
        coming = next_timed_take(self.desired.body, _show_ms(after_s))
        if coming and coming.scene is not None and coming.at_ms <= _show_ms(until_s):
            self._renderer.prepare(self._scenes[coming.scene])

    def linear(self, scene: str | None, show_s: float) -> Linear:
        """Linear RGB of one of the revision's scenes, shape (pixels, 3), a new array; darkness for None."""
        if scene is None:
            return np.zeros((self.pixel_count, 3), dtype=np.float32, order="F")
        return self._renderer.render(self._scenes[scene], show_s)

    def same_scene(self, scene: str | None, other: "PreparedRevision", others: str | None) -> bool:
        """Whether `scene` of this revision is, layer for layer, `others` of the other one."""
        return self._scenes.get(scene or "") == other._scenes.get(others or "")

    def renders_as(self, other: "PreparedRevision") -> bool:
        """Whether a scene makes the same light in both revisions."""
        ours, theirs = self.desired.body, other.desired.body
        return (ours.channels, ours.zones, ours.master_level) == (theirs.channels, theirs.zones, theirs.master_level)

    def follow(self, other: "PreparedRevision") -> None:
        """The next frame comes after one of `other`: on the same wiring the limiter goes on from there."""
        if other is not self and self.desired.body.channels == other.desired.body.channels:
            self._limiter.follow(other._limiter)

    def obey(self, grant: Grant | None) -> None:
        """From the next frame on it is limited by this grant; by None, to nothing. Until it is told, by its budgets."""
        if grant is None or grant is not self._obeyed:
            granted = () if grant is None else grant.supplies
            self._limiter.grant({budget.supply: budget.budget_a for budget in granted})
            self._obeyed = grant

    def limit(self, linear: Linear, elapsed_s: float, show_s: float) -> LimitedFrame:
        return self._limiter.limit(linear, elapsed_s, show_s)

    def take_back(self) -> None:
        """The frame that was limited last is not shown."""
        self._limiter.take_back()

    def encode(self, codes: Codes) -> dict[int, bytes]:
        """The bytes of each channel's data line; a copy, since a frame may be encoded twice while one is being sent."""
        return {number: bytes(encoder.encode(codes[self.slices[number]])) for number, encoder in self.encoders.items()}

    def try_frames(self, show_s: float) -> None:
        """Renders, limits and encodes a frame of every scene that may show, so that what cannot be shown fails now.

        By a limiter of its own: what a revision shows must not depend on when it was staged.
        """
        limiter = BudgetLimiter(self.desired.body)
        for scene in reversed(scenes_that_may_show(self.desired.body)):
            self.encode(limiter.limit(self.linear(scene, show_s), math.inf, show_s).codes)


def scenes_that_may_show(body: DesiredBody) -> tuple[str | None, ...]:
    """The scene that was chosen and those of the timed takes, each once; None is darkness."""
    return tuple(dict.fromkeys((body.showing, *(take.scene for take in body.timetable))))


def _show_ms(show_s: float) -> float:
    """To the microsecond: the show time of a take in seconds is then its milliseconds again, whatever the rounding."""
    return round(show_s * 1_000, 3)
