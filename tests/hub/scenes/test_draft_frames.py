import asyncio
import struct
import time
from collections.abc import AsyncIterator

import pytest

from hub.errors import UnavailableError
from hub.scenes import draft_frames
from hub.scenes.draft_frames import DraftFrames
from tests.hub.scenes.pictures.scenes import WAVE, lit, wash

DEADLINE_S = 5.0


async def _count(stream: AsyncIterator[bytes], most: int = 10_000) -> int:
    count = 0
    async with asyncio.timeout(DEADLINE_S):
        async for _ in stream:
            count += 1
            if count == most:
                break
    return count


def test_draft_is_shown_at_the_hubs_show_time() -> None:
    async def watch() -> None:
        lights, scene = lit(WAVE)
        frames = DraftFrames(lambda _: True, clock=lambda: 123.4)
        record = await anext(frames.watch(lights, scene, 60.0))
        assert struct.unpack_from("<IdI", record) == (len(record) - 4, 123.4, 0)
        shown = lights.for_screen(lights.limit(lights.linear_of(scene, 123.4), 1e6).codes)
        assert record[16:] == shown

    asyncio.run(watch())


def test_stream_ends_when_the_elevation_is_another(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(draft_frames, "_LOOKED_AFTER_S", 0.1)

    async def watch() -> None:
        fitting = True
        frames = DraftFrames(lambda _: fitting)
        stream = frames.watch(*lit(wash("#102030")), 60.0)
        assert await _count(stream, 12) == 12
        fitting = False
        assert await _count(stream) < 12

    asyncio.run(watch())


def test_stream_ends_after_its_longest_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(draft_frames, "LONGEST_S", 0.2)

    async def watch() -> None:
        assert 2 <= await _count(DraftFrames(lambda _: True).watch(*lit(wash("#102030")), 60.0)) <= 13

    asyncio.run(watch())


def test_closing_ends_streams_and_lets_nobody_in() -> None:
    async def watch() -> None:
        frames = DraftFrames(lambda _: True)
        stream = frames.watch(*lit(wash("#102030")), 60.0)
        await anext(stream)
        frames.close()
        assert await _count(stream) == 0
        with pytest.raises(UnavailableError):
            frames.watch(*lit(wash("#102030")), 60.0)

    asyncio.run(watch())


def test_slow_client_gets_frames_of_now_and_the_hub_rests(monkeypatch: pytest.MonkeyPatch) -> None:
    async def watch() -> None:
        lights, scene = lit(wash("#102030"))
        stream = DraftFrames(lambda _: True).watch(lights, scene, 60.0)
        await anext(stream)
        await asyncio.sleep(0.3)
        # What was missed is not made up for.
        began_s = time.monotonic()
        assert await _count(stream, 7) == 7
        assert time.monotonic() - began_s > 0.08
        # A frame that takes long is followed by as long a rest.
        render = lights.linear_of

        def slow(*arguments: object) -> object:
            time.sleep(0.1)
            return render(*arguments)  # type: ignore[arg-type]

        monkeypatch.setattr(lights, "linear_of", slow)
        began_s = time.monotonic()
        await _count(stream, 3)
        assert time.monotonic() - began_s > 0.45

    asyncio.run(watch())
