"""Amps per supply from codes, and which supply a pixel is counted to."""

import numpy as np
import pytest
from numpy.typing import NDArray

from node_agent.power import NO_FEED, PowerModel, feed_of_pixel
from schemas import PIXEL_CATALOGUE, DesiredBody, DesiredChannel, Feed, PixelType

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
RGBW = PIXEL_CATALOGUE["rgbw-5v-nrz800"]


def channel(number: int, pixels: int, *feeds: tuple[str, int], pixel_type: PixelType = RGB) -> DesiredChannel:
    return DesiredChannel(
        number=number,
        pin=f"spidev0.{number}",
        pixels=pixels,
        pixel_type=pixel_type,
        feeds=tuple(Feed(supply=supply, at_pixel=at, wire_mm2=1.5, length_m=2.0) for supply, at in feeds),
    )


def model(*channels: DesiredChannel) -> PowerModel:
    return PowerModel(DesiredBody(telemetry_interval_s=5.0, channels=channels))


def codes(pixels: int, *rgbw: int) -> NDArray[np.uint8]:
    return np.tile(np.array(rgbw, dtype=np.uint8), (pixels, 1))


def test_worst_case_and_typical_are_the_pixel_types_figures_times_the_pixels() -> None:
    power = model(channel(1, 100, ("a", 0)), channel(2, 10, ("a", 0), pixel_type=RGBW))
    assert power.supplies == ("a",)
    assert power.worst_case_a()[0] == pytest.approx(100 * 0.060 + 10 * 0.077)
    assert power.typical_a()[0] == pytest.approx(100 * 0.020 + 10 * 0.020)


def test_full_codes_draw_the_worst_case_and_black_draws_idle() -> None:
    power = model(channel(1, 50, ("a", 0), pixel_type=RGBW))
    assert power.amps(codes(50, 255, 255, 255, 255)) == pytest.approx(power.worst_case_a())
    assert power.amps(codes(50, 0, 0, 0, 0)) == pytest.approx(power.idle_a())
    assert power.idle_a()[0] == pytest.approx(50 * 0.001)


def test_current_is_linear_in_each_emitters_code() -> None:
    power = model(channel(1, 10, ("a", 0)))
    assert power.lit_a(codes(10, 51, 0, 0, 0))[0] == pytest.approx(10 * 0.0197 / 5)
    assert power.lit_a(codes(10, 0, 51, 102, 0))[0] == pytest.approx(10 * 0.0197 * 3 / 5)


def test_a_white_code_costs_nothing_where_there_is_no_white_emitter() -> None:
    assert model(channel(1, 10, ("a", 0))).lit_a(codes(10, 0, 0, 0, 255))[0] == 0


def test_a_pixel_is_counted_to_its_nearest_feed_and_of_two_equally_near_to_the_first() -> None:
    power = model(channel(1, 11, ("a", 0), ("b", 10)))
    assert power.supplies == ("a", "b")
    assert power.supply_of_pixel.tolist() == [0] * 6 + [1] * 5


def test_feeds_may_be_listed_in_any_order_and_a_supply_may_feed_twice() -> None:
    power = model(channel(1, 9, ("b", 4), ("a", 0), ("a", 8)))
    assert [power.supplies[supply] for supply in power.supply_of_pixel] == list("aabbbbbaa")
    white = codes(9, 255, 255, 255, 0)
    assert dict(zip(power.supplies, power.amps(white), strict=True)) == pytest.approx({"a": 0.24, "b": 0.30})


def test_a_supply_may_feed_several_channels() -> None:
    power = model(channel(2, 20, ("a", 0)), channel(1, 10, ("a", 0)))
    assert power.worst_case_a() == pytest.approx([1.8])


def test_a_channel_without_a_feed_counts_to_a_supply_of_its_own_name() -> None:
    power = model(channel(1, 10, ("a", 0)), channel(2, 5))
    assert power.supplies == ("a", NO_FEED)
    assert power.worst_case_a() == pytest.approx([0.6, 0.3])


def test_a_supply_whose_feed_has_no_nearest_pixel_is_still_listed_and_draws_nothing() -> None:
    power = model(channel(1, 10, ("a", 0), ("b", 0)))
    assert power.supplies == ("a", "b")
    assert power.worst_case_a()[1] == 0


def test_a_node_without_channels_has_no_supplies() -> None:
    power = model()
    assert power.supplies == ()
    assert power.amps(np.zeros((0, 4), dtype=np.uint8)).shape == (0,)


def test_a_cut_rail_keeps_a_pixel_from_a_nearer_feed_beyond_it() -> None:
    feeds = tuple(Feed(supply=supply, at_pixel=at, wire_mm2=1.5, length_m=2.0) for supply, at in (("a", 0), ("b", 9)))
    assert feed_of_pixel(feeds, (), 10).tolist() == [0] * 5 + [1] * 5
    assert feed_of_pixel(feeds, (8,), 10).tolist() == [0] * 8 + [1] * 2
    assert feed_of_pixel(feeds, (4, 8), 10).tolist() == [0] * 4 + [-1] * 4 + [1] * 2
    run = channel(1, 10).model_copy(update={"feeds": feeds, "positive_cut_before": (4, 8)})
    power = model(run)
    assert power.worst_case_a().tolist() == pytest.approx([4 * 0.060, 4 * 0.060, 2 * 0.060])
    assert power.supplies == ("a", NO_FEED, "b")
