"""The audit on the operator's page: sheets of supplies, notes on the wiring, energy, documents; in a real browser."""

import csv
import io
import re
from http import HTTPStatus
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Locator, Page, expect

from hub.rehearsal.rehearsal import Rehearsal
from tests.e2e.conftest import OpenPage
from tests.e2e.crowded import HOSTILE, LONG_RUN, SUPPLIES, crowded_document
from tests.processes import wait_until

pytestmark = pytest.mark.timeout(240)

GABLE = "&venue=corn-exchange&supply=gable-5v"
ROWS_OF_A_PAGE = 60
ROUNDING_V = 0.0051
"""The sheet writes volts with two digits."""
PHONE = {"device_scale_factor": 2, "has_touch": True}


@pytest.fixture
def audit(rehearsal: Rehearsal) -> dict[str, Any]:
    answer: dict[str, Any] = rehearsal.call("GET", "/audit")
    return answer


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    page = open_page()
    expect(page.get_by_text("live", exact=True)).to_be_visible()
    return page


@pytest.fixture
def sheet(open_page: OpenPage) -> Locator:
    """The sheet of the supply of clock and gable, which two nodes share and whose feeds have no fuse stated."""
    sheet = open_page(place=GABLE).get_by_role("dialog", name="Clock and gable")
    expect(sheet.locator("path.volts")).to_have_count(4)
    return sheet


def supply_of(audit: dict[str, Any], supply: str) -> dict[str, Any]:
    found: dict[str, Any] = next(each for each in audit["supplies"] if each["supply"] == supply)
    return found


def volts_of(rehearsal: Rehearsal, level: str) -> list[float]:
    volts: list[float] = rehearsal.call("GET", "/audit/runs/gable/1", params={"level": level})["volts"]
    return volts


def run_of(sheet: Locator, node: str, channel: int) -> Locator:
    return sheet.get_by_role("article", name=f"{node} channel {channel}")


def test_sheet_is_opened_and_put_away_by_keyboard_alone(page: Page) -> None:
    link = page.get_by_role("link", name="bay-06-5v", exact=True)
    link.focus()
    page.keyboard.press("Enter")
    sheet = page.get_by_role("dialog", name="bay-06-5v")
    expect(sheet.get_by_role("heading", name="bay-06-5v", exact=True)).to_be_focused()
    for _ in range(12):
        page.keyboard.press("Tab")
        inside = page.evaluate(
            "['BODY', 'DIALOG'].includes(document.activeElement.tagName) || "
            "document.querySelector('dialog').contains(document.activeElement)"
        )
        assert inside, "the drawing under the sheet is out of reach"
    page.keyboard.press("Escape")
    expect(sheet).to_have_count(0)
    expect(link).to_be_focused()
    assert "supply" not in page.url


def test_browsers_back_puts_the_sheet_away_whatever_was_leafed_through(page: Page) -> None:
    page.get_by_role("link", name="bay-06-5v", exact=True).click()
    page.get_by_role("button", name="Supply after").click()
    expect(page.get_by_role("dialog", name="bay-07-5v")).to_be_visible()
    assert page.url.endswith("#venue=corn-exchange&supply=bay-07-5v")
    page.go_back()
    expect(page.get_by_role("dialog")).to_have_count(0)
    page.go_forward()
    expect(page.get_by_role("dialog", name="bay-07-5v")).to_be_visible()


def test_sheet_shows_the_audits_figures_verdict_and_shares(sheet: Locator, audit: dict[str, Any]) -> None:
    supply = supply_of(audit, "gable-5v")
    figures = sheet.get_by_role("region", name="Figures")
    for name, field in (("Worst case", "worst_case_a"), ("Scene peak", "scene_peak_a"), ("Typical", "typical_a")):
        row = figures.get_by_role("row", name=re.compile(f"^{name}"))
        expect(row).to_contain_text(f"{supply[field]:.{1 if supply[field] >= 10 else 2}f} A")
    expect(figures.get_by_role("row", name=re.compile("^Worst case"))).to_contain_text("above the budget")
    expect(figures.get_by_role("row", name=re.compile("^Typical"))).not_to_contain_text("above the budget")
    expect(sheet).to_contain_text(supply["reason"])
    room = supply["headroom_typical"]
    expect(sheet).to_contain_text(f"{room['amps']:.2f} A to spare, {room['pixels']} pixels more")
    for share in supply["shares"]:
        expect(sheet.get_by_role("row", name=share["node"])).to_contain_text(
            f"{share['worst_case_a']:.{1 if share['worst_case_a'] >= 10 else 2}f} A"
        )
    for caution in audit["cautions"]:
        expect(sheet).to_contain_text(caution)


