"""A revision made ready to show: everything that is costly or may fail is done before its take."""

import numpy as np
from numpy.typing import NDArray

from node_agent.frame_rate import frame_period_s
from node_agent.limiter import BudgetLimiter, LimitedFrame
from node_agent.outputs import encoder_for
from node_agent.render import Renderer
from schemas import Desired, DesiredChannel, Grant, Scene

Codes = NDArray[np.uint8]
Linear = NDArray[np.float32]


class PreparedRevision:
    """Renders, limits and encodes one revision on its node. One thread at a time uses it.

    Raises PlacementError where zones and channels do not fit together, OutputError where a pixel type's timing cannot
    be produced.
    """

    def __init__(self, desired: Desired) -> None:
        body = desired.body
        self.desired = desired
        self.scene: Scene | None = next((scene for scene in body.scenes if scene.id == body.showing), None)
        self._renderer = Renderer(body)
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

    def linear(self, show_s: float) -> Linear:
        """Linear RGB of the showing scene, shape (pixels, 3), a new array; darkness where no scene shows."""
        if self.scene is None:
            return np.zeros((self.pixel_count, 3), dtype=np.float32, order="F")
        return self._renderer.render(self.scene, show_s)

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

    def try_one_frame(self, show_s: float) -> None:
        """Renders, limits and encodes one frame, so that what cannot be shown fails now.

        By a limiter of its own: what a revision shows must not depend on when it was staged.
        """
        self.encode(BudgetLimiter(self.desired.body).limit(self.linear(show_s), 0.0, show_s).codes)
