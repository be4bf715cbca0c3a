"""Scenes by chance, thousands: each renders to light, in bounded time, or is refused with the field and the remedy.

They are read as a person's venue is read. `STRINGCOURSE_FUZZ_SCENES` makes more of them, `STRINGCOURSE_FUZZ_SEED`
others.
"""

import json
import os
import time
from collections import Counter
from typing import Final

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.desired import compile_bodies, join_bodies
from hub.errors import InvalidError, Mistake
from hub.scenes.period import LONGEST_WINDOW_S, window_of
from hub.venue_file import read_venue
from node_agent.render import Renderer
from schemas import Scene
from tests.node_agent.render.chance_scenes import SceneMaker

Frame = NDArray[np.float32]

SEED: Final = int(os.environ.get("STRINGCOURSE_FUZZ_SEED", "4"))
SCENES: Final = int(os.environ.get("STRINGCOURSE_FUZZ_SCENES", "2000"))
BLOCKS: Final = 4
SHOW_TIMES_S: Final = (0.0, 1.7, 1.8e9 + 0.123)
PREPARE_WITHIN_S: Final = 0.5
"""32 patterns over 350 pixels. Time of this thread's own work, so that a busy machine fails nothing."""
FRAME_WITHIN_S: Final = 0.05
REFUSE_WITHIN_S: Final = 0.5


def _span(node: str, channel: int, first: int, pixels: int, *path: tuple[float, float]) -> dict[str, object]:
    return {"node": node, "channel": channel, "first": first, "pixels": pixels, "path": path}


