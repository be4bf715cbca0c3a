"""What a whole venue shows at a show time: each node what it follows, limited as the boards limit it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from hub.rollout import InForce
from hub.scenes.bearing import bearing_on_light
from hub.scenes.followed import Followed, Rollouts, followed_by
from hub.scenes.lights import Linear, VenueLights
from hub.scenes.look import Look, carried, taken, turned


@dataclass(slots=True, eq=False)
class _Part:
    """Nodes that follow the same and have one history."""

    followed: Followed
    nodes: tuple[str, ...]
    look: Look | None
    cut: bool = False
    """Since the last frame."""
    masks: dict[VenueLights, NDArray[np.bool_]] = field(default_factory=dict)

    def mask(self, lights: VenueLights) -> NDArray[np.bool_]:
        """Which pixels of `lights` are those of its nodes."""
        if lights not in self.masks:
            self.masks[lights] = lights.pixels_of(self.nodes)
        return self.masks[lights]


class VenueLook:
    """One thread uses it, with show times that go forward."""

    def __init__(self, venue: str, rollouts: Rollouts) -> None:
        self._venue = venue
        self._rollouts = rollouts
        self._following: tuple[InForce, Mapping[str, InForce]] | None = None
        self._parts: list[_Part] = []
        self._lights: dict[int, VenueLights] = {}
        self._drawn: VenueLights | None = None

    def frame(self, show_s: float, elapsed_s: float) -> tuple[int, bytes] | None:
        """The revision that most nodes show, and the elevation of the revision in force for screens.

        None where nothing shows yet. `elapsed_s` since the frame before, for the limiter.
        """
        if not self._advance(show_s):
            return None
        looks = [(part, part.look) for part in self._parts if part.look is not None]
        if not looks or self._drawn is None:
            return None
        drawn = self._drawn
        if all(part.cut for part in self._parts):
            elapsed_s = math.inf  # the limiters do not rise slowly from what another scene needed
        for part in self._parts:
            part.cut = False
        codes = self._codes(drawn, show_s, elapsed_s)
        for other in dict.fromkeys(look.lights for _, look in looks if look.lights is not drawn):
            # A batch that is wired otherwise: its codes stand where the drawn wiring has the same pixel.
            theirs = carried(self._codes(other, show_s, elapsed_s), other, drawn)
            for part, look in looks:
                if look.lights is other:
                    codes[part.mask(drawn)] = theirs[part.mask(drawn)]
        return looks[0][1].followed.in_force.revision, drawn.for_screen(codes)

    def _advance(self, show_s: float) -> bool:
        """Whether anything is in force."""
        in_force, ahead = self._rollouts.in_force(self._venue), self._rollouts.ahead(self._venue)
        if in_force is None:
            self._following, self._parts, self._drawn = None, [], None
            return False
        if self._following is None:
            before = self._rollouts.shown_before(self._venue)
            if before is not None and show_s < _fades_until_s(in_force):
                self._follow(before, {}, show_s)
            if ahead:
                self._follow(in_force, {}, show_s)
        if self._following is None or self._following[0] is not in_force or self._following[1] != ahead:
            self._follow(in_force, ahead, show_s)
        self._look(show_s)
        if self._drawn is None or show_s >= in_force.take.at_ms / 1_000:
            self._drawn = self._lights_of(in_force)
        return True

    def _follow(self, in_force: InForce, ahead: Mapping[str, InForce], show_s: float) -> None:
        looks = {node: part.look for part in self._parts for node in part.nodes}
        self._parts = []
        for followed in followed_by(dict.fromkeys(in_force.prepared.documents, in_force) | dict(ahead)):
            histories: dict[int, list[str]] = {}
            for node in followed.nodes:
                histories.setdefault(id(looks.get(node)), []).append(node)
            self._parts += [_Part(followed, tuple(nodes), looks.get(nodes[0])) for nodes in histories.values()]
        self._following = in_force, dict(ahead)
        self._look(show_s)
        used = {in_force.revision, *(part.followed.in_force.revision for part in self._parts)}
        used |= {part.look.followed.in_force.revision for part in self._parts if part.look is not None}
        self._lights = {revision: lights for revision, lights in self._lights.items() if revision in used}

    def _look(self, show_s: float) -> None:
        for part in self._parts:
            look = self._looking(part.look, part.followed, show_s)
            part.cut |= look is not part.look and look is not None and look.cut
            part.look = look

    def _looking(self, look: Look | None, followed: Followed, show_s: float) -> Look | None:
        in_force = followed.in_force
        another = look is None or look.followed.in_force.revision != in_force.revision
        if another and show_s >= followed.take.at_ms / 1_000:
            return taken(followed, self._lights_of(in_force), show_s, look)
        return None if look is None else turned(look, show_s)

    def _lights_of(self, in_force: InForce) -> VenueLights:
        """Made once for all revisions that light up alike, so that the limiter goes on."""
        if in_force.revision not in self._lights:
            prepared = in_force.prepared
            bearing = bearing_on_light(prepared.venue)
            alike = (known for known in self._lights.values() if bearing_on_light(known.venue) == bearing)
            bodies = {node: compiled.body for node, compiled in prepared.documents.items()}
            self._lights[in_force.revision] = next(alike, None) or VenueLights(prepared.venue, bodies)
        return self._lights[in_force.revision]

    def _codes(self, lights: VenueLights, show_s: float, elapsed_s: float) -> NDArray[np.uint8]:
        """What the nodes whose looks are of `lights` send, shape (pixels, 4); the others are dark."""
        known: dict[tuple[VenueLights, str | None], Linear] = {}

        def rendered(of: VenueLights, scene: str | None) -> Linear:
            if (of, scene) not in known:
                known[of, scene] = of.linear(scene, show_s)
            return known[of, scene]

        parts = [(part, part.look) for part in self._parts if part.look is not None and part.look.lights is lights]
        if len(parts) == len(self._parts) == 1:
            return lights.limit(parts[0][1].linear(show_s, rendered), elapsed_s).codes
        frame = np.zeros((lights.pixels, 3), dtype=np.float32, order="F")
        for part, look in parts:
            mask = part.mask(lights)
            frame[mask] = look.linear(show_s, rendered)[mask]
        return lights.limit(frame, elapsed_s).codes


def _fades_until_s(in_force: InForce) -> float:
    takes = (in_force.take, *in_force.takes_apart.values())
    return max(take.at_ms + take.fade_ms for take in takes) / 1_000
