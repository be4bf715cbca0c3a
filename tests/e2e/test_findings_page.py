"""Findings on the page: told once with their cause, notes, planned work, history, notification, fault finding."""

import csv
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from hub.rehearsal.rehearsal import Rehearsal
from hub.venue_file.writing import write_venue
from schemas import Venue
from tests.e2e.conftest import DEADLINE_MS, OpenPage, own_ports
from tests.e2e.three_pitches import three_pitches
from tests.hub.notify.receiver import open_receiver
from tests.processes import wait_until

pytestmark = pytest.mark.timeout(240)

SHEET = "&venue=three-pitches&"
SHARED = "west-5v"
ON_SHARED = ("west", "middle")
PHONE_PX = 390
ROUNDING_A = 0.0051
"""The sheet writes amps with two digits."""
THUMB_PX = 44
"""WCAG 2.2, success criterion 2.5.5 (AAA): a target of at least 44 by 44 CSS pixels."""


def _sharing() -> Venue:
    """West and middle hang on one supply, and east on its own."""
    document = three_pitches().model_dump(mode="json", exclude_defaults=True)
    document["nodes"][1]["channels"][0]["run"]["feeds"][0]["supply"] = SHARED
    document["supplies"] = [supply for supply in document["supplies"] if supply["id"] != "middle-5v"]
    return Venue.model_validate_json(json.dumps(document))


@pytest.fixture(scope="module")
def rehearsal(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rehearsal]:
    folder = own_ports(tmp_path_factory.mktemp("findings"))
    venue = _sharing()
    written = folder / "venue.yaml"
    written.write_text(write_venue(venue))
    running = Rehearsal(venue, written, folder, slow_board=None, say=lambda _text: None, keeps_hours=False)
    try:
        running.start()
        yield running
    finally:
        running.stop()


def all_start(rehearsal: Rehearsal) -> None:
    for node, board in rehearsal.boards.items():
        if not board.running:
            rehearsal.start_board(node)
    rehearsal.wait("every board is in step", rehearsal.all_in_force, DEADLINE_MS / 1000)


def amps_told(rehearsal: Rehearsal) -> list[tuple[float, float]]:
    """Lowest and highest amps of west at each point of the last day that tells of them."""
    amps = rehearsal.call("GET", "/history/node/west", params={"quantity": "amps"})["quantities"][0]
    return [(low, high) for low, high in zip(amps["low"], amps["high"], strict=True) if low is not None]


def silent_notes(page: Page) -> Locator:
    notes = page.get_by_role("region", name="Findings", exact=True).get_by_role("listitem")
    return notes.filter(has_text="silent")  # a busy machine's boards may be slow as well


def test_a_supply_that_fails_is_one_finding_with_a_note_a_cause_and_an_end(
    open_page: OpenPage, rehearsal: Rehearsal
) -> None:
    page = open_page()
    expect(page.get_by_text("live", exact=True)).to_be_visible()
    for node in ON_SHARED:
        rehearsal.boards[node].kill()
    note = silent_notes(page)
    expect(note).to_have_count(1)
    expect(note).to_contain_text(f"supply {SHARED}")
    for node in ON_SHARED:
        expect(note.get_by_role("button", name=node)).to_be_visible()
    expect(page.get_by_role("button", name=f"silent, supply {SHARED}")).to_be_visible()

    note.get_by_role("link", name="silent").click()
    sheet = page.get_by_role("dialog", name=f"silent, supply {SHARED}")
    expect(sheet.get_by_role("region", name="It stands for").get_by_role("link")).to_have_count(2)
    expect(sheet.get_by_role("region", name="What is wrong")).to_contain_text("fuse")
    sheet.get_by_label("Note").fill("The fuse at the west pitch, invented")
    sheet.get_by_role("button", name="Acknowledge with this note").click()
    history = sheet.get_by_role("region", name="What happened to it")
    expect(history.get_by_role("row", name="acknowledged")).to_contain_text("The fuse at the west pitch, invented")
    expect(sheet.get_by_role("button", name="Acknowledge")).to_have_count(0)

    all_start(rehearsal)
    expect(history.get_by_role("row", name="ended")).to_be_visible()
    sheet.get_by_role("button", name="Show those that ended").click()
    ended = sheet.get_by_role("region", name="Ended", exact=True)
    expect(ended.get_by_role("link").filter(has_text=f"supply {SHARED}")).to_have_count(1)
    sheet.get_by_role("button", name="Put away").click()
    expect(note).to_have_count(0)


def test_planned_work_is_shown_and_told_only_once_it_is_lifted(open_page: OpenPage, rehearsal: Rehearsal) -> None:
    page = open_page(place=f"{SHEET}finding=", expected="status of 4")
    sheet = page.get_by_role("dialog")
    sheet.get_by_role("button", name="Plan work").click()
    form = sheet.get_by_role("form", name="Planned work")
    form.get_by_label("Where").select_option("node east")
    form.get_by_role("button", name="Mute for this work").click()
    expect(form.get_by_label("What is being done")).to_have_accessible_description(re.compile(r"\w"))
    form.get_by_label("What is being done").fill("New run, invented")
    form.get_by_role("button", name="Mute for this work").click()
    expect(form).to_have_count(0)
    rehearsal.boards["east"].kill()
    work = sheet.get_by_role("region", name="Planned work")
    expect(work.get_by_role("link").filter(has_text="muted")).to_contain_text("silent")
    expect(silent_notes(page)).to_have_count(0)
    work.get_by_role("button", name="Lift the mute of east").click()
    alone = sheet.get_by_role("region", name="Open", exact=True).get_by_role("link").filter(has_text="silent")
    expect(alone).to_contain_text("east")
    all_start(rehearsal)
    expect(alone).to_have_count(0)