# Zones of odd shapes: a board with rows, which two boards share, and one with what else there is.
ROWS = [_span("left", row % 2 + 1, row // 2 * 12, 12, (0.0, 0.1 * row), (1.2, 0.1 * row)) for row in range(7)]
ROWS += [_span("right", row % 2 + 1, row // 2 * 13, 13, (1.2, 0.1 * row), (2.5, 0.1 * row)) for row in range(7)]
ZONES: Final = {
    "rows": ROWS,
    "one-pixel": [_span("odd", 1, 0, 1, (4.0, 4.0), (4.0, 4.0))],
    "point": [_span("odd", 1, 1, 9, (4.0, 4.0), (4.0, 4.0))],
    "upright": [_span("odd", 1, 10, 30, (3.0, 0.0), (3.0, 2.0))],
    "huge": [_span("odd", 1, 40, 20, (-10_000.0, -10_000.0), (10_000.0, 10_000.0))],
    "tiny": [_span("odd", 1, 60, 20, (5.0, 5.0), (5.0 + 1e-9, 5.0 - 1e-300))],
    "spans": [_span("odd", 2, 2 * n, 1, (n * 0.3, n % 5 * 0.2), (n * 0.3 + 0.1, n % 5 * 0.2)) for n in range(20)],
    "bent": [_span("odd", 2, 1, 1, (0.0, 0.0), (1.0, 1.0), (0.0, 1.0), (1.0, 0.0), (0.0, 0.0))],
}
JOINED: Final = {"all": [*ZONES], "both": ["upright", "rows"]}
VENUE: Final = {
    "id": "fuzz",
    "title": "Fuzz",
    "supplies": [{"id": "five-volts", "title": "5 V", "volts": 5.0, "rated_a": 60.0}],
    "nodes": [
        {
            "id": node,
            "outputs": 2,
            "channels": [
                {
                    "number": number,
                    "pin": f"spidev{number}.0",
                    "run": {
                        "pixel_type": "rgb-5v-nrz800",
                        "pixels": 120,
                        "pixels_per_m": 60.0,
                        "feeds": [{"supply": "five-volts", "wire_mm2": 1.5, "length_m": 1.0}],
                    },
                }
                for number in (1, 2)
            ],
        }
        for node in ("left", "right", "odd")
    ],
    "zones": [
        *({"id": name, "spans": spans} for name, spans in ZONES.items()),
        *({"id": name, "of": names} for name, names in JOINED.items()),
    ],
}
EVERY_ZONE: Final = [*ZONES, *JOINED]


def venue_text(scene: str) -> bytes:
    return f'{json.dumps(VENUE)[:-1]}, "scenes": [{scene}]}}'.encode()


class Front:
    """The venue's renderers: of each node by itself, and of all as one."""

    def __init__(self) -> None:
        layers = [{"zone": zone, "pattern": {"pattern": "wash", "colour": "red"}} for zone in EVERY_ZONE]
        venue = read_venue(venue_text(json.dumps({"id": "s", "title": "S", "layers": layers})), is_json=True)
        bodies = compile_bodies(venue, None, 5.0)
        self.nodes = [Renderer(body) for body in bodies.values()]
        self.whole = Renderer(join_bodies(bodies, (), dict.fromkeys(bodies, ())).body)
        self.extents = {zone.id: zone.extent for body in bodies.values() for zone in body.zones}


@pytest.fixture(scope="module")
def front() -> Front:
    return Front()


@pytest.mark.parametrize("block", range(BLOCKS))
def test_every_scene_renders_or_is_refused_with_field_and_remedy(front: Front, block: int) -> None:
    outcomes: Counter[str] = Counter()
    shown: Counter[str] = Counter()
    for number in range(block, SCENES, BLOCKS):
        text = SceneMaker(SEED * 1_000_003 + number, EVERY_ZONE).scene()
        try:
            outcomes[_outcome(front, text, shown, joined=number % 16 < BLOCKS)] += 1
        except Exception as error:
            error.add_note(f"scene {number} of seed {SEED}: {text[:2_000]}")
            raise
    # Neither outcome may be rare, or the fuzz would prove nothing; nor may a pattern be missing.
    assert min(outcomes["shown"], outcomes["refused"]) >= SCENES / BLOCKS / 3, outcomes
    assert min(shown.values()) >= 20, shown


def _outcome(front: Front, text: str, shown: Counter[str], *, joined: bool) -> str:
    started = time.thread_time()
    try:
        venue = read_venue(venue_text(text), is_json=True)
    except InvalidError as error:
        assert time.thread_time() - started < REFUSE_WITHIN_S
        _must_be_clear(error.mistakes)
        return "refused"
    (scene,) = venue.scenes
    shown.update(pattern.pattern for layer in scene.layers for pattern in (layer.pattern, layer.mask) if pattern)
    assert 0 <= window_of(scene, front.extents).length_s <= LONGEST_WINDOW_S
    frames = _frames(front.whole, scene)
    assert np.isfinite(frames).all()
    assert 0 <= frames.min() <= frames.max() <= 1
    if joined:
        parts = [_frames(node, scene) for node in front.nodes]
        assert np.concatenate(parts, axis=1).tobytes() == frames.tobytes()
    return "shown"


def _frames(renderer: Renderer, scene: Scene) -> Frame:
    frames = [_timed(renderer, scene, SHOW_TIMES_S[0], PREPARE_WITHIN_S)]
    frames += [_timed(renderer, scene, show_time_s, FRAME_WITHIN_S) for show_time_s in SHOW_TIMES_S[1:]]
    return np.ascontiguousarray(frames)


def _timed(renderer: Renderer, scene: Scene, show_time_s: float, within_s: float) -> Frame:
    started = time.thread_time()
    frame = renderer.render(scene, show_time_s)
    assert time.thread_time() - started < within_s
    return frame


def _must_be_clear(mistakes: tuple[Mistake, ...]) -> None:
    assert mistakes
    for mistake in mistakes:
        assert 0 < len(mistake.field) < 400, mistake
        assert mistake.reason
        assert mistake.remedy
        assert len(mistake.reason) + len(mistake.remedy) < 1_500, mistake
        assert (mistake.field + mistake.reason + mistake.remedy).isprintable(), mistake
