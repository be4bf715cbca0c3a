"""The page names everything, says verdicts in words, and shows what users wrote as text only."""

import re
from collections.abc import Callable
from datetime import UTC, datetime
from html.parser import HTMLParser

import pytest

from hub.audit.document.making import audit_html
from hub.audit.document.page import MOST_NOTES, number, with_code
from hub.audit.service import Examined
from hub.errors import NotFoundError
from tests.hub.audit.document.examples import (
    ALL_A,
    FORMULA_TITLE,
    HOSTILE_NOTE,
    HOSTILE_TITLE,
    LONG_ID,
    demo,
    examined_of,
    hard,
)
from tests.hub.desired.venues import row_venue

MADE_AT = datetime(2026, 11, 25, 14, 30, 5, tzinfo=UTC)


class Reader(HTMLParser):
    """Text, elements and attributes of a page, as a browser would take them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[str] = []
        self.attributes: set[str] = set()
        self._skipped = False
        self._words: list[str] = []
        self.feed(page)
        self.text = re.sub(r"\s+", " ", "".join(self._words))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(tag)
        self.attributes |= {name for name, _ in attrs}
        self._skipped = tag == "style"
        if tag not in {"b", "code", "span"}:
            self._words.append(" ")

    def handle_endtag(self, tag: str) -> None:
        self._skipped = False
        if tag in {"td", "th", "dt", "dd", "li", "p", "h1", "h2", "h3"}:
            self._words.append(" ")

    def handle_data(self, data: str) -> None:
        if not self._skipped:
            self._words.append(data)


def read(examined: Examined, only: str | None = None) -> Reader:
    return Reader(audit_html(examined, only, MADE_AT))


@pytest.mark.parametrize("examined", [demo, hard])
def test_every_supply_run_feed_and_note_is_named(examined: Callable[[], Examined]) -> None:
    audit, text = examined().audit, read(examined()).text
    for supply in audit.supplies:
        assert f"Supply {supply.supply}" in text
        assert supply.reason in text
    for run in audit.runs:
        assert f"{run.node} channel {run.channel}: {run.pixels} pixels, {run.pixel_type}" in text
        for place, feed in enumerate(run.feeds, start=1):
            assert re.search(rf" {place} {feed.at_pixel} (this one |{feed.supply} )?{feed.wire} ", text)
    for note in audit.notes:
        assert note.text.replace("`", "") in text
        assert note.remedy.replace("`", "") in text
    for line in (*audit.assumptions, *audit.cautions):
        assert line.replace("`", "") in text


def test_title_page_tells_when_of_what_and_by_what() -> None:
    text = read(demo()).text
    for words in ("Corn Exchange arcade", "2026-11-25 14:30 UTC", "Revision in force 7", "Scene in force Evening"):
        assert words in text
    for words in ("Supplies 19", "Within 7", "Only under budget 12", "Overloaded 0", "Name", "Date", "Signature"):
        assert words in text


def test_scene_peak_says_what_it_rests_on() -> None:
    window = demo().audit.scene_window
    assert window is not None
    assert f"the highest of {window.instants} instants rendered over {window.length_s:.4g} s" in read(demo()).text


def test_what_users_wrote_is_text_and_no_element() -> None:
    plain, hostile = read(demo()), read(hard())
    assert set(hostile.elements) <= set(plain.elements) | {"polygon", "h3"}
    assert not set(hostile.elements) & {"script", "img", "iframe", "object", "link", "a"}
    assert not any(name.startswith("on") or name in {"src", "href"} for name in hostile.attributes)
    for words in (HOSTILE_TITLE, HOSTILE_NOTE[:400].strip(), FORMULA_TITLE):
        assert words in hostile.text


def test_faults_stand_first_in_notes_and_table() -> None:
    text = read(hard()).text
    to_see_to = text[text.index("To see to") : text.index("All supplies")]
    assert to_see_to.index("OVERLOADED") < to_see_to.index("FAULT") < to_see_to.index("Attention")
    left_out = len(hard().audit.notes) - MOST_NOTES
    assert left_out > 0
    assert f"And {left_out} more notes, on the sheets" in to_see_to
    table = text[text.index("All supplies") : text.index("What these figures assume")]
    assert table.index("tiny") < table.index(LONG_ID) < table.index("unused")


def test_venue_without_anything_wrong_says_so() -> None:
    sound = examined_of(row_venue(1, pixels=10))
    sound.audit.notes.clear()
    assert "nothing in the wiring is wrong or unknown" in read(sound).text


def test_one_supply_alone_has_its_sheet_cautions_and_signature() -> None:
    text = read(demo(), "gable-5v").text
    assert "Supply gable-5v: Clock and gable" in text
    assert "Shares of the budget, by need" in text
    assert "Supply bay-01-5v" not in text
    assert "All supplies" not in text
    for words in ("Cautions", "licensed electrician", "Signature", "What these figures assume"):
        assert words in text


def test_supply_that_is_not_there_is_an_error() -> None:
    with pytest.raises(NotFoundError, match="there is no supply 'attic'"):
        audit_html(demo(), "attic", MADE_AT)


def test_class_2_is_told_with_its_limit() -> None:
    text = read(demo()).text
    assert "5 V × 12 A = 60 W: above the Class 2 limit of 5 A and 25 W at 5 V" in text
    assert "5 V × 4 A = 20 W: within the Class 2 limit" in text
    assert "48 V × 3 A = 144 W: above the Class 2 limit of 2.08 A and 100 W at 48 V" in read(hard()).text


def test_negative_conductor_that_carries_more_is_told() -> None:
    feeds = [(number, feed) for number, feed in enumerate(hard().audit.runs[0].feeds, start=1)]
    more = [(number, feed.loaded_a) for number, feed in feeds if feed.loaded_a > abs(feed.under_budget_a) + 0.01]
    assert more
    text = read(hard(), ALL_A).text
    sentence = text[text.index("the negative conductor carries more") :]
    assert all(f"feed {number} {amps:.2f} A" in sentence for number, amps in more)


def test_supply_of_several_nodes_lists_shares_and_of_one_names_it() -> None:
    text = read(hard(), ALL_A).text
    assert "Shares of the budget, fixed" in text
    assert "Budget all for bay-0001" in read(hard(), "tiny").text


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(1.005, 1, "1.0"), (-2.6, 2, "−2.60"), (-0.001, 2, "0.00"), (None, 2, "–"), (float("nan"), 2, "–"), (7, 0, "7")],
)
def test_numbers_in_tables(value: float | None, digits: int, text: str) -> None:
    assert number(value, digits) == text


def test_code_in_notes_is_marked_and_the_rest_escaped() -> None:
    assert with_code("state `a<b` & go") == "state <code>a&lt;b</code> &amp; go"
