import asyncio
import struct
from collections.abc import AsyncIterator

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.desired import compile_bodies
from hub.errors import UnavailableError
from hub.scenes import LiveFrames, VenueLights
from hub.scenes.frames import MAX_VIEWERS
from hub.scenes.lights import srgb_codes
from node_agent.limiter import BudgetLimiter
from node_agent.render import Renderer
from schemas import Venue
from tests.hub.desired.venues import row_document, row_venue, venue_from
from tests.hub.scenes.shown import Shown, in_force
from tests.processes import wait_until

DEADLINE_S = 5.0


class Clock:
    """Show time that a test sets."""

    def __init__(self, now_s: float) -> None:
        self.now_s = now_s

    def __call__(self) -> float:
        return self.now_s


def _split(record: bytes) -> tuple[float, int, NDArray[np.uint8]]:
    length, show_s, revision = struct.unpack_from("<IdI", record)
    assert length == len(record) - 4
    return show_s, revision, np.frombuffer(record, np.uint8, offset=16).reshape(-1, 3)


async def _next(stream: AsyncIterator[bytes]) -> tuple[float, int, NDArray[np.uint8]]:
    return _split(await asyncio.wait_for(anext(stream), DEADLINE_S))


async def _next_at(stream: AsyncIterator[bytes], show_s: float) -> NDArray[np.uint8]:
    while True:
        shown_s, _, rgb = await _next(stream)
        if shown_s == show_s:
            return rgb


def _greys() -> Venue:
    """Scenes of one grey each: black, and #303030."""
    document = row_document(nodes=2)
    document["scenes"] = [
        {
            "id": f"grey-{level}",
            "title": "Grey",
            "layers": [{"zone": "band", "pattern": {"pattern": "wash", "colour": f"#{level * 3}"}}],
        }
        for level in ("00", "30")
    ]
    return venue_from(document | {"opening_scene": None})


GREYS = _greys()


async def _ends(stream: AsyncIterator[bytes]) -> bool:
    """Whether the stream ends within some frames."""
    for _ in range(100):
        try:
            await _next(stream)
        except StopAsyncIteration:
            return True
    return False


def test_srgb_of_linear_light_is_that_of_iec_61966_2_1() -> None:
    # IEC 61966-2-1: the linear light of codes 1, 10, 64, 128 and 188, computed independently from its formula.
    linear = np.array([0.00030353, 0.00303527, 0.05126946, 0.21586050, 0.50288646, 0.0, 1.0], dtype=np.float32)
    assert srgb_codes(linear).tolist() == [1, 10, 64, 128, 188, 0, 255]


@pytest.mark.parametrize("show_s", [None, 12.34, 1_800_000_000.0125])
def test_elevation_shows_what_each_node_computes_for_itself(show_s: float | None) -> None:
    document = row_document(nodes=3, pixels=30)
    for node, limit_hz in zip(document["nodes"], (None, 60.0, 25.0), strict=True):
        node["frame_rate_limit_hz"] = limit_hz
    venue = venue_from(document)
    bodies = compile_bodies(venue, "dusk", 5.0)
    lights = VenueLights(venue, bodies)
    codes = lights.limit(lights.linear("dusk", 12.34), 0.0, show_s).codes
    of_nodes = []
    for body in bodies.values():
        scene = next(scene for scene in body.scenes if scene.id == "dusk")
        of_nodes.append(BudgetLimiter(body).limit(Renderer(body).render(scene, 12.34), 0.0, show_s).codes)
    np.testing.assert_array_equal(codes, np.concatenate(of_nodes))


def test_each_node_keeps_to_its_own_share_in_the_elevation() -> None:
    document = row_document(nodes=2, pixels=75)
    document["supplies"][1]["rated_a"] = 40.0
    venue = venue_from(document)
    lights = VenueLights(venue, compile_bodies(venue, "full-white", 5.0))
    frame = lights.limit(lights.linear("full-white", 0.0), 0.0)
    assert frame.amps[0] <= 3.2
    assert frame.scale[0] < 0.4
    assert frame.scale[1] == 1.0


def test_white_balance_is_taken_out_for_screens_and_white_emitters_count() -> None:
    document = row_document(nodes=1, pixels=2)
    for channel, kind in zip(document["nodes"][0]["channels"], ("rgb-5v-nrz800", "rgbw-5v-nrz800"), strict=True):
        channel["run"] |= {"pixel_type": kind, "white_balance": {"red": 1.0, "green": 0.6, "blue": 0.5}}
    venue = venue_from(document)
    lights = VenueLights(venue, compile_bodies(venue, "full-white", 5.0))
    rgb = lights.for_screen(lights.limit(lights.linear("full-white", 0.0), 0.0).codes)
    assert list(rgb) == [255] * 12


