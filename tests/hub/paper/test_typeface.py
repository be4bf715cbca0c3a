"""Widths and shortening of lettering; the font's licence lies beside it."""

from importlib.resources import files

import pytest
from fontTools.ttLib import TTFont

from hub.paper.typeface import Weight, fitted, text_width


@pytest.mark.parametrize("weight", Weight)
def test_widths_are_the_font_s_own(weight: Weight) -> None:
    font = TTFont(files("hub.paper") / "fonts" / f"Inter-{weight}.otf")
    advance = font["hmtx"][font.getBestCmap()[ord("Ω")]][0]
    assert text_width("ΩΩ", 10.0, weight) == pytest.approx(2 * 10.0 * advance / font["head"].unitsPerEm)


def test_text_that_fits_is_left_alone_and_longer_text_keeps_both_its_ends() -> None:
    name = "supply-of-the-long-gallery-west"
    assert fitted(name, 1_000.0, 10.0) == name
    short = fitted(name, 80.0, 10.0)
    assert text_width(short, 10.0) <= 80.0
    head, tail = short.split("…")
    assert name.startswith(head)
    assert name.endswith(tail)
    assert fitted(name, 0.1, 10.0) == "…"


def test_licence_lies_beside_the_font() -> None:
    assert "SIL OPEN FONT LICENSE" in (files("hub.paper") / "fonts" / "LICENSE-Inter.txt").read_text()