def test_volts_are_drawn_and_read_at_the_level_that_is_chosen(sheet: Locator, rehearsal: Rehearsal) -> None:
    run = run_of(sheet, "gable", 1)
    drawing = run.get_by_role("img", name="Volts along gable channel 1")
    for name, level in (("worst case", "worst-case"), ("typical", "typical"), ("under the budget", "under-budget")):
        sheet.get_by_role("combobox", name="All the venue lit").select_option(name)
        volts = volts_of(rehearsal, level)
        expect(drawing).to_have_accessible_name(re.compile(f"{name}: lowest "))
        assert volts_in(drawing.get_attribute("aria-label")) == pytest.approx(min(volts), abs=ROUNDING_V)
        run.get_by_role("spinbutton", name="Read at pixel").fill("40")
        assert volts_in(run.get_by_role("status").text_content()) == pytest.approx(volts[40], abs=ROUNDING_V)
        assert heights_agree(drawing, volts)


def volts_in(text: str | None) -> float:
    found = re.search(r"([\d.]+) V", text or "")
    assert found, text
    return float(found[1])


def heights_agree(drawing: Locator, volts: list[float]) -> bool:
    """Whether the line, read off against the marks of the supply's and the lowest working volts, shows these volts."""
    supply_y, minimum_y = (
        float(re.findall(r" ([\d.]+)H", drawing.locator(f"path.{name}").get_attribute("d") or "")[0])
        for name in ("supply", "minimum")
    )
    points = re.findall(r"L([\d.]+) ([\d.]+)", drawing.locator("path.volts").get_attribute("d") or "")[: len(volts)]
    assert len(points) == len(volts)
    drawn = [5.0 - (float(y) - supply_y) / (minimum_y - supply_y) * 1.5 for _x, y in points]
    assert drawn == pytest.approx(volts, abs=0.01)
    return True


def test_run_is_advised_where_to_feed_it(sheet: Locator, rehearsal: Rehearsal) -> None:
    run = run_of(sheet, "gable", 1)
    run.get_by_role("combobox", name="Level to feed for").select_option("50 % of full white")
    run.get_by_role("button", name="Where to feed it").click()
    question = {"node": "gable", "channel": 1, "level": 0.5}
    expect(run).to_contain_text(rehearsal.call("GET", "/advice/feeds", params=question)["answer"])


def test_pointer_over_the_drawing_reads_the_pixel_under_it(sheet: Locator, rehearsal: Rehearsal) -> None:
    run = run_of(sheet, "gable", 1)
    drawing = run.get_by_role("img", name="Volts along gable channel 1")
    drawing.scroll_into_view_if_needed()
    box = drawing.bounding_box()
    assert box is not None
    sheet.page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 60)
    read = int(run.get_by_role("spinbutton", name="Read at pixel").input_value())
    assert 0 < read < 117
    expected = volts_of(rehearsal, "under-budget")[read]
    assert volts_in(run.get_by_role("status").text_content()) == pytest.approx(expected, abs=ROUNDING_V)


def test_now_on_the_sheet_follows_the_boards(sheet: Locator, rehearsal: Rehearsal) -> None:
    now = sheet.get_by_role("region", name="Figures").get_by_role("row", name=re.compile("^Now")).locator(".figure")

    def shown_a() -> float:
        sheet.page.wait_for_timeout(50)
        return float((now.text_content() or "").split(" A")[0].replace("not told", "-1"))

    rehearsal.take("work-light")
    bright = wait_until(lambda: (amps := shown_a()) > 2 and amps, 20, "the boards' draw with work light")
    rehearsal.take("closing-time")
    wait_until(lambda: 0 < shown_a() < bright / 2, 20, "the boards' draw in a dark scene")


def test_shares_show_what_each_node_is_granted_and_that_it_confirmed(sheet: Locator, rehearsal: Rehearsal) -> None:
    def settled() -> dict[str, Any] | None:
        (budget,) = rehearsal.call("GET", "/budgets", params={"supply": "gable-5v"})["items"]
        return budget if len(budget["nodes"]) == 2 and all(node["confirmed"] for node in budget["nodes"]) else None

    budget = wait_until(settled, 30, "both nodes confirm their grants")
    assert budget["supply"] == "gable-5v"
    for node in budget["nodes"]:
        row = sheet.get_by_role("region", name="Verdict and shares").get_by_role("row", name=node["node"])
        expect(row).to_contain_text("confirmed")
    expect(sheet.get_by_role("table", name="Shares of the budget, by need")).to_contain_text("of 16.0 A reserved")


