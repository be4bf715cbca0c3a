"""Controls, timetable, cues and rollouts on the page: in a real browser against the real hub and boards."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Locator, Page, expect

from hub.rehearsal.rehearsal import Rehearsal
from hub.venue_file.writing import write_venue
from tests.e2e.conftest import DEADLINE_MS, OpenPage, own_ports
from tests.e2e.three_pitches import PITCHES, three_pitches

pytestmark = pytest.mark.timeout(240)

REFUSED = "status of 4"
SLIP_MS = 400
SHEET = "&venue=three-pitches&"


@pytest.fixture(scope="module")
def rehearsal(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rehearsal]:
    """Three boards that keep hours, every scene checked for flashes: none else goes out unattended."""
    folder = own_ports(tmp_path_factory.mktemp("pitches"))
    venue = three_pitches()
    written = folder / "venue.yaml"
    written.write_text(write_venue(venue))
    running = Rehearsal(venue, written, folder, slow_board=None, say=lambda _text: None)
    try:
        running.start()
        for scene in venue.scenes:
            running.call("GET", f"/scenes/{scene.id}/flash")
        yield running
    finally:
        running.stop()


@pytest.fixture
def page(open_page: OpenPage, rehearsal: Rehearsal) -> Page:
    rehearsal.take("amber")
    page = open_page(expected=REFUSED)
    expect(page.get_by_text("live", exact=True)).to_be_visible()
    expect(page.get_by_role("button", name="Take Blue")).to_be_visible()
    return page


def told(page: Page) -> Locator:
    return page.get_by_role("region", name="Controls").get_by_role("status")


def all_show(rehearsal: Rehearsal, scene: str | None) -> None:
    rehearsal.wait(
        f"every board shows {scene}",
        lambda: {state["scene"] for state in rehearsal.node_states().values()} == {scene},
        DEADLINE_MS / 1000,
    )


def press(page: Page, key: str) -> None:
    """Twice at once: the second is a slip of the finger."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/controls/" in request.url else None)
    with page.expect_response(lambda response: "/controls/" in response.url):
        page.keyboard.press(key)
        page.keyboard.press(key)
    page.wait_for_timeout(SLIP_MS)  # as long as the page takes a press for a slip
    assert len(asked) == 1


def test_evening_is_run_with_one_key_a_step(page: Page, rehearsal: Rehearsal) -> None:
    cues = page.get_by_role("region", name="Cues")
    expect(page.get_by_role("button", name="Go", exact=True)).to_contain_text("takes Doors")
    press(page, "g")
    expect(cues.locator("[aria-current=step]")).to_contain_text("Doors")
    all_show(rehearsal, "amber")
    press(page, "g")
    expect(told(page)).to_contain_text("speech")
    expect(cues).to_contain_text("follows in")
    expect(cues.locator("[aria-current=step]")).to_contain_text("Dance")
    all_show(rehearsal, "green")

    press(page, "k")
    expect(told(page)).to_contain_text("Blackout: every pixel goes dark")
    expect(told(page)).to_contain_text("stairs")
    all_show(rehearsal, None)
    press(page, "b")
    all_show(rehearsal, "green")
    press(page, "w")
    expect(told(page)).to_contain_text("within the budget of every supply")
    all_show(rehearsal, "work-light")
    expect(page.locator(".progress")).to_contain_text("Work light: taken")
    cues.get_by_role("button", name="Put it down").click()
    expect(cues.get_by_role("button", name="Take it in hand")).to_be_visible()


def test_keys_that_are_typed_or_turned_off_take_nothing(page: Page, rehearsal: Rehearsal) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/controls/" in request.url else None)
    page.get_by_label("Master level").fill("wk")
    page.get_by_role("combobox", name="Fade").press("b")
    page.get_by_role("checkbox", name="Keys act").uncheck()
    page.locator("body").press("k")
    page.get_by_role("checkbox", name="Keys act").check()
    assert asked == []
    # Letters act over an open sheet as well, and the sheet stays.
    page.get_by_role("link", name="Timetable").click()
    sheet = page.get_by_role("dialog")
    expect(sheet.get_by_role("heading", name="Entries")).to_be_visible()
    press(page, "k")
    all_show(rehearsal, None)
    expect(sheet).to_be_visible()
    expect(sheet.get_by_role("status").filter(has_text="Blackout")).to_be_visible()


def test_month_tells_days_and_entries_are_changed_with_mistakes_at_their_fields(
    open_page: OpenPage, rehearsal: Rehearsal
) -> None:
    page = open_page(expected=REFUSED, place=f"{SHEET}timetable=")
    sheet = page.get_by_role("dialog")
    evenings = sheet.get_by_role("button", name="Amber, sunset to 23:00")
    evenings.click()
    a_row_for_each_day = sheet.get_by_role("button", name="Amber ")
    expect(a_row_for_each_day.nth(27)).to_be_attached()

    form = sheet.get_by_role("listitem").filter(has=page.get_by_label("Begins", exact=True))
    hours = form.get_by_label("Ends: hours and minutes")
    hours.fill("25:00")
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(hours).to_have_attribute("aria-invalid", "true")
    expect(form.locator(".mistakes").first).to_be_visible()
    assert rehearsal.call("GET", "/timetable")["entries"][0]["ends"] == "23:00"

    hours.fill("22:30")
    form.get_by_label("On", exact=True).select_option("days of the week")
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(sheet.get_by_text("Saved.", exact=True)).to_be_visible()
    kept = rehearsal.call("GET", "/timetable")["entries"][0]
    assert (kept["ends"], kept["weekdays"]) == ("22:30", ["fri", "sat"])
    expect(sheet.get_by_role("button", name="to 22:30").first).to_be_visible()

    sheet.get_by_role("button", name="Add an entry").click()
    sheet.get_by_label("Name may be left out").fill("Late shift")
    sheet.get_by_label("Scene", exact=True).select_option("work-light")
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(sheet.get_by_text("Saved.", exact=True)).to_be_visible()
    assert [entry["id"] for entry in rehearsal.call("GET", "/timetable")["entries"]] == [
        "evenings",
        "fair",
        "late-shift",
    ]
    with page.expect_download() as download:
        sheet.get_by_role("button", name="The coming year as an iCalendar file").click()
    assert Path(download.value.path()).read_text(encoding="utf-8").startswith("BEGIN:VCALENDAR")


