"""Flashes against the published thresholds, on constructed signals on both sides of each.

WCAG 2.2, success criterion 2.3.1, with "general flash and red flash thresholds"; Recommendation ITU-R BT.1702; relative
luminance and linear light from IEC 61966-2-1; u′v′ from CIE 1976, also against the colour-science library. The grey
boundaries and distances in u′v′ were computed from these formulas.
"""

from types import ModuleType

import numpy as np
import pytest

from hub.scenes.flash.instants import instants
from hub.scenes.flash.photometry import WHITE_UV, chromaticity, luminance
from hub.scenes.flash.thresholds import Test
from node_agent.render import linear_from_srgb
from tests.hub.scenes.flash.fronts import BLACK, RED, WHITE, State, analysed, failing, front, patch, strobe, watched

GENERAL = {Test.GENERAL_WCAG, Test.GENERAL_BT1702}


def _planes(state: State) -> np.ndarray[tuple[int, int], np.dtype[np.float32]]:
    return np.array(state, dtype=np.float32)[:, None]


def _uv(state: State) -> tuple[float, float]:
    seen = chromaticity(_planes(state))
    return float(seen.u[0]), float(seen.v[0])


def _distance(one: State, other: State) -> float:
    return float(np.hypot(*np.subtract(_uv(one), _uv(other))))


def _grey(code: int) -> State:
    level = float(linear_from_srgb(np.array([code / 255]))[0])
    return level, level, level


def _between(one: State, other: State, rate_hz: float = 5.0) -> set[Test]:
    return failing(watched(front(), strobe(rate_hz, one, other)))


@pytest.mark.parametrize(
    ("state", "expected"), [(WHITE, 1.0), (RED, 0.2126), ((0.0, 1.0, 0.0), 0.7152), ((0.0, 0.0, 1.0), 0.0722)]
)
def test_relative_luminance_is_that_of_the_standard(state: State, expected: float) -> None:
    assert luminance(_planes(state))[0] == pytest.approx(expected, abs=1e-7)


def test_chromaticity_is_that_of_an_independent_library(colour_science: ModuleType) -> None:
    states = np.random.default_rng(1).uniform(0.05, 1.0, (200, 3))
    seen = chromaticity(states.T.astype(np.float32))
    xyz = colour_science.RGB_to_XYZ(states, "sRGB", apply_cctf_decoding=False)
    expected = colour_science.Luv_uv_to_xy(np.stack((seen.u, seen.v), axis=1).astype(np.float64))
    np.testing.assert_allclose(colour_science.XYZ_to_xy(xyz), expected, atol=2e-4)


@pytest.mark.parametrize(
    ("one", "other", "distance"),
    [
        (RED, WHITE, 0.2587),
        (RED, (0.0, 1.0, 0.0), 0.3281),
        (RED, (0.0, 0.0, 1.0), 0.4572),
        ((0.8, 0.1, 0.1), WHITE, 0.1478),
        ((0.8, 0.1, 0.1), (0.0, 0.0, 1.0), 0.3802),
    ],
)
def test_distances_of_chromaticity(one: State, other: State, distance: float) -> None:
    assert _distance(one, other) == pytest.approx(distance, abs=1e-4)


@pytest.mark.parametrize(
    ("one", "other", "flashes"),
    [
        (0, 89, set()),
        (0, 90, GENERAL),
        (231, 255, GENERAL),
        # The darker state is over 0.8: none by WCAG. BT.1702 goes on with a contrast of 1/17: 0.8069 and 1 have 0.107.
        (232, 255, {Test.GENERAL_BT1702}),
        # 242 is 0.8880 of full light and 243 is 0.8963: Michelson contrasts 0.0593 and 0.0547 around 1/17 = 0.0588.
        (242, 255, {Test.GENERAL_BT1702}),
        (243, 255, set()),
    ],
)
def test_general_flash_on_greys_of_8_bits(one: int, other: int, flashes: set[Test]) -> None:
    assert _between(_grey(one), _grey(other)) == flashes


@pytest.mark.parametrize(("lighter", "flashes"), [(0.1, GENERAL), (0.0999, set())])
def test_a_change_of_just_a_tenth_of_full_light_counts(lighter: float, flashes: set[Test]) -> None:
    """WCAG: "10 % or more"; BT.1702: "20 cd/m² or more", full light being 200."""
    assert _between((lighter,) * 3, BLACK) == flashes


@pytest.mark.parametrize(("darker", "flashes"), [(0.8, {Test.GENERAL_BT1702}), (0.7999, GENERAL)])
def test_a_darker_state_of_just_four_fifths_is_no_flash_of_wcag(darker: float, flashes: set[Test]) -> None:
    """WCAG: "below 0.80"."""
    assert _between(WHITE, (darker,) * 3) == flashes


