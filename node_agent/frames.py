"""What the agent asks of whatever shows its revisions: the frame loop, or a stand-in for nodes without pixels."""

from collections.abc import Callable
from typing import Protocol

from node_agent.board import Board
from node_agent.clock import ShowClock
from node_agent.frame_figures import FrameFigures
from node_agent.inbox import Taken
from node_agent.overlay import Overlay
from node_agent.prepared import PreparedRevision
from schemas import Grant


class Frames(Protocol):
    """Shows one revision at a time. All methods may be called from any thread and return at once, `stop` excepted."""

    figures: FrameFigures

    @property
    def period_s(self) -> float | None:
        """Time between frames; None while nothing shows."""

    def start(self, prepared: PreparedRevision | None = None, taken_at_s: float = 0.0) -> None:
        """Begins; `prepared`, taken before the start, shows at once."""

    def take(self, prepared: PreparedRevision, at_s: float, fade_s: float) -> None:
        """Shows a revision from a show time on; one that is past means now, in phase. Replaces a take still to come."""

    def cancel_take(self) -> None: ...

    def obey(self, grant: Grant) -> None:
        """Limits every frame from the next on by this grant; before the first one nothing lights."""

    def overlay(self, overlay: Overlay) -> None:
        """Shows it over the scene, in place of any other, until its time is over."""

    def stop(self) -> None:
        """Ends; every pixel goes dark."""


class MakeFrames(Protocol):
    """Makes them. `on_taken` is told of each first frame of a revision or of a timed take, `on_wires` of each grant
    that every data line has sent a frame under."""

    def __call__(
        self, clock: ShowClock, board: Board, on_taken: Callable[[Taken], None], on_wires: Callable[[int], None]
    ) -> Frames: ...
