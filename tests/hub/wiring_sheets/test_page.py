"""The sheet as a page: what users wrote stays text, tables say it all, and the PDF has its pages."""

import io
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import cast

import pytest
from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject

from hub.errors import InvalidError, NotFoundError
from hub.venue_file import read_venue_file
from hub.wiring_sheets.service import MOST_SHEETS_IN_PDF, node_html, node_pdf, venue_html, venue_pdf
from schemas import Venue
from tests.hub.desired.venues import row_document, venue_from

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
HOSTILE = "</style><script>alert(1)</script><img src=x onerror=alert(2)> \"'&{{ 7 * 7 }} {% raw %}"


class Tags(HTMLParser):
    """Names of the elements and attributes of a page, and its text outside of styles."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[str] = []
        self.text = ""
        self.feed(html)
        self.text = " ".join(self.text.split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes.extend(name for name, _ in attrs)

    def handle_data(self, data: str) -> None:
        if not self.tags or self.tags[-1] != "style":
            self.text += data


@pytest.fixture(scope="module")
def arcade() -> Venue:
    return read_venue_file(DEMO / "arcade.yaml")


@pytest.fixture(scope="module")
def four_outputs() -> Venue:
    return read_venue_file(DEMO / "3-four-outputs.yaml")


def _hostile_venue() -> Venue:
    document = row_document(nodes=1)
    document["title"] = HOSTILE[:80]
    document["nodes"][0]["title"] = HOSTILE[:80]
    document["supplies"][0]["title"] = HOSTILE[:80]
    return venue_from(document)


def _font_names(page: PageObject) -> list[str]:
    fonts = cast("DictionaryObject", cast("DictionaryObject", page["/Resources"])["/Font"])
    return [str(cast("DictionaryObject", font.get_object())["/BaseFont"]) for font in fonts.values()]


def test_titles_stay_text_however_hostile() -> None:
    html = node_html(_hostile_venue(), "bay-0001")
    page = Tags(html)
    assert "script" not in page.tags
    assert "img" not in page.tags
    assert not any(name.startswith("on") for name in page.attributes)
    assert html.count("&lt;script&gt;alert(1)&lt;/script&gt;") >= 4
    assert HOSTILE[:80] in page.text


def test_page_stands_alone() -> None:
    html = node_html(_hostile_venue(), "bay-0001")
    addresses = re.findall(r"(?:src|href|url)\s*[=(]\s*[\"']?([^\"')\s]+)", html)
    assert [one for one in addresses if not one.startswith(("data:", "x"))] == []
    assert "font/otf;base64," in html


def test_sheet_tells_every_pin_feed_and_supply_and_the_usual_cautions(four_outputs: Venue) -> None:
    text = Tags(node_html(four_outputs, "window-board")).text
    (node,) = four_outputs.nodes
    for channel in node.channels:
        assert channel.pin in text
        for place, feed in enumerate(channel.run.feeds, start=1):
            assert f"F{channel.number}.{place}" in text
            assert f"{feed.length_m:g} m" in text
            assert f"{feed.fuse_a:g} A" in text
    for supply in four_outputs.supplies:
        assert supply.id in text
    for words in (
        "Power off and unplugged", "polarity", "licensed electrician under the local code", "Fuse every feed",
        "Never join the positives", "Common ground", "Data runs one way", "Level shifter", "300 to 500 Ω",
        "about 1000 µF", "Work at height is never done alone", "Flashing light",
        "Colours of wires are for your local code",
        "stringcourse node identify window-board", "stringcourse node walk window-board --channel N", "Initials",
    ):  # fmt: skip
        assert words in text, words


def test_sheet_counts_itself_among_the_venue_s(arcade: Venue) -> None:
    assert "2 of 18" in Tags(node_html(arcade, "bay-02")).text


def test_pdf_has_a_front_and_a_back_and_its_own_typeface(four_outputs: Venue) -> None:
    front, back = PdfReader(io.BytesIO(node_pdf(four_outputs, "window-board"))).pages
    words = front.extract_text()
    for one in ("Shop window board", "window-board", "Channel 4", "F4.2", "S2", "right-5v", "common ground, 0 V"):
        assert one in words, one
    assert "Commissioning" in back.extract_text()
    assert "page 2 of 2" in back.extract_text()
    fonts = {name.partition("+")[2] for page in (front, back) for name in _font_names(page)}
    assert fonts == {"Stringcourse-Sheet", "Stringcourse-Sheet-Semi-Bold"}


def test_pdf_of_a_venue_holds_the_sheets_asked_for(arcade: Venue) -> None:
    pages = PdfReader(io.BytesIO(venue_pdf(arcade, first=2, count=2))).pages
    assert len(pages) == 4
    assert [page.extract_text().count("wiring sheet of node bay-02") for page in pages] == [1, 1, 0, 0]
    assert "Bay 3" in pages[2].extract_text()


def test_page_of_a_venue_holds_every_sheet_and_is_made_piece_by_piece(arcade: Venue) -> None:
    pieces = venue_html(arcade)
    assert "<article" not in next(pieces)
    assert next(pieces).count("<article") == 1
    html = "".join(venue_html(arcade))
    assert [html.count(f"Wiring sheet of node <b>{node.id}</b>") for node in arcade.nodes] == [1] * len(arcade.nodes)


def test_pdf_of_more_sheets_than_it_holds_is_refused_with_the_way_to_the_parts() -> None:
    venue = venue_from(row_document(nodes=MOST_SHEETS_IN_PDF + 1, pixels=2))
    with pytest.raises(InvalidError) as refused:
        venue_pdf(venue)
    (mistake,) = refused.value.mistakes
    assert "first=1&count=20, then first=21" in mistake.remedy
    with pytest.raises(InvalidError, match="no such sheet"):
        venue_pdf(venue, first=22)


def test_node_that_is_not_there_is_told(arcade: Venue) -> None:
    with pytest.raises(NotFoundError):
        node_html(arcade, "attic")
