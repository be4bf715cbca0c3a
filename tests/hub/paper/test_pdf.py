"""From a page to PDF in a process of its own: nothing is fetched, nothing lasts for ever, failures say what to do."""

import io
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from markupsafe import Markup
from pypdf import PdfReader

from hub.errors import UnavailableError
from hub.paper import pdf
from hub.paper.frame import printed_page
from hub.paper.pdf import to_pdf


def _page(body: str) -> str:
    return printed_page(title="A page", body=Markup(body))  # noqa: S704 (a test's own page)


def test_letters_of_many_alphabets_are_in_the_pdf() -> None:
    words = "Ωμέγα Привет Łódź Ærø 2.5 mm² 300–500 Ω → ✓"
    (page,) = PdfReader(io.BytesIO(to_pdf(_page(f"<p>{words}</p>")))).pages
    assert words in page.extract_text()


def test_nothing_is_fetched_from_network_or_disk(tmp_path: Path) -> None:
    asked: list[str] = []

    class Ear(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

    picture = tmp_path / "picture.svg"
    picture.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><text>secret</text></svg>')
    server = HTTPServer(("127.0.0.1", 0), Ear)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        host = f"http://127.0.0.1:{server.server_port}"
        pictures = f'<img src="{host}/a.png"><img src="{picture.as_uri()}">'
        style = f'<link rel="stylesheet" href="{host}/b.css">'
        (page,) = PdfReader(io.BytesIO(to_pdf(_page(f"{pictures}{style}<p>here</p>")))).pages
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
    assert asked == []
    assert "here" in page.extract_text()
    assert "secret" not in page.extract_text()


def test_missing_pango_is_told_with_its_remedy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # What WeasyPrint does where the library is missing: it prints advice and raises OSError while it is imported.
    (tmp_path / "weasyprint.py").write_text("print('advice')\nraise OSError('cannot load library libpango-1.0-0')\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with pytest.raises(UnavailableError, match="apt-get install libpango") as told:
        to_pdf(_page("<p>here</p>"))
    assert "HTML prints the same" in told.value.detail


def test_pdf_that_takes_too_long_is_ended_and_the_next_is_made() -> None:
    with pytest.raises(UnavailableError, match=r"longer than 0\.01 s"):
        to_pdf(_page("<p>here</p>"), longest_s=0.01)
    assert to_pdf(_page("<p>here</p>")).startswith(b"%PDF")


def test_call_that_waits_too_long_for_others_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf, "LONGEST_WAIT_S", 0.01)
    with pdf._one_at_a_time, pytest.raises(UnavailableError, match="other PDFs are being made"):
        to_pdf(_page("<p>here</p>"))