def test_share_of_a_dead_board_stays_reserved_and_says_why(sheet: Locator, rehearsal: Rehearsal) -> None:
    rehearsal.boards["clock"].kill()
    shares = sheet.get_by_role("table", name="Shares of the budget, by need")
    expect(shares).to_contain_text("clock: off, and its pixels may hold their light")
    expect(shares.get_by_role("row", name="clock").first.get_by_role("cell").last).to_have_text("–")
    rehearsal.start_board("clock")
    expect(shares).not_to_contain_text("clock: off")


def test_notes_on_the_wiring_are_listed_apart_from_findings_and_lead_to_their_sheet(
    page: Page, audit: dict[str, Any]
) -> None:
    region = page.get_by_role("region", name="Notes on the wiring")
    faults = sum(note["weight"] == "fault" for note in audit["notes"])
    expect(region).to_contain_text(f"{faults} faults, {len(audit['notes']) - faults} for attention")
    notes = region.get_by_role("listitem")
    expect(notes).to_have_count(len(audit["notes"]))
    first = audit["notes"][0]
    expect(notes.first).to_contain_text(first["text"][1:].replace("`", ""))
    expect(notes.first).to_contain_text(first["remedy"].replace("`", ""))
    expect(page.get_by_role("region", name="Findings")).not_to_contain_text(first["text"][1:])
    notes.first.get_by_role("link").click()
    sheet = page.get_by_role("dialog", name="Clock and gable")
    expect(run_of(sheet, first["node"], first["channel"])).to_contain_text(first["text"][1:].replace("`", ""))


def test_documents_are_kept_as_files_and_no_address_carries_the_token(
    page: Page, rehearsal: Rehearsal, audit: dict[str, Any]
) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    table = kept(page, "Supplies, CSV")
    assert [row["supply"] for row in csv.DictReader(io.StringIO(table.decode()))] == [
        supply["supply"] for supply in audit["supplies"]
    ]
    assert kept(page, "Wiring sheet of Bay 2 as PDF").startswith(b"%PDF-")
    page.get_by_role("link", name="bay-06-5v", exact=True).click()
    assert kept(page, "This sheet as PDF").startswith(b"%PDF-")
    assert [address for address in asked if "/audit.csv" in address]
    assert [address for address in asked if rehearsal.token in address] == []


def kept(page: Page, button: str) -> bytes:
    with page.expect_download(timeout=60_000) as download:
        page.get_by_role("button", name=button, exact=True).click()
    return Path(download.value.path()).read_bytes()


def test_document_that_the_hub_will_not_make_is_told_on_the_sheet(open_page: OpenPage) -> None:
    page = open_page(place=GABLE, expected="503")
    sheet = page.get_by_role("dialog", name="Clock and gable")
    problem = '{"title": "Not now", "detail": "Others are being made.", "status": 503}'
    page.route("**/audit.pdf*", lambda route: route.fulfill(status=503, content_type="application/json", body=problem))
    sheet.get_by_role("button", name="This sheet as PDF").click()
    expect(sheet.get_by_role("alert")).to_contain_text("Others are being made.")


def test_energy_is_shown_by_supply_with_its_cost(page: Page, rehearsal: Rehearsal) -> None:
    def counted() -> bool:
        return any(row["name"] == "bay-02-5v" for row in rehearsal.call("GET", "/energy")["rows"])

    rehearsal.wait("energy of a bay is counted", counted, 30)
    page.reload()
    region = page.get_by_role("region", name="Schedule of energy")
    row = region.get_by_role("row", name="bay-02-5v")
    expect(row).to_contain_text("Wh")
    expect(row).to_contain_text("€")
    region.get_by_role("combobox", name="By").select_option("day")
    expect(region.get_by_role("row", name=re.compile(r"^\d{4}-\d\d-\d\d"))).to_have_count(1)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_sheet_fits_a_phone(open_page: OpenPage, scheme: str) -> None:
    page = open_page(390, 844, place=GABLE, color_scheme=scheme, **PHONE)
    sheet = page.get_by_role("dialog", name="Clock and gable")
    expect(sheet.locator("path.volts")).to_have_count(4)
    widths = sheet.evaluate(
        "sheet => [...sheet.querySelectorAll('*')].map((each) => each.getBoundingClientRect().right)"
    )
    assert max(widths) <= 390
    for name in ("Put away", "Supply after", "This sheet as PDF"):
        box = sheet.get_by_role("button", name=name).bounding_box()
        # WCAG 2.2, success criterion 2.5.8: a target of at least 24 by 24 CSS pixels.
        assert box is not None
        assert min(box["width"], box["height"]) >= 24


