"""Charts are drawn to scale, and whatever a venue holds their lettering stays on them."""

import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator

import pytest

from hub.audit.document.content import SupplySheet, audit_document
from hub.audit.document.ink import SIZE, WIDTH, round_steps
from hub.audit.service import Examined
from hub.electrical.levels import Level
from hub.paper.typeface import Weight, text_width
from tests.hub.audit.document.examples import demo, examined_of, hard
from tests.hub.audit.document.test_page import MADE_AT
from tests.hub.desired.venues import row_venue

SVG = "{http://www.w3.org/2000/svg}"


def sheets(examined: Examined) -> list[SupplySheet]:
    return audit_document(examined, MADE_AT, "1", None).sheets


def charts(examined: Examined) -> Iterator[ET.Element]:
    for sheet in sheets(examined):
        for chart in (sheet.chart, *(run.chart for run in sheet.runs)):
            yield ET.fromstring(str(chart))  # noqa: S314 (our own drawing)


def words(chart: ET.Element) -> dict[str, ET.Element]:
    return {one.text or "": one for one in chart.iter(f"{SVG}text")}


def line_of(chart: ET.Element, width: str, dash: str | None) -> list[tuple[float, float]]:
    (line,) = [
        one
        for one in chart.iter(f"{SVG}polyline")
        if (one.get("stroke-width"), one.get("stroke-dasharray")) == (width, dash) and len(one.attrib["points"]) > 40
    ]
    return [(float(x), float(y)) for x, y in (point.split(",") for point in line.attrib["points"].split())]


@pytest.mark.parametrize("examined", [demo, hard])
def test_lettering_stays_on_the_chart(examined: Callable[[], Examined]) -> None:
    for chart in charts(examined()):
        _, _, width, height = map(float, chart.attrib["viewBox"].split())
        assert width == WIDTH
        for text, one in words(chart).items():
            bold = Weight.SEMIBOLD if one.get("font-weight") else Weight.REGULAR
            long = text_width(text, SIZE, bold)
            left = float(one.attrib["x"]) - {"start": 0.0, "middle": long / 2, "end": long}[one.attrib["text-anchor"]]
            assert left >= -3.0, text
            assert left + long <= width + 3.0, text
            assert SIZE * 0.7 <= float(one.attrib["y"]) <= height, text


def test_volts_are_drawn_to_the_scale_of_the_axis() -> None:
    examined = demo()
    place, run = next((place, run) for place, run in enumerate(examined.audit.runs) if run.pixels == 100)
    sheet = next(one for one in sheets(examined) if one.audit.supply == run.feeds[0].supply)
    chart = ET.fromstring(str(sheet.runs[0].chart))  # noqa: S314 (our own drawing)
    drawn = line_of(chart, "0.7", None)
    high, low = (float(words(chart)[label].attrib["y"]) for label in ("5 V", "4 V"))
    at_5_v, at_4_v = high - 2.4, low - 2.4  # the baseline lies below the line that it names
    typical = examined.standing.solutions[Level.TYPICAL].ladders[place].volts
    assert len(drawn) == run.pixels + 2
    for (_, y), volts in zip(drawn[1:-1], typical, strict=True):
        assert 5.0 - (y - at_5_v) / (at_4_v - at_5_v) == pytest.approx(volts, abs=0.01)
    assert [x for x, _ in drawn] == sorted(x for x, _ in drawn)


def test_bars_and_limits_are_drawn_to_one_scale_of_amps() -> None:
    sheet = sheets(demo())[0]
    chart = ET.fromstring(str(sheet.chart))  # noqa: S314 (our own drawing)
    zero, five = (float(words(chart)[label].attrib["x"]) for label in ("0", "10"))
    boxes = [one.attrib["points"].split() for one in chart.iter(f"{SVG}polygon")][:3]
    lengths = [float(points[1].split(",")[0]) - float(points[0].split(",")[0]) for points in boxes]
    audit = sheet.audit
    assert audit.scene_peak_a is not None
    drawn = [length / (five - zero) * 10 for length in lengths]
    assert drawn == pytest.approx([audit.typical_a, audit.scene_peak_a, audit.worst_case_a], abs=0.01)
    assert {"budget 9.6 A", "rated 12 A", "1.25 A", "1.88 A", "2.12 A"} <= set(words(chart))


def test_each_feed_is_numbered_and_each_section_is_a_line_of_its_own() -> None:
    sheet = next(one for one in sheets(hard()) if len(one.runs) == 1 and len(one.runs[0].run.feeds) == 32)
    chart = ET.fromstring(str(sheet.runs[0].chart))  # noqa: S314 (our own drawing)
    assert {str(number) for number in range(1, 33)} <= set(words(chart))
    assert "positive rail cut" in words(chart)
    broad = [one for one in chart.iter(f"{SVG}polyline") if one.get("stroke-width") == "2.6"]
    assert len(broad) == 32 + 1  # sections, and the legend


def test_figure_that_is_not_known_is_said_to_be_so() -> None:
    first, second, *_ = sheets(demo())
    assert "not told yet" not in str(first.chart)
    assert str(second.chart).count("not told yet") == 3
    assert "no scene in force" in str(sheets(examined_of(row_venue(1)))[0].chart)


def test_volts_below_zero_are_told_in_words() -> None:
    tiny = next(one for one in sheets(hard()) if one.audit.supply == "tiny")
    assert "below 0 V" in str(tiny.runs[0].chart)


@pytest.mark.parametrize(
    ("low", "high", "most", "steps"),
    [
        (0.0, 12.48, 8, [0, 2, 4, 6, 8, 10, 12]),
        (3.41, 5.09, 5, [3.5, 4.0, 4.5, 5.0]),
        (0, 0, 1, [0]),
        (0.0, 0.78, 8, [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7]),
    ],
)
def test_axis_steps_are_round_numbers(low: float, high: float, most: int, steps: list[float]) -> None:
    assert round_steps(low, high, most) == pytest.approx(steps)
