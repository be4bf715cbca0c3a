"""Formula: arithmetic of place and time, read without trusting it."""

import numpy as np
import pytest
from numpy.typing import NDArray
from pydantic import ValidationError

from node_agent.render import weight_of
from node_agent.render.expression import MAX_CHARACTERS
from node_agent.render.patterns.formula import Formula
from node_agent.render.placement import Placement
from schemas import Extent, Layer, Stop
from tests.node_agent.render.patterns.lights import colour, grid

STOPS = (Stop(at=0.0, colour="black"), Stop(at=1.0, colour="white"))


def formula(text: str, period_s: float = 4.0) -> Formula:
    return Formula(pattern="formula", formula=text, period_s=period_s, stops=STOPS, mix="linear")


def value(text: str, show_time_s: float = 0.0) -> NDArray[np.float32]:
    """Of 40 pixels 0.1 m apart."""
    return colour(formula(text), 40, show_time_s)[:, 0]


S_M = (np.arange(40) + 0.5) * 0.1


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("x / width", S_M / 4),
        ("s / length", S_M / 4),
        ("y + 0.5", np.full(40, 0.5)),
        ("1 - x / 4 * 0.5", 1 - S_M / 8),
        ("-x + 1", np.clip(1 - S_M, 0, 1)),
        ("(x / 4) ** 3", (S_M / 4) ** 3),
        ("(2 ** 3) ** 0 / 2", np.full(40, 0.5)),
        ("x % 1", S_M % 1),
        ("0.5 + 0.5 * sin(pi * x)", 0.5 + 0.5 * np.sin(np.pi * S_M)),
        ("step(2, x)", S_M >= 2),
        ("mix(0.2, 0.6, clamp(x - 1, 0, 1))", 0.2 + 0.4 * np.clip(S_M - 1, 0, 1)),
        ("exp(-x)", np.exp(-S_M)),
        (" \n max(0.25, min(x,\n 0.5)) ", np.clip(S_M, 0.25, 0.5)),
        ("x - 7", np.zeros(40)),
        ("x * 1e9", np.ones(40)),
        ("1e3 / 4e3", np.full(40, 0.25)),
    ],
)
def test_its_value_is_the_place_on_the_ramp(text: str, expected: NDArray[np.float64]) -> None:
    np.testing.assert_allclose(value(text), expected, atol=1e-6)


@pytest.mark.parametrize("text", ["0 / 0", "sqrt(-1 - x)", "(x - x) / (x - x)", "1 / 0 - 1 / 0", "sin(1 / 0)"])
def test_what_is_no_number_counts_as_0(text: str) -> None:
    assert not value(text).any()
    assert not value(f"{text} + 0 * turn", 1.3).any()


def test_time_runs_from_0_to_the_period_and_again() -> None:
    for show_time_s in (0.0, 1.0, 3.5, 4.0, 6.0, 4e9 + 1):
        np.testing.assert_allclose(value("t / 4", show_time_s), show_time_s % 4 / 4, atol=3e-4)
        np.testing.assert_allclose(value("turn * x / 4", show_time_s), show_time_s % 4 / 4 * S_M / 4, atol=3e-4)


def test_without_time_it_stands_still() -> None:
    extent = grid(3, 3).extent
    assert formula("x").repeats_after_s(extent) is None
    assert formula("x + 0 * turn").repeats_after_s(extent) == 4


def test_one_pixel_and_a_zone_without_extent_have_a_value() -> None:
    nothing = Extent(length_m=0.0, pixels=1, x_min_m=2.0, x_max_m=2.0, y_min_m=1.0, y_max_m=1.0)
    point = Placement(np.array([2.0]), np.array([1.0]), np.array([0.0]), np.array([0]), np.array([0]), nothing)
    for text, expected in (("x / width", 0), ("0.25 + x + y + s", 0.25), ("0.25 + x + turn", 0.5)):
        lit = formula(text).light(point).evaluate(1.0).colour
        np.testing.assert_allclose(lit[:, 0], expected, atol=2e-4)