@pytest.mark.parametrize(
    ("red", "other", "flashes"),
    [
        (RED, WHITE, True),
        (RED, BLACK, True),
        ((0.8, 0.1, 0.1), WHITE, False),
        ((0.8, 0.1, 0.1), (0.0, 0.0, 1.0), True),
        ((0.79, 0.105, 0.105), (0.0, 0.0, 1.0), False),
        (RED, (0.8, 0.2, 0.0), False),
        ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), False),
    ],
)
def test_red_flash_is_a_saturated_red_and_a_state_far_from_it(red: State, other: State, flashes: bool) -> None:
    assert (Test.RED_WCAG in _between(red, other)) is flashes


def test_red_light_going_on_and_off_counts_as_red_against_the_white_point() -> None:
    assert _uv(BLACK) == pytest.approx(WHITE_UV, abs=1e-6)
    dark_red = (0.05, 0.0, 0.0)  # too dark for a general flash
    assert _between(dark_red, BLACK) == {Test.RED_WCAG}
    assert _between((0.012, 0.0, 0.0), BLACK) == set()  # three codes of 255


def test_two_saturated_reds_are_never_far_enough_apart() -> None:
    shares = np.linspace(0.0, 0.2, 21)
    reds = np.array([(1 - g - b, g, b) for g in shares for b in shares if g + b <= 0.2 + 1e-9], dtype=np.float32)
    seen = chromaticity(reds.T)
    farthest = np.hypot(seen.u[:, None] - seen.u, seen.v[:, None] - seen.v).max()
    assert farthest == pytest.approx(0.1438, abs=1e-3)


@pytest.mark.parametrize(("lit", "kinds"), [(WHITE, GENERAL), (RED, set(Test))])
@pytest.mark.parametrize(("rate_hz", "fails", "near"), [(2.9, False, False), (3.0, False, True), (3.1, True, True)])
@pytest.mark.parametrize("phase", [0.0, 0.637])
def test_more_than_three_flashes_in_a_second_fail(
    lit: State, kinds: set[Test], rate_hz: float, fails: bool, near: bool, phase: float
) -> None:
    """Three a second pass, since the fourth begins with the next second; they are told to be at the limit."""
    worst = watched(front(), strobe(rate_hz, lit, phase=phase))
    assert failing(worst) == (kinds if fails else set())
    assert {test for test in kinds if worst[test].field is not None} == (kinds if near else set())


@pytest.mark.parametrize("grid_hz", [50.0, 60.0, 99.9, 144.0])
@pytest.mark.parametrize("rate_hz", [2.9, 3.0])
def test_three_a_second_pass_on_any_grid_of_instants(rate_hz: float, grid_hz: float) -> None:
    light = strobe(rate_hz)
    frames = ((number / grid_hz, light(number / grid_hz)) for number in range(round(6 * grid_hz)))
    assert failing(analysed(front(), frames)) == set()


@pytest.mark.parametrize("rate_hz", [24.0, 25.0, 30.0, 50.0, 100.0, 1_000.0])
@pytest.mark.parametrize("interval_s", [0.010, 0.020])
def test_no_strobe_hides_between_the_instants(rate_hz: float, interval_s: float) -> None:
    for phase in (0.0, 0.25, 0.6):
        assert failing(watched(front(), strobe(rate_hz, phase=phase), interval_s=interval_s)) == GENERAL


@pytest.mark.parametrize("distance_m", [5.0, 8.0])
def test_area_of_a_quarter_of_a_field(distance_m: float) -> None:
    """More than 0.006 sr fails: of a large front, the pixels around a point that make up just less, and one more."""
    around = front(patch(side_m=2.4, pitch_m=0.05), distance_m)
    nearest = np.argsort(np.hypot(*(patch(side_m=2.4, pitch_m=0.05) - 1.2).T), kind="stable")
    enough = int(np.searchsorted(np.cumsum(around.pixel_sr[nearest]), 0.006, side="right"))
    for pixels, fails in ((enough, False), (enough + 1, True)):
        lit = np.zeros((len(nearest), 3), dtype=np.float32)
        lit[nearest[:pixels]] = 1.0
        frames = ((at_s, lit * strobe(5.0)(at_s)) for at_s in instants(4.0, 0.010))
        assert bool(failing(analysed(around, frames))) is fails


def test_flashes_further_apart_than_a_field_do_not_add_up() -> None:
    """Two patches of 0.35 m × 0.35 m, 0.0048 sr each at 5 m, where 10° are 0.87 m."""
    for apart_m, fails in ((0.1, True), (1.2, False)):
        points_m = np.concatenate([patch(0.35, 0.05), patch(0.35, 0.05, left_m=0.35 + apart_m)])
        before = front(points_m, distance_m=5.0, reach_m=0.03)
        assert bool(failing(watched(before, strobe(5.0)))) is fails
