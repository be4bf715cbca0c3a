"""The document as PDF, read back; and no document larger than can be made while somebody waits."""

import io

import pypdf
import pytest

from hub.audit.document import making
from hub.audit.document.content import drawings
from hub.audit.document.making import audit_html, audit_pdf
from hub.errors import InvalidError
from tests.hub.audit.document.examples import HOSTILE_TITLE, demo, examined_of, hard
from tests.hub.audit.document.test_page import MADE_AT
from tests.hub.desired.venues import row_venue

A4_POINTS = (595.28, 841.89)


def pages_of(pdf: bytes) -> list[str]:
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    for page in reader.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(A4_POINTS, abs=0.1)
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def test_pdf_has_a_sheet_for_each_supply_each_page_numbered_with_a_running_foot() -> None:
    pages = pages_of(audit_pdf(demo(), None, MADE_AT))
    supplies = [one.supply for one in demo().audit.supplies]
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert "Corn Exchange arcade, 2026-11-25, revision 7" in page
    first_of = [next(n for n, page in enumerate(pages) if page.startswith(f"Supply {one}")) for one in supplies]
    assert first_of == sorted(first_of)
    assert "AUDIT OF SUPPLIES AND WIRING" in pages[0]
    assert "Signature" in pages[1]
    # Two pages in front; a sheet fits a page, or two where the supply has four runs or three.
    assert len(supplies) + 2 <= len(pages) <= len(supplies) + 5


def test_pdf_of_the_hardest_supply_names_its_feeds_over_several_pages_with_their_headings() -> None:
    whole = pages_of(audit_pdf(hard(), "a" * 40, MADE_AT))
    with_feeds = [page for page in whole if "Fuses that fit A" in page]
    assert len(with_feeds) >= 2
    assert HOSTILE_TITLE.split(" ")[0] in "".join(whole)
    assert "620" in with_feeds[-1] or "620" in with_feeds[-2]


def test_document_too_large_names_the_remedies(monkeypatch: pytest.MonkeyPatch) -> None:
    row = examined_of(row_venue(4, pixels=2))
    assert drawings(row.audit, None) == 4 + 8
    assert drawings(row.audit, "psu-bay-0001") == 1 + 2
    monkeypatch.setattr(making, "MOST_DRAWINGS_IN_PDF", 11)
    with pytest.raises(InvalidError, match="would hold 12 drawings") as refused:
        audit_pdf(row, None, MADE_AT)
    (mistake,) = refused.value.mistakes
    assert mistake.field == "query.supply"
    assert all(words in mistake.remedy for words in ("supply", "HTML", "CSV"))
    monkeypatch.setattr(making, "MOST_DRAWINGS_IN_HTML", 11)
    with pytest.raises(InvalidError, match="its page would hold 12 drawings"):
        audit_html(row, None, MADE_AT)
    assert "psu-bay-0001" in audit_html(row, "psu-bay-0001", MADE_AT)