def test_cue_list_is_written_and_what_someone_else_changed_is_not_lost_unasked(
    page: Page, rehearsal: Rehearsal
) -> None:
    page.get_by_role("button", name="New cue list").click()
    sheet = page.get_by_role("dialog")
    sheet.get_by_label("Title").fill("Matinee")
    follows = sheet.get_by_label("Next after").first
    follows.fill("soon")
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(follows).to_have_attribute("aria-invalid", "true")
    follows.fill("90")
    sheet.get_by_role("button", name="Add a cue").click()
    second = sheet.get_by_role("group", name="Cue 2")
    expect(second.get_by_label("Name")).to_be_focused()
    second.get_by_label("Scene").select_option("green")
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(page).to_have_url(f"{rehearsal.address}/#venue=three-pitches&cues=matinee")
    expect(sheet.get_by_label("Title")).to_have_value("Matinee")
    kept = rehearsal.call("GET", "/cue-lists/matinee")
    assert [(cue["scene"], cue["follow_on_s"]) for cue in kept["cues"]] == [("amber", 90.0), ("green", None)]

    theirs = httpx.put(
        f"{rehearsal.address}/api/v1/venues/three-pitches/cue-lists/matinee",
        json=kept | {"title": "Theirs"},
        headers={"Authorization": f"Bearer {rehearsal.token}", "If-Match": "*"},
    )
    assert theirs.is_success, theirs.text
    sheet.get_by_label("Title").fill("Ours")
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(sheet.get_by_role("alert")).to_contain_text("changed")
    assert rehearsal.call("GET", "/cue-lists/matinee")["title"] == "Theirs"
    sheet.get_by_role("button", name="Save over it").click()
    expect(sheet.get_by_text("Saved.", exact=True)).to_be_visible()
    assert rehearsal.call("GET", "/cue-lists/matinee")["title"] == "Ours"
    sheet.get_by_role("button", name="Delete", exact=True).click()
    sheet.get_by_role("button", name="Delete it").click()
    expect(sheet).to_have_count(0)
    expect(page.get_by_role("region", name="Cues")).not_to_contain_text("Ours")


def test_rollout_is_planned_reckoned_watched_and_put_back(open_page: OpenPage, rehearsal: Rehearsal) -> None:
    rehearsal.take("amber")
    page = open_page(expected=REFUSED, place=f"{SHEET}rollouts=")
    sheet = page.get_by_role("dialog")
    under_way = sheet.get_by_role("status", name="Under way")
    expect(under_way).to_contain_text("Amber: taken")
    sheet.get_by_label("Scene", exact=True).select_option("blue")
    sheet.get_by_label("Nodes", exact=True).select_option(label="ends")
    soak = sheet.get_by_label("Watched after its take")
    soak.fill("a while")
    sheet.get_by_role("button", name="Dry run").click()
    expect(soak).to_have_attribute("aria-invalid", "true")
    soak.fill("600")
    sheet.get_by_role("button", name="Dry run").click()
    expect(sheet.get_by_role("row", name="west 1")).to_contain_text("scene amber → scene blue")
    expect(sheet.get_by_role("row", name="east 2")).to_be_visible()
    assert {state["scene"] for state in rehearsal.node_states().values()} == {"amber"}, "a dry run sends nothing"

    sheet.get_by_role("button", name="Roll it out").click()
    expect(under_way).to_contain_text("Batch 1 of 2: taken, and watched for")
    first_only = {node: "blue" if node == PITCHES[0] else "amber" for node in PITCHES}

    def scenes() -> dict[str, str]:
        return {node: state["scene"] for node, state in rehearsal.node_states().items()}

    rehearsal.wait("the first board alone shows it", lambda: scenes() == first_only, DEADLINE_MS / 1000)
    under_way.get_by_role("button", name="Put back what was before").click()
    expect(under_way).to_contain_text("reverted by revision")
    all_show(rehearsal, "amber")


@pytest.mark.parametrize("sheet", ["timetable", "rollouts", "cues"])
def test_sheets_fit_a_phone_and_everything_has_a_name(open_page: OpenPage, sheet: str) -> None:
    page = open_page(390, 844, device_scale_factor=2, has_touch=True, place=f"{SHEET}{sheet}=")
    heading = {"timetable": "Entries", "rollouts": "Plan another", "cues": "Cues"}[sheet]
    expect(page.get_by_role("dialog").get_by_role("heading", name=heading)).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.get_by_role("dialog").evaluate("dialog => dialog.scrollWidth <= dialog.clientWidth")
    nameless = page.evaluate(
        """() => [...document.querySelectorAll("button, select, input, a[href]")]
          .filter((each) => !(each.ariaLabel || each.innerText?.trim() || each.labels?.length))
          .map((each) => each.outerHTML)"""
    )
    assert nameless == []
