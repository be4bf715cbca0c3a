"""Crossfades: what they start from, and that they are linear in light."""

import numpy as np
import pytest

from node_agent.prepared import PreparedRevision
from node_agent.takes import taken
from schemas import DesiredBody
from tests.node_agent.documents import PIXELS, body, channel, desired, scene, zone

MIDWAY_S = 102.0


def _prepared(revision: int, content: DesiredBody) -> PreparedRevision:
    return PreparedRevision(desired(revision, content))


def test_first_take_rises_from_darkness() -> None:
    look = taken(_prepared(1, body("#ffffff")), 100.0, 4.0, 100.0, None, None)
    assert look.linear(100.0).max() == 0
    assert look.linear(MIDWAY_S) == pytest.approx(np.full((PIXELS, 3), 0.5))
    assert look.linear(104.0).min() == 1
    assert not look.fading


def test_fade_on_the_same_wiring_mixes_both_scenes() -> None:
    red = taken(_prepared(1, body("#ff0000")), 0.0, 0.0, 0.0, None, None)
    look = taken(_prepared(2, body("#0000ff")), 100.0, 4.0, 100.0, red, red.linear(100.0))
    assert look.linear(101.0)[0] == pytest.approx((0.75, 0.0, 0.25))


def test_take_before_its_fade_began_still_shows_what_showed() -> None:
    red = taken(_prepared(1, body("#ff0000")), 0.0, 0.0, 0.0, None, None)
    look = taken(_prepared(2, body("#0000ff")), 100.0, 4.0, 100.0, red, red.linear(99.0))
    assert look.linear(99.0)[0] == pytest.approx((1.0, 0.0, 0.0))


def test_take_in_the_middle_of_a_fade_starts_from_the_colours_of_that_moment() -> None:
    red = taken(_prepared(1, body("#ff0000")), 0.0, 0.0, 0.0, None, None)
    blue = taken(_prepared(2, body("#0000ff")), 100.0, 4.0, 100.0, red, red.linear(100.0))
    moment = blue.linear(MIDWAY_S)
    green = taken(_prepared(3, body("#00ff00")), MIDWAY_S, 4.0, MIDWAY_S, blue, moment)
    assert green.linear(MIDWAY_S)[0] == pytest.approx((0.5, 0.0, 0.5))
    assert green.linear(MIDWAY_S + 2)[0] == pytest.approx((0.25, 0.5, 0.25))


def test_changed_wiring_fades_from_last_colours_where_pixels_match_and_from_darkness_elsewhere() -> None:
    red = taken(_prepared(1, body("#ff0000")), 0.0, 0.0, 0.0, None, None)
    longer = body("#0000ff", channels=(channel(1, PIXELS + 10), channel(2, 5)), zones=(zone(PIXELS + 10),))
    look = taken(_prepared(2, longer), 100.0, 4.0, 100.0, red, red.linear(100.0))
    start = look.linear(100.0)
    assert start[:PIXELS] == pytest.approx(np.tile((1.0, 0.0, 0.0), (PIXELS, 1)))
    assert start[PIXELS:].max() == 0


def test_darkness_shows_where_no_scene_does() -> None:
    dark = _prepared(1, body(scenes=(scene(),), showing=None))
    assert dark.linear(dark.shown(5.0).scene, 5.0).max() == 0