def test_everything_on_the_sheet_that_can_be_worked_has_a_name(sheet: Locator) -> None:
    nameless = sheet.evaluate(
        """sheet => [...sheet.querySelectorAll("button, select, input, a[href], summary, [role=img]")]
          .filter((each) => !(each.ariaLabel || each.innerText?.trim() || each.labels?.length))
          .map((each) => each.outerHTML)"""
    )
    assert nameless == []


def test_address_of_a_supply_that_is_gone_says_so(open_page: OpenPage) -> None:
    page = open_page(place="&venue=corn-exchange&supply=gone-5v")
    sheet = page.get_by_role("dialog")
    expect(sheet).to_contain_text("No supply of this venue is called gone-5v")
    sheet.get_by_role("button", name="Put away").click()
    expect(sheet).to_have_count(0)
    assert "#" not in page.url


@pytest.fixture(scope="module")
def crowded(rehearsal: Rehearsal) -> None:
    """A second venue on the same hub, of a thousand supplies and no board."""
    address = f"{rehearsal.address}/api/v1/venues/crowded"
    authorised = {"Authorization": f"Bearer {rehearsal.token}"}
    with httpx.Client(headers=authorised, timeout=60.0, trust_env=False) as client:
        loaded = client.put(address, json=crowded_document(), headers={"If-None-Match": "*"})
        assert loaded.status_code == HTTPStatus.CREATED, loaded.text


@pytest.mark.usefixtures("crowded")
def test_thousand_supplies_are_a_page_at_a_time_and_found_by_name(open_page: OpenPage) -> None:
    page = open_page()
    page.get_by_role("combobox", name="Venue").select_option("crowded")
    supplies = page.get_by_role("region", name="Schedule of supplies").first
    rows = supplies.locator("tbody tr")
    expect(rows).to_have_count(ROWS_OF_A_PAGE)
    expect(supplies).to_contain_text(f"1 to {ROWS_OF_A_PAGE} of {SUPPLIES}")
    supplies.get_by_role("button", name="Later supplies").click()
    expect(rows.first).to_contain_text(f"psu-bay-{ROWS_OF_A_PAGE + 1:04d}")
    supplies.get_by_role("searchbox", name="Find among the supplies").fill("bay 0777")
    expect(rows).to_have_count(1)
    supplies.get_by_role("link", name="psu-bay-0777").click()
    expect(page.get_by_role("dialog", name="psu-bay-0777").locator("path.volts")).to_have_count(2)


@pytest.mark.usefixtures("crowded")
def test_faults_and_titles_that_would_be_markup_are_shown_as_they_stand(open_page: OpenPage) -> None:
    page = open_page(place="&venue=crowded&supply=psu-bay-0001")
    sheet = page.get_by_role("dialog")
    expect(sheet.locator("h2").first).to_have_text(HOSTILE)
    run = run_of(sheet, "bay-0001", 1)
    drawing = run.get_by_role("img", name="Volts along bay-0001 channel 1")
    expect(drawing).to_have_accessible_name(re.compile(f"positive rail cut before {LONG_RUN // 2}"))
    expect(drawing.locator("path.cut")).to_have_count(1)
    expect(drawing.locator("path.feed")).to_have_count(2)
    expect(drawing.locator("path.feed.other")).to_have_count(1)
    assert drawing.locator("path.shortfall").get_attribute("d")
    expect(run).to_contain_text("does not protect its wire")
    expect(run.get_by_role("row", name="2 from psu-bay-0002")).to_contain_text("5 A")
    sheet.get_by_role("button", name="Put away").click()
    expect(page.get_by_role("link", name=HOSTILE, exact=True)).to_be_visible()
    first = page.get_by_role("region", name="Notes on the wiring").get_by_role("listitem").first
    expect(first).to_contain_text("fault")
    expect(first).to_contain_text("joined by its positive rail")
    assert page.locator("img[src=x]").count() == 0
    assert page.title() == "A crowded invented row · Stringcourse"
