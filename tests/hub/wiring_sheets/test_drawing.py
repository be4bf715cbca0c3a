"""The drawing of a node: everything is on it, by name, and nothing lies on anything else."""

import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from hub.venue_file import read_venue_file
from hub.wiring_sheets.canvas import Box, Canvas
from hub.wiring_sheets.drawing import draw_node, drawing_file, svg_text
from hub.wiring_sheets.spread import spread
from hub.wiring_sheets.wiring import NodeWiring, VenueWiring
from schemas import Venue
from tests.hub.wiring_sheets.venues import node_venues

DEMOS = sorted((Path(__file__).parents[3] / "deploy" / "demo").glob("*.yaml"))
SVG = "{http://www.w3.org/2000/svg}"
DEMO_NODES = [
    pytest.param(wiring, id=f"{file.stem}-{wiring.node}")
    for file in DEMOS
    for wiring in VenueWiring(read_venue_file(file)).nodes()
]


def overlaps(canvas: Canvas) -> list[str]:
    """Lettering that lies on other lettering, on a symbol, or off the sheet."""
    sheet = Box(0.0, 0.0, canvas.width_mm, canvas.height_mm)
    lines = [(one.text, one.box) for one in canvas.letterings]
    found = [f"{one!r} on {other!r}" for (one, box), (other, under) in combinations(lines, 2) if box.overlaps(under)]
    found += [
        f"{text!r} on the symbol {symbol}" for text, box in lines for symbol in canvas.symbols if box.overlaps(symbol)
    ]
    for text, box in lines:
        if box.left < sheet.left or box.top < sheet.top or box.right > sheet.right or box.bottom > sheet.bottom:
            found.append(f"{text!r} off the sheet: {box}")
    return found


def words_of(svg: str) -> list[str]:
    """Every line of lettering in a drawing file; raises where it is no XML."""
    groups = parsed(svg).iter(f"{SVG}g")
    return [group.attrib["aria-label"] for group in groups if "aria-label" in group.attrib]


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 (our own drawing)


def expected_words(wiring: NodeWiring) -> list[str]:
    return [
        *(f"Channel {channel.number}" for channel in wiring.channels),
        *(f"Run {channel.number}" for channel in wiring.channels),
        *(f"{feed.name} " for channel in wiring.channels for feed in channel.feeds),
        *(f"→ {feed.supply_name}" for channel in wiring.channels for feed in channel.feeds),
        *(supply.name for supply in wiring.supplies),
    ]


@pytest.mark.parametrize("wiring", DEMO_NODES)
def test_nothing_overlaps_on_the_sheets_of_the_demos(wiring: NodeWiring) -> None:
    assert overlaps(draw_node(wiring)) == []


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(node_venues())
def test_nothing_overlaps_whatever_the_venue_and_everything_is_named(venue: Venue) -> None:
    (wiring,) = VenueWiring(venue).nodes()
    canvas = draw_node(wiring)
    assert overlaps(canvas) == []
    lettered = "\n".join(one.text for one in canvas.letterings)
    assert [words for words in expected_words(wiring) if words not in lettered] == []


def test_two_lines_on_one_another_would_be_found() -> None:
    canvas = Canvas(50.0)
    canvas.height_mm = 20.0
    canvas.text("one", 10.0, 10.0)
    canvas.text("other", 11.0, 10.5)
    canvas.dot((30.0, 10.0))
    canvas.text("beside the edge", 40.0, 10.0)
    canvas.text("on it", 29.0, 10.5)
    assert len(overlaps(canvas)) == 3


@pytest.mark.parametrize("wiring", DEMO_NODES)
def test_drawing_file_is_well_formed_and_says_what_is_where(wiring: NodeWiring) -> None:
    words = words_of(drawing_file(draw_node(wiring), "Wiring"))
    text = "\n".join(words)
    assert [one for one in expected_words(wiring) if one not in text] == []
    for channel in wiring.channels:
        assert f"pin {channel.pin}" in words
        for feed in channel.feeds:
            assert f"at pixel {feed.at_pixel}" in words
            assert f"{feed.wire}, {feed.length_m:g} m" in words
            assert feed.fuse in words
    for supply in wiring.supplies:
        assert f"{supply.supply.volts:g} V DC, {supply.supply.rated_a:g} A" in words
    assert {"licensed", "electrician", "common ground, 0 V", "300–500 Ω"} <= set(words)


def test_drawing_file_needs_no_font_and_every_character_is_drawn() -> None:
    (wiring,) = VenueWiring(read_venue_file(DEMOS[0])).nodes()
    root = parsed(drawing_file(draw_node(wiring), "Wiring"))
    assert list(root.iter(f"{SVG}text")) == []
    shapes = {path.attrib["id"]: path.attrib["d"] for path in root.iter(f"{SVG}path") if "id" in path.attrib}
    used = [use.attrib["href"].removeprefix("#") for use in root.iter(f"{SVG}use")]
    assert used
    assert all(shapes[one] for one in used)


def test_drawing_in_a_page_is_text_in_the_page_s_typeface() -> None:
    (wiring,) = VenueWiring(read_venue_file(DEMOS[0])).nodes()
    canvas = draw_node(wiring)
    root = parsed(svg_text(canvas.svg(title="Wiring", as_paths=False)))
    assert [one.text for one in root.iter(f"{SVG}text")] == [one.text for one in canvas.letterings]


@pytest.mark.parametrize(
    ("wanted", "gap", "places"),
    [
        ([0.0, 100.0], 10.0, [0.0, 100.0]),
        ([0.0, 1.0, 2.0], 10.0, [0.0, 10.0, 20.0]),
        ([98.0, 99.0, 100.0], 10.0, [80.0, 90.0, 100.0]),
        ([0.0, 0.0, 0.0], 60.0, [0.0, 50.0, 100.0]),
        ([-5.0], 10.0, [0.0]),
    ],
)
def test_places_keep_their_order_and_distance(wanted: list[float], gap: float, places: list[float]) -> None:
    assert spread(wanted, gap, 0.0, 100.0) == places
