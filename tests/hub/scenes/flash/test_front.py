import math

import numpy as np
import pytest

from tests.hub.scenes.flash.fronts import front, patch


def test_a_single_pixel_stands_for_the_disc_of_its_reach() -> None:
    (area_sr,) = front(np.array([[3.0, 4.0]]), distance_m=5.0, reach_m=0.25).pixel_sr
    assert area_sr == pytest.approx(math.pi * 0.25**2 / 5.0**2, rel=0.02)


def test_pixels_of_a_run_share_a_band_of_twice_their_reach() -> None:
    run = np.stack((np.arange(300) / 60, np.zeros(300)), axis=1)
    area_m2 = front(run, reach_m=0.25).pixel_sr.sum() * 25
    assert area_m2 == pytest.approx(2 * 0.25 * 299 / 60 + math.pi * 0.25**2, rel=0.01)


def test_evenly_spaced_pixels_share_evenly() -> None:
    """No pixel falls into step with the points by which areas are measured."""
    before = front(patch(2.0, 0.0625), reach_m=0.25)
    inner = np.hypot(*(patch(2.0, 0.0625) - 1.0).T) < 0.8
    by_class = [before.pixel_sr[inner][start::3].mean() * 25 for start in range(3)]
    assert by_class == pytest.approx([0.0625**2] * 3, rel=0.05)


def test_fields_are_discs_of_ten_degrees() -> None:
    before = front(patch(3.0, 0.05), distance_m=5.0)
    radius_m = 5.0 * math.tan(math.radians(5))
    inner = (np.abs(before.centres_m - 1.5) < 0.5).all(axis=1)
    areas = np.asarray(before.fields.sum(axis=1)).ravel()[inner]
    assert areas == pytest.approx(np.full(len(areas), math.pi * radius_m**2 / 25), rel=0.05)
    field = int(np.flatnonzero(inner)[0])
    distances = np.hypot(*(patch(3.0, 0.05)[before.pixels_of(field)] - before.centres_m[field]).T)
    assert distances.max() <= radius_m


def test_where_too_little_lies_in_any_field_there_are_none() -> None:
    assert len(front(np.array([[0.0, 0.0], [5.0, 0.0]]), reach_m=0.2).centres_m) == 0
    assert len(front(np.zeros((0, 2))).centres_m) == 0


def test_a_front_of_kilometres_is_bounded() -> None:
    far = np.stack((np.linspace(0, 9_000, 5_000), np.zeros(5_000)), axis=1)
    assert front(far).pixel_sr.sum() * 25 == pytest.approx(5_000 * math.pi * 0.25**2, rel=0.02)
