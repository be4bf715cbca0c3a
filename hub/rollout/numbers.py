"""Revision numbers of a venue: none is used twice, and none is below what a node shows already."""

from typing import Final

from hub.fleet.state import NodeState
from hub.rollout.standing import Standing

LARGEST_REVISION_JUMP: Final = 1_000_000
RESTATE_DELAY_S: Final = 60.0
LONGEST_RESTATE_DELAY_S: Final = 86_400.0


class RevisionNumbers:
    """On the fleet loop's thread."""

    def __init__(self) -> None:
        self.newest = 0
        self._highest_held = 0
        self._contradicted = False
        self._restate_from_s = float("-inf")
        self._restate_delay_s = RESTATE_DELAY_S

    def next(self, kept: int | None = None) -> int:
        """A number above everything known; `kept` itself where nothing is above it."""
        highest = max(self.newest, self._highest_held)
        return kept if kept is not None and kept >= highest else highest + 1

    def begun(self, revision: int) -> None:
        """Whatever contradicted the hub so far is answered by a newer revision."""
        self.newest = max(self.newest, revision)
        self._contradicted = False

    def note(self, node: NodeState, standing: Standing) -> None:
        """What a node says that it holds. A node that shows what this hub does not know contradicts it."""
        if node.reported is None:
            return
        showing = node.reported.showing
        for held in (node.reported.staged, showing):
            # A claim far beyond what is known is not believed: it would use up the numbers.
            if held is not None and held.revision <= self.newest + LARGEST_REVISION_JUMP:
                self._highest_held = max(self._highest_held, held.revision)
        followed = standing.follows(node.node)
        if followed is None or showing is None or not node.online or showing.revision > self._highest_held:
            return
        if showing != followed.held_by(node.node):
            self._contradicted |= showing.revision >= followed.revision

    def wants_restating(self, now_s: float) -> bool:
        """Whether nodes show what this hub cannot overrule (a database was lost, say): only a newer revision can."""
        if not self._contradicted or now_s < self._restate_from_s:
            return False
        self._restate_from_s = now_s + self._restate_delay_s
        self._restate_delay_s = min(2 * self._restate_delay_s, LONGEST_RESTATE_DELAY_S)
        return True
