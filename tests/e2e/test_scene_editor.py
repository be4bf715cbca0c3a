"""Scenes on the page: looked at, made, saved and taken; in a real browser against the real hub and boards."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

import httpx
import pytest
from playwright.sync_api import Locator, Page, expect

from hub.rehearsal.rehearsal import Rehearsal
from tests.e2e.conftest import DEADLINE_MS, OpenPage
from tests.processes import wait_until

pytestmark = pytest.mark.timeout(240)

REFUSED = "status of 4"
"""The browser complains of every answer that is an error, a draft with a mistake among them."""
NEW_SCENE = "&venue=corn-exchange&new-scene="

# The mean colour of the lamps that a drawing shows just now: its third canvas.
LAMPS = """(drawing) => {
  const canvas = drawing.querySelectorAll("canvas")[2];
  if (!canvas) return { points: 0, r: 0, g: 0, b: 0 };
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let [points, r, g, b] = [0, 0, 0, 0];
  for (let i = 0; i < data.length; i += 4)
    if (data[i + 3] > 0) { points++; r += data[i]; g += data[i + 1]; b += data[i + 2]; }
  return { points, r: r / points, g: g / points, b: b / points };
}"""


def wait_for_lamps(drawing: Locator, holds: Callable[[dict[str, float]], bool]) -> None:
    def held() -> bool:
        drawing.page.wait_for_timeout(50)  # lets the browser's events through; the condition is what is waited for
        lamps = drawing.evaluate(LAMPS)
        return bool(lamps["points"] > 0 and holds(lamps))

    wait_until(held, DEADLINE_MS / 1000, f"the lamps as wanted; now {drawing.evaluate(LAMPS)}")


def red(lamps: dict[str, float]) -> bool:
    return lamps["r"] > 150 and lamps["b"] < 60


def violet(lamps: dict[str, float]) -> bool:
    return lamps["r"] > 100 and lamps["b"] > 100


def scene_of(rehearsal: Rehearsal, scene: str) -> dict[str, Any]:
    found: dict[str, Any] = rehearsal.call("GET", f"/scenes/{scene}")
    return found


def open_layer(sheet: Locator, number: int) -> Locator:
    sheet.get_by_role("button", name=f"Layer {number} of").click()
    return sheet.get_by_role("group", name=f"Layer {number}", exact=True)


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    page = open_page(expected=REFUSED)
    expect(page.get_by_text("live", exact=True)).to_be_visible()
    return page


def test_scene_is_looked_at_on_the_elevation_and_nothing_goes_up(page: Page, rehearsal: Rehearsal) -> None:
    rehearsal.take("evening")
    elevation = page.get_by_role("region", name="Front elevation")
    wait_for_lamps(elevation, lambda lamps: lamps["r"] > lamps["b"] * 1.3)
    page.get_by_role("button", name="Look at Frost").click()
    expect(elevation.get_by_role("status").filter(has_text="Frost: not what is up")).to_be_visible()
    expect(elevation.get_by_role("img", name="A preview, not what is up")).to_have_count(1)
    wait_for_lamps(elevation, lambda lamps: lamps["b"] > lamps["r"] * 1.3)
    figures = page.get_by_role("region", name="Amps over its period")
    expect(figures.get_by_role("figure").first).to_contain_text("Highest")
    assert {state["scene"] for state in rehearsal.node_states().values()} == {"evening"}

    elevation.get_by_role("button", name="Back to live").click()
    expect(figures).to_have_count(0)
    wait_for_lamps(elevation, lambda lamps: lamps["r"] > lamps["b"] * 1.3)


def test_what_a_supply_cannot_give_is_told_before_it_is_asked_for(page: Page) -> None:
    page.get_by_role("button", name="Look at Full white").click()
    figures = page.get_by_role("region", name="Amps over its period")
    course = figures.get_by_role("figure").filter(has_text="bay-06-5v")
    # 150 pixels of 60 mA at full white, on a budget of 3.20 A.
    expect(course).to_contain_text("Highest 9.00 A, budget 3.20 A.")
    expect(course).to_contain_text("The limiter acts all the time, down to 34 %.")


def test_scene_of_two_layers_is_made_seen_saved_and_taken(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_role("button", name="New scene").click()
    sheet = page.get_by_role("dialog")
    expect(sheet.get_by_role("heading", name="New scene")).to_be_focused()
    drawing = sheet.locator(".preview")
    sheet.get_by_label("Title").fill("Signal test")
    expect(sheet.locator("code", has_text="signal-test")).to_be_visible()
    lower = open_layer(sheet, 1)
    lower.get_by_label("Zone").select_option("everything")
    lower.get_by_label("Pattern").select_option("wash")
    lower.get_by_role("combobox", name="Colour: #rrggbb or name").fill("#ff0000")
    wait_for_lamps(drawing, red)

    sheet.get_by_role("button", name="Add a layer on top").click()
    upper = sheet.get_by_role("group", name="Layer 2", exact=True)
    expect(upper.get_by_label("Zone")).to_be_focused()
    upper.get_by_role("combobox", name="Colour: #rrggbb or name").fill("blue")
    upper.get_by_label("Blend").select_option("add")
    wait_for_lamps(drawing, violet)
    sheet.get_by_role("button", name="Save").click()
    expect(page).to_have_url(f"{rehearsal.address}/#venue=corn-exchange&scene=signal-test")
    saved = scene_of(rehearsal, "signal-test")
    assert [(layer["zone"], layer["pattern"]["colour"]) for layer in saved["layers"]] == [
        ("everything", "#ff0000"),
        ("everything", "blue"),
    ]

    sheet.get_by_role("button", name="Put away").click()
    expect(page.get_by_role("button", name="New scene")).to_be_focused()
    page.get_by_role("button", name="Take Signal test").click()
    expect(page.locator(".progress")).to_contain_text("Signal test: taken")
    rehearsal.wait("every board shows it", rehearsal.all_in_force, 15)
    assert {state["scene"] for state in rehearsal.node_states().values()} == {"signal-test"}


def test_mistake_is_told_at_its_field_with_the_remedy(open_page: OpenPage) -> None:
    sheet = open_page(expected=REFUSED, place="&venue=corn-exchange&scene=slow-tide").get_by_role("dialog")
    layer = open_layer(sheet, 1)
    opacity = layer.get_by_role("spinbutton", name="Opacity")
    opacity.fill("7")
    expect(opacity).to_have_attribute("aria-invalid", "true")
    wrong = layer.locator(".mistakes")
    expect(wrong).to_have_count(1)
    assert opacity.get_attribute("aria-describedby") == f"field-layers-0-opacity-does {wrong.get_attribute('id')}"
    expect(sheet.get_by_role("status").filter(has_text="before the mistakes")).to_be_visible()
    sheet.get_by_role("button", name="Save").click()
    expect(sheet.get_by_role("alert")).to_be_visible()
    expect(sheet.get_by_text("Not saved.")).to_be_visible()

    opacity.fill("0,7")
    expect(wrong).to_have_count(0)
    expect(opacity).to_have_attribute("aria-invalid", "false")


def test_layers_are_worked_by_keyboard_alone(open_page: OpenPage) -> None:
    page = open_page(place=NEW_SCENE)
    sheet = page.get_by_role("dialog", name="New scene")
    add = sheet.get_by_role("button", name="Add a layer on top")
    add.focus()
    page.keyboard.press("Enter")
    name = sheet.get_by_role("button", name="Layer 2 of 2, the highest")
    expect(name).to_have_attribute("aria-expanded", "true")
    sheet.get_by_role("group", name="Layer 2", exact=True).get_by_label("Zone").select_option("clock")
    sheet.get_by_role("button", name="Move layer 2 lower").focus()
    page.keyboard.press("Space")
    expect(sheet.get_by_role("button", name="Layer 1 of 2, the lowest")).to_contain_text("Clock")
    opacity = sheet.get_by_role("spinbutton", name="Opacity")
    opacity.focus()
    page.keyboard.press("ArrowDown")
    expect(opacity).to_have_value("0.95")
    sheet.get_by_role("button", name="Take layer 1 away").focus()
    page.keyboard.press("Enter")
    expect(add).to_be_focused()
    expect(sheet.get_by_role("listitem")).to_have_count(1)


def test_what_someone_else_saved_meanwhile_is_not_overwritten_unasked(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_role("link", name="Sheet of Work light").click()
    sheet = page.get_by_role("dialog", name="Work light")
    note = sheet.get_by_label("Note")
    note.fill("Mine.")
    answer = httpx.put(
        f"{rehearsal.address}/api/v1/venues/corn-exchange/scenes/work-light",
        json=scene_of(rehearsal, "work-light") | {"note": "Theirs."},
        headers={"Authorization": f"Bearer {rehearsal.token}", "If-Match": "*"},
    )
    assert answer.status_code == HTTPStatus.OK
    sheet.get_by_role("button", name="Save").click()
    alert = sheet.get_by_role("alert")
    expect(alert).to_contain_text("someone changed it since you read it")
    assert scene_of(rehearsal, "work-light")["note"] == "Theirs."
    alert.get_by_role("button", name="Save mine over it").click()
    expect(sheet.get_by_text("Saved.", exact=True)).to_be_visible()
    assert scene_of(rehearsal, "work-light")["note"] == "Mine."


def test_draft_put_away_is_kept_and_a_scene_is_deleted_when_asked_twice(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_role("link", name="Sheet of Closing time").click()
    sheet = page.get_by_role("dialog", name="Closing time")
    sheet.get_by_label("Title").fill("Last orders")
    page.keyboard.press("Escape")
    page.get_by_role("link", name="Sheet of Closing time").filter(has_text="not saved").click()
    expect(sheet.get_by_label("Title")).to_have_value("Last orders")
    sheet.get_by_role("button", name="Begin again").click()
    expect(sheet.get_by_label("Title")).to_have_value("Closing time")
    sheet.get_by_role("button", name="Copy").click()
    copy = page.get_by_role("dialog", name="Closing time, copy")
    copy.get_by_role("button", name="Save").click()
    expect(copy.get_by_role("button", name="Delete")).to_be_visible()
    copy.get_by_role("button", name="Delete").click()
    question = copy.get_by_role("alertdialog")
    expect(question.get_by_role("button", name="Keep it")).to_be_focused()
    question.get_by_role("button", name="Delete it").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.get_by_role("button", name="Take Closing time, copy")).to_have_count(0)
    scenes = [scene["id"] for scene in rehearsal.call("GET", "/scenes", params={"limit": 100})["items"]]
    assert "closing-time" in scenes
    assert "closing-time-copy" not in scenes


def test_look_of_the_library_becomes_a_scene_over_the_zones_that_are_chosen(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_role("button", name="Add from the library").click()
    library = page.get_by_role("dialog", name="Choose a look")
    library.get_by_role("radio", name="Lamplight").check()
    chosen = page.get_by_role("dialog", name="Lamplight")
    chosen.get_by_label("Front", exact=True).select_option("front")
    wait_for_lamps(chosen.locator(".preview"), lambda lamps: lamps["r"] > lamps["b"])
    chosen.get_by_role("button", name="Add to the venue").click()
    expect(page.get_by_role("dialog", name="Lamplight")).to_contain_text("lamplight")
    expect(page.get_by_role("dialog").get_by_role("button", name="Delete")).to_be_visible()
    assert {layer["zone"] for layer in scene_of(rehearsal, "lamplight")["layers"]} == {"front"}


def test_sheet_of_a_scene_fits_a_phone_and_names_every_control(open_page: OpenPage) -> None:
    page = open_page(390, 844, device_scale_factor=2, has_touch=True, place="&venue=corn-exchange&scene=slow-tide")
    sheet = page.get_by_role("dialog", name="Slow tide")
    open_layer(sheet, 1)
    wait_for_lamps(sheet.locator(".preview"), lambda lamps: lamps["b"] > lamps["r"])
    assert sheet.evaluate("sheet => sheet.scrollWidth <= sheet.clientWidth")
    head = sheet.locator(".head").bounding_box()
    assert head is not None
    assert head["height"] < 844 / 2, "more than half of the screen is left for the form"
    nameless = sheet.evaluate(
        """sheet => [...sheet.querySelectorAll("button, select, input, textarea, a[href]")]
          .filter((each) => !(each.ariaLabel || each.innerText?.trim() || each.labels?.length))
          .map((each) => each.outerHTML)"""
    )
    assert nameless == []


def test_scene_that_flashes_goes_up_only_with_a_name_and_its_caution_stays(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_role("button", name="New scene").click()
    sheet = page.get_by_role("dialog")
    sheet.get_by_label("Title").fill("Alarm")
    layer = open_layer(sheet, 1)
    layer.get_by_label("Zone").select_option("everything")
    layer.get_by_label("Pattern", exact=True).select_option("pulse")
    for field, seconds in (("Rise", "0"), ("Hold", "0.1"), ("Fall", "0"), ("Rest", "0.1")):
        layer.get_by_role("spinbutton", name=field).fill(seconds)
    flashes = sheet.get_by_role("region", name="Flashes")
    expect(flashes).to_contain_text("Fails: general flashes")
    expect(flashes).to_contain_text("seizures")
    sheet.get_by_role("button", name="Save").click()
    expect(sheet.get_by_text("Saved.", exact=True)).to_be_visible()
    sheet.get_by_role("button", name="Put away").click()

    row = page.get_by_role("listitem").filter(has=page.get_by_role("heading", name="Alarm"))
    expect(row).to_contain_text("Fails the flash check.")
    before = rehearsal.call("GET", "/rollouts", params={"limit": 1})["items"][0]["revision"]
    row.get_by_role("button", name="Take Alarm").click()
    asked = row.get_by_role("form", name="Flashes of Alarm")
    name = asked.get_by_role("textbox", name="Who confirms")
    expect(name).to_be_focused()
    page.keyboard.press("Enter")
    expect(asked.get_by_role("button", name="Take it all the same")).to_have_attribute("aria-disabled", "true")
    assert rehearsal.call("GET", "/rollouts", params={"limit": 1})["items"][0]["revision"] == before
    name.fill("A. Keeper")
    page.keyboard.press("Enter")
    expect(page.locator(".progress")).to_contain_text("Its flashes are confirmed by A. Keeper.")
    elevation = page.get_by_role("region", name="Front elevation")
    expect(elevation).to_contain_text("Alarm is up and fails the flash check. Confirmed by A. Keeper.")
    rehearsal.take("evening")
    expect(elevation).not_to_contain_text("fails the flash check")


def test_master_level_is_set_and_told_on_the_drawing(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_label("Master level").fill("60")
    page.get_by_role("button", name="Set for every scene").click()
    expect(page.get_by_role("region", name="Front elevation")).to_contain_text("master level 60 %")
    assert rehearsal.call("GET", "/master-level")["level"] == 0.6
    rehearsal.wait("every board dims", rehearsal.all_in_force, 15)