FAULTS = {
    "unknown name": ("x + z", "at character 5: there is no z", "use x, y, s, t, turn"),
    "misspelt function": ("sine(x)", "at character 1: there is no sine", "did you mean sin?"),
    "attribute": ("x.real", "at character 3: there is no real", "use x, y, s"),
    "attribute of a known name": ("x.s", "at character 1: it does not go on", "use + - * / % **"),
    "a call of what was called": ("sin(x)(x)", "at character 1: it does not go on", "use + - * / % **"),
    "text": ("'x'", '"\'"', "use + - * / % ** ( ) and ,"),
    "keyword": ("x if t else y", "there is no if", "use x, y"),
    "lambda": ("lambda: x", "there is no lambda", "use x, y"),
    "import": ("__import__('os')", "there is no __import__", "use x, y"),
    "comparison": ("x < 3", "at character 3: '<' has no meaning here", "write step(edge, value) for a comparison"),
    "index": ("x[0]", "at character 2: '[' has no meaning here", "use + -"),
    "named argument": ("sin(x=3)", "at character 6: '=' has no meaning here", "write step"),
    "starred": ("abs(*x)", "it does not go on as arithmetic", "use + -"),
    "double starred": ("sin(**x)", "it does not go on as arithmetic", "use + -"),
    "whole division": ("x // 2", "it does not go on as arithmetic", "use + -"),
    "two values": ("x, y", "it does not go on as arithmetic", "use + -"),
    "dots": ("...", "it does not go on as arithmetic", "use + -"),
    "too few arguments": ("max(x)", "at character 1: max has 1", "give it 2 values"),
    "function without brackets": ("sin + 1", "at character 1: sin is a function", "write sin(...)"),
    "open bracket": ("2 * (x + 1", "at character 5: it does not go on", "bracket"),
    "nothing": ("  ", "it does not go on", "missing sign"),
    "missing sign": ("2 x", "it does not go on", "missing sign"),
    "joined number": ("2x", "it does not go on", "missing sign"),
    "power of a name": ("x ** y", "at character 6: a power must be a whole number", "from 0 to 8 after **"),
    "large power": ("x ** 9", "a power must be a whole number", "from 0 to 8 after **"),
    "negative power": ("x ** -1", "a power must be a whole number", "from 0 to 8 after **"),
    "tower of powers": ("9 ** 9 ** 9", "a power must be a whole number", "from 0 to 8 after **"),
    "large number": ("x * 1e10", "at character 5: the number is too large", "up to 1e9"),
    "endless number": ("x * 1e999", "the number is too large", "up to 1e9"),
    "long number": ("9" * 199, "the number is too large", "up to 1e9"),
    "deep brackets": ("(" * 100 + "x" + ")" * 99, "it does not go on", "bracket"),
    "deep signs": ("-" * 150 + "x", "more than 64 things stand inside one another", "write it flatter"),
    "many steps": ("+".join(f"{n}*x" for n in range(40)), "it has more than 64 steps", "write it shorter"),
    "control character": ("x\x1b[2J", "'\\x1b' has no meaning here", "use + -"),
    "null": ("x\x00", "'\\x00' has no meaning here", "use + -"),
    "another alphabet": ("x + π", "'\\u03c0' has no meaning here", "use + -"),
    "digits of another alphabet": ("x + ٣", "'\\u0663' has no meaning here", "use + -"),
}


@pytest.mark.parametrize(("text", "reason", "remedy"), FAULTS.values(), ids=FAULTS)
def test_what_is_not_arithmetic_is_refused_with_character_and_remedy(text: str, reason: str, remedy: str) -> None:
    with pytest.raises(ValidationError) as caught:
        formula(text)
    (error,) = caught.value.errors()
    assert error["loc"] == ("formula",)
    assert reason in error["msg"]
    assert remedy in error["ctx"]["remedy"]


def test_a_long_text_is_refused_before_it_is_read() -> None:
    with pytest.raises(ValidationError, match=f"at most {MAX_CHARACTERS} characters"):
        formula("x" * (MAX_CHARACTERS + 1))


def test_weight_tells_what_moves_and_costs() -> None:
    still, moving = formula("sin(x) + sin(y) + turn"), formula("sin(x + turn) + sin(y + turn) + sin(turn)")
    assert formula("sin(x)").weight == 1
    assert 1 < still.weight < 1.2
    assert moving.weight > 3
    assert weight_of(Layer(zone="front", pattern=moving, mask=still)) == moving.weight + still.weight


def test_the_heaviest_formula_weighs_what_a_board_can_refuse() -> None:
    heaviest = formula("exp(" * 39 + "x-t" + ")" * 39)
    assert 60 < heaviest.weight < 80
