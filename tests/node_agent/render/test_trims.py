"""Gains on a finished frame, by stretch and for everything."""

import numpy as np
import pytest

from node_agent.render import PlacementError, Renderer
from schemas import DesiredBody, Trim
from tests.node_agent.documents import body, channel, scene

WHITE = scene("#ffffff")


def shown(content: DesiredBody) -> list[list[float]]:
    frame: list[list[float]] = Renderer(content).render(WHITE, 12.0).tolist()
    return frame


def half(first: int, pixels: int) -> Trim:
    return Trim(first=first, pixels=pixels, red=0.5, green=0.25, blue=0.0)


def test_stretch_is_dimmed_and_coloured_and_its_neighbours_stay() -> None:
    frame = shown(body(channels=(channel(trims=(half(10, 5),)),)))
    assert frame == [[1.0, 1.0, 1.0]] * 10 + [[0.5, 0.25, 0.0]] * 5 + [[1.0, 1.0, 1.0]] * 15


def test_master_level_dims_everything_and_the_trims_with_it() -> None:
    frame = shown(body(master_level=0.5, channels=(channel(trims=(half(0, 1),)),)))
    assert frame == [[0.25, 0.125, 0.0]] + [[0.5, 0.5, 0.5]] * 29
    assert not np.any(shown(body(master_level=0.0)))


def test_each_channel_has_its_own_trims() -> None:
    """Channels need not stand in the order of their numbers."""
    both = body(channels=(channel(2, pixels=4, trims=(half(0, 4),)), channel(1, pixels=30)))
    frame = Renderer(both).render(WHITE, 0.0)
    assert (frame[:30] == 1).all()
    assert not frame[30:].any(), "no zone lies on channel 2"


def test_frame_without_trims_is_left_as_it_is_to_the_bit() -> None:
    levels = np.array(shown(body(channels=(channel(trims=(Trim(first=0, pixels=30, red=1, green=1, blue=1),)),))))
    assert levels.tolist() == shown(body())


def test_trim_past_the_end_of_its_run_is_refused() -> None:
    with pytest.raises(PlacementError, match=r"channels\.1\.trims\.0: pixels 28 to 32 reach past the run of 30"):
        Renderer(body(channels=(channel(trims=(half(28, 5),)),)))