def test_dark_frames_come_while_nothing_is_in_force() -> None:
    async def watch() -> None:
        shown = Shown(row_venue(nodes=2, pixels=30))
        frames = LiveFrames(shown, shown, Clock(7.0))
        _, revision, rgb = await _next(frames.watch("arcade", 30))
        assert (revision, rgb.shape, rgb.max()) == (0, (120, 3), 0)
        await asyncio.to_thread(frames.stop)

    asyncio.run(watch())


def test_take_shows_at_its_time_and_crossfades_in_linear_light() -> None:
    async def watch() -> None:
        shown, clock = Shown(GREYS), Clock(99.0)
        shown.before = in_force(GREYS, "grey-30", revision=1, at_s=50.0)
        shown.now = in_force(GREYS, "grey-00", revision=2, at_s=100.0, fade_s=2.0)
        frames = LiveFrames(shown, shown, clock)
        stream = frames.watch("arcade", 30)
        start, revision, rgb = await _next(stream)
        assert (start, revision) == (99.0, 1)
        before = rgb.max()
        clock.now_s = 101.0
        half = (await _next_at(stream, 101.0)).max()
        clock.now_s = 102.0
        assert (await _next_at(stream, 102.0)).max() == 0
        # #303030 is 0.0296 of full light, code 8 of 255; half of it is code 4. As sRGB these are 50 and 34.
        assert (before, half) == (50, 34)
        await asyncio.to_thread(frames.stop)

    asyncio.run(watch())


def test_first_scene_rises_from_darkness() -> None:
    async def watch() -> None:
        shown, clock = Shown(GREYS), Clock(100.0)
        shown.now = in_force(GREYS, "grey-30", at_s=100.0, fade_s=2.0)
        frames = LiveFrames(shown, shown, clock)
        stream = frames.watch("arcade", 30)
        assert (await _next_at(stream, 100.0)).max() == 0
        clock.now_s = 103.0
        assert (await _next_at(stream, 103.0)).max() == 50
        await asyncio.to_thread(frames.stop)

    asyncio.run(watch())


def test_viewers_share_one_renderer_which_ends_with_the_last() -> None:
    async def watch() -> None:
        shown = Shown(row_venue(nodes=2))
        shown.now = in_force(shown.present, "dusk")
        frames = LiveFrames(shown, shown, Clock(200.0))
        streams = [frames.watch("arcade", 30) for _ in range(3)]
        first = [await _next(stream) for stream in streams]
        assert len(frames._venues) == 1
        assert all(np.array_equal(rgb, first[0][2]) for _, _, rgb in first)
        for stream in streams:
            frames.leave(stream)
        await asyncio.to_thread(wait_until, lambda: not frames.watched("arcade"), DEADLINE_S)
        again = frames.watch("arcade", 30)
        await _next(again)
        await asyncio.to_thread(frames.stop)

    asyncio.run(watch())


def test_slow_viewer_gets_the_newest_frame_and_skips_the_rest() -> None:
    async def watch() -> None:
        shown, clock = Shown(row_venue(nodes=2)), Clock(1.0)
        frames = LiveFrames(shown, shown, clock)
        slow, quick = frames.watch("arcade", 30), frames.watch("arcade", 30)
        await _next(slow)
        for second in range(2, 8):
            clock.now_s = float(second)
            await _next_at(quick, float(second))
        skipped = [await _next(slow) for _ in range(2)]
        assert [show_s for show_s, _, _ in skipped] in ([7.0, 7.0], [6.0, 7.0])
        await asyncio.to_thread(frames.stop)

    asyncio.run(watch())


def test_stream_ends_when_the_elevation_changes_so_that_it_is_read_anew() -> None:
    async def watch() -> None:
        shown = Shown(row_venue(nodes=2))
        shown.now = in_force(shown.present, "dusk", revision=1)
        frames = LiveFrames(shown, shown, Clock(200.0))
        stream = frames.watch("arcade", 30)
        await _next(stream)
        shown.now = in_force(row_venue(nodes=3), "dusk", revision=2)
        assert await _ends(stream)
        assert (await _next(frames.watch("arcade", 30)))[2].shape == (180, 3)
        await asyncio.to_thread(frames.stop)

    asyncio.run(watch())


def test_stopping_ends_every_stream_and_lets_nobody_in() -> None:
    async def watch() -> None:
        shown = Shown(row_venue(nodes=1))
        frames = LiveFrames(shown, shown, Clock(1.0))
        stream = frames.watch("arcade", 30)
        await _next(stream)
        await asyncio.to_thread(frames.stop)
        assert await _ends(stream)
        with pytest.raises(UnavailableError):
            frames.watch("arcade", 30)

    asyncio.run(watch())


def test_viewers_are_bounded() -> None:
    async def watch() -> None:
        shown = Shown(row_venue(nodes=1))
        frames = LiveFrames(shown, shown, Clock(1.0))
        for _ in range(MAX_VIEWERS):
            frames.watch("arcade", 1)
        with pytest.raises(UnavailableError, match="close one"):
            frames.watch("arcade", 1)
        await asyncio.to_thread(frames.stop)

    asyncio.run(watch())
