"""Live frames against the boards' own rules: each node's look made by the agent's code, take by take."""

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.rollout import InForce
from hub.rollout.kept_choices import KeptChoices
from hub.scenes.lights import VenueLights
from hub.scenes.venue_look import VenueLook
from node_agent.prepared import PreparedRevision
from node_agent.takes import Look, taken, turned
from schemas import Desired, Venue
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.scenes.shown import Shown, in_force
from tests.hub.scenes.test_venue_look import chosen, timed

FRAME_S = 0.02
BEGINS_S, ENDS_S = 100.0, 112.0


def moving() -> Venue:
    """Two scenes that move, and one that asks for more than the supplies give."""
    document = row_document(nodes=3, pixels=60)
    wave = {"pattern": "wave", "along": "x", "wavelength_m": 2.0, "speed_m_per_s": 0.5}
    document["scenes"] = [
        {
            "id": "red",
            "title": "Red",
            "layers": [{"zone": "band", "pattern": wave | {"crest": "#ff0000", "trough": "#110000"}}],
        },
        {
            "id": "blue",
            "title": "Blue",
            "layers": [{"zone": "band", "pattern": wave | {"crest": "#0000ff", "trough": "#002200"}}],
        },
        {
            "id": "white",
            "title": "White",
            "layers": [{"zone": "band", "pattern": {"pattern": "wash", "colour": "#ffffff"}}],
        },
    ]
    return venue_from(document | {"opening_scene": None})


VENUE = moving()
FIRST, SECOND, THIRD = (node.id for node in VENUE.nodes)
RENAMED = VENUE.model_copy(update={"title": "Another", "time_zone": "Asia/Tokyo"})
TIMED = (timed(102.0, "blue", 2.0), timed(103.0, "red", 1.0), timed(106.0, "red", 1.0), timed(109.0, None, 1.5))
STORIES = {
    # (from when the hub knows of it, revision)
    "timed takes, one of them during the fade of another": [
        (0.0, in_force(VENUE, None, kept=KeptChoices(common=chosen("red"), timetable=TIMED)))
    ],
    "a refresh during a fade, then a take by hand": [
        (0.0, in_force(VENUE, None, kept=KeptChoices(common=chosen("red"), timetable=TIMED))),
        (
            102.5,
            in_force(
                RENAMED, None, revision=2, at_s=102.8, kept=KeptChoices(common=chosen("red"), timetable=TIMED[:-1])
            ),
        ),
        (106.5, in_force(RENAMED, "white", revision=3, at_s=107.0, fade_s=2.0)),
    ],
    "nodes apart, brought together by the timetable": [
        (0.0, in_force(VENUE, "blue")),
        (
            103.0,
            in_force(
                VENUE,
                None,
                revision=2,
                at_s=104.0,
                fade_s=1.0,
                kept=KeptChoices(
                    common=chosen("blue"), apart={SECOND: chosen("red", 104.0)}, timetable=(timed(108.0, "white", 0.5),)
                ),
            ),
        ),
    ],
}


class Boards:
    """Every node's look, from the documents that the hub compiled, by the agent's code."""

    def __init__(self) -> None:
        self._looks: dict[str, Look] = {}
        self._last: dict[str, NDArray[np.float32]] = {}
        self._prepared: dict[tuple[str, int], PreparedRevision] = {}

    def linear(self, shown: Shown, show_s: float) -> NDArray[np.float32]:
        """Of all nodes, in the venue's order."""
        assert shown.now is not None
        frames = []
        for node, compiled in shown.now.prepared.documents.items():
            revision, take = shown.now.revision, shown.now.take
            if (node, revision) not in self._prepared:
                desired = Desired(
                    venue="arcade", node=node, revision=revision, sha256=compiled.sha256, body=compiled.body
                )
                self._prepared[node, revision] = PreparedRevision(desired)
            prepared = self._prepared[node, revision]
            look, last = self._looks.get(node), self._last.get(node)
            if (look is None or look.prepared is not prepared) and show_s >= take.at_ms / 1_000:
                look = taken(prepared, take.at_ms / 1_000, take.fade_ms / 1_000, show_s, look, last)
            elif look is not None and look.prepared.shown(show_s) != look.shown:
                look = turned(look, look.prepared.shown(show_s), last)
            assert look is not None
            self._looks[node], self._last[node] = look, look.linear(show_s)
            frames.append(self._last[node])
        return np.concatenate(frames)


def light(screen: bytes) -> NDArray[np.float64]:
    """Linear light 0..1 of sRGB codes (IEC 61966-2-1)."""
    value = np.frombuffer(screen, np.uint8) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("story", STORIES.values(), ids=STORIES)
def test_hub_draws_what_the_boards_show(story: list[tuple[float, InForce]]) -> None:
    shown, boards = Shown(VENUE), Boards()
    look = VenueLook("arcade", shown)
    lights = VenueLights(VENUE, {node: one.body for node, one in story[0][1].prepared.documents.items()})
    brightest = 0.0
    for show_s in np.arange(BEGINS_S, ENDS_S, FRAME_S):
        told = [one for known_s, one in story if known_s <= show_s]
        shown.now, shown.before = told[-1], told[-2] if len(told) > 1 else None
        drawn = look.frame(float(show_s), 1_000.0)
        assert drawn is not None
        expected = light(lights.for_screen(lights.limit(boards.linear(shown, float(show_s)), 1_000.0).codes))
        # What fades from a fade stands still: at its take here, at the frame before it there.
        np.testing.assert_allclose(light(drawn[1]), expected, rtol=0, atol=0.03, err_msg=f"at {show_s}")
        brightest = max(brightest, float(expected.max()))
    assert brightest > 0.5