def test_a_node_tells_of_its_board_and_its_history_is_read_by_keyboard(
    open_page: OpenPage, rehearsal: Rehearsal
) -> None:
    rehearsal.wait("amps are kept", lambda: bool(amps_told(rehearsal)), DEADLINE_MS / 1000)
    page = open_page()
    page.get_by_role("link", name="Sheet of west").click()
    sheet = page.get_by_role("dialog", name="west")
    board = sheet.get_by_role("region", name="Board")
    expect(board).to_contain_text(re.compile(r"Disk free\d+ %"))
    sheet.get_by_role("button", name="Figures each second").click()
    expect(sheet.get_by_text("It tells its figures each second")).to_be_visible()

    charts = sheet.get_by_role("region", name="History")
    reading = charts.get_by_role("slider", name="Read at")
    reading.focus()
    page.keyboard.press("End")

    def read_a() -> float:
        page.wait_for_timeout(100)
        found = re.search(r"Amps ([\d.]+) A", reading.get_attribute("aria-valuetext") or "")
        if not found:
            page.keyboard.press("ArrowLeft")  # the newest point has only just begun
        return float(found[1]) if found else 0.0

    read = wait_until(read_a, DEADLINE_MS / 1000, "the newest amps are read")
    told = amps_told(rehearsal)
    assert min(low for low, _ in told) - ROUNDING_A <= read <= max(high for _, high in told) + ROUNDING_A
    with page.expect_download() as download:
        charts.get_by_role("button", name="This history as CSV").click()
    rows = list(csv.DictReader(io.StringIO(Path(download.value.path()).read_text())))
    assert any("amps" in (name or "") for name in rows[0])
    for span in ("week", "month", "year"):
        charts.get_by_role("button", name=span, exact=True).click()
        expect(charts.get_by_role("img", name=re.compile("^Amps"))).to_be_visible()


def test_who_is_told_is_added_tried_and_removed(open_page: OpenPage) -> None:
    page = open_page(place=f"{SHEET}notification=")
    sheet = page.get_by_role("dialog")
    with open_receiver() as receiver:
        sheet.get_by_role("button", name="New destination").click()
        form = sheet.get_by_role("group", name="A new destination")
        form.get_by_label("Name").fill("Desk of the market, invented")
        form.get_by_label("Reached as").select_option("webhook")
        form.get_by_label("URL").fill(f"{receiver.address}/findings?secret=invented")
        form.get_by_label("Hours").select_option("some")
        form.get_by_label("Mon").check()
        form.get_by_role("button", name="Add it").click()
        key = sheet.get_by_role("status", name="Key of the webhook")
        expect(key).to_contain_text("not shown again")
        key.get_by_role("button", name="It is kept").click()
        card = sheet.get_by_role("article", name="Desk of the market, invented")
        expect(card).to_contain_text("warnings and alarms; Mon 08:00 to 22:00, else it waits")
        expect(card).not_to_contain_text("secret")
        card.get_by_role("button", name="Test").click()
        expect(card.get_by_role("status")).to_contain_text(re.compile("arrived|took", re.IGNORECASE))
        assert "Signature" in receiver.got[0].headers
    card.get_by_role("button", name="Change").click()
    change = card.get_by_role("group", name="Change of")
    change.get_by_label("Tells of").select_option("alarm")
    change.get_by_role("button", name="Save").click()
    expect(card).to_contain_text("alarms only")
    card.get_by_role("button", name="Remove").click()
    card.get_by_role("button", name="Remove it, and what waits").click()
    expect(card).to_have_count(0)


def test_a_fault_is_found_with_a_thumb_at_the_foot_of_a_ladder(open_page: OpenPage, rehearsal: Rehearsal) -> None:
    page = open_page(PHONE_PX, 844, device_scale_factor=2, has_touch=True, place=f"{SHEET}node=east")
    start = page.get_by_role("form", name="Find a fault")
    start.get_by_label("What is seen").select_option("far-end-fades")
    start.get_by_role("button", name="Find the fault").click()
    sheet = page.get_by_role("dialog", name="east, channel 1")
    step = sheet.get_by_role("region", name="The step that stands")
    expect(step).to_contain_text("shown until")
    answers = step.get_by_role("group", name="Answers").get_by_role("button")
    for answer in answers.all():
        box = answer.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= THUMB_PX
    assert page.evaluate("document.querySelector('dialog').scrollWidth") <= PHONE_PX

    carry = step.get_by_role("table", name="To carry up the ladder")
    asked = step.locator("#fault-step")
    first = asked.inner_text()
    answers.first.click()
    expect(asked).not_to_have_text(first)
    sheet.get_by_role("button", name="Take the last answer back").click()
    expect(asked).to_have_text(first)
    while carry.count() == 0:
        before = asked.inner_text()
        answers.first.click()
        expect(asked).not_to_have_text(before)
    cautions = step.get_by_role("heading", name="Cautions")
    above, below = cautions.bounding_box(), asked.bounding_box()
    assert above is not None
    assert below is not None
    assert above["y"] < below["y"], "what to mind comes before what to do"
    step.get_by_label("What was done").fill("Fed at the far end, invented")
    step.get_by_role("button", name="It is mended").click()
    expect(step).to_contain_text("mended. Fed at the far end, invented")
    found = rehearsal.call("GET", "/fault-findings")["items"][0]
    assert (found["node"], found["state"], found["mended"]) == ("east", "ended", True)
