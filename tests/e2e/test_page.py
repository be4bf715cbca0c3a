"""The operator's page in a real browser against the real hub, broker and boards."""

from collections.abc import Callable, Sequence

import pytest
from playwright.sync_api import Page, expect

from hub.rehearsal.rehearsal import Rehearsal
from tests.e2e.conftest import DEADLINE_MS, SLOW_BOARD, OpenPage
from tests.processes import wait_until

pytestmark = pytest.mark.timeout(240)

# The newest frame as it is drawn: lit points of the lamps' canvas inside a box given in shares of it, and their mean.
LAMPS = """([x0, y0, x1, y1]) => {
  const canvas = document.querySelectorAll("canvas")[2];
  if (!canvas) return { points: 0, r: 0, g: 0, b: 0 };
  const [w, h] = [canvas.width, canvas.height];
  const box = [x0 * w, y0 * h, (x1 - x0) * w, (y1 - y0) * h].map(Math.round);
  const { data } = canvas.getContext("2d").getImageData(...box);
  let [points, r, g, b] = [0, 0, 0, 0];
  for (let i = 0; i < data.length; i += 4)
    if (data[i + 3] > 0) { points++; r += data[i]; g += data[i + 1]; b += data[i + 2]; }
  return { points, r: r / points, g: g / points, b: b / points };
}"""
WHOLE = (0.0, 0.0, 1.0, 1.0)


@pytest.fixture
def page(open_page: OpenPage, rehearsal: Rehearsal) -> Page:
    """The page on a venue that shows the scene `evening`, all boards in step."""
    for node, board in rehearsal.boards.items():
        if not board.running:  # a test before this one failed halfway
            rehearsal.start_board(node)
    rehearsal.take("evening")
    rehearsal.wait("every board is in step", rehearsal.all_in_force, 20)
    page = open_page()
    expect(page.get_by_role("heading", name="Corn Exchange arcade")).to_be_visible()
    expect(page.get_by_text("live", exact=True)).to_be_visible()
    wait_for_lamps(page, lambda lamps: lamps["points"] > 0)
    return page


def lamps_in(page: Page, box: Sequence[float]) -> dict[str, float]:
    lamps: dict[str, float] = page.evaluate(LAMPS, list(box))
    return lamps


def wait_for_lamps(page: Page, holds: Callable[[dict[str, float]], bool], box: Sequence[float] = WHOLE) -> None:
    def held() -> bool:
        page.wait_for_timeout(50)  # lets the browser's events through; the condition is what is waited for
        return holds(lamps_in(page, box))

    wait_until(held, DEADLINE_MS / 1000, f"the lamps as wanted; now {lamps_in(page, box)}")


def scene_in_force(page: Page) -> str:
    return page.locator("li", has=page.get_by_text("In force", exact=True)).locator("h3").inner_text()


def test_elevation_is_drawn_in_the_colours_of_the_scene_in_force(page: Page) -> None:
    lamps = lamps_in(page, WHOLE)
    assert lamps["points"] > 3_000
    assert lamps["r"] > lamps["g"] > lamps["b"], "evening is lamplight"


def test_scene_taken_by_keyboard_alone_shows_everywhere(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_role("combobox", name="Fade").focus()
    page.keyboard.press("Home")
    take = page.get_by_role("button", name="Take Frost")
    for _ in range(40):
        if take.evaluate("element => element === document.activeElement"):
            break
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator(".progress")).to_contain_text("Frost: taken")
    expect(page.locator("li", has=take).get_by_text("In force")).to_be_visible()
    wait_for_lamps(page, lambda lamps: lamps["b"] > lamps["r"] * 1.3)
    rehearsal.wait("every board shows it", rehearsal.all_in_force, 15)
    assert {state["scene"] for state in rehearsal.node_states().values()} == {"frost"}


def test_going_back_takes_what_was_before(page: Page, rehearsal: Rehearsal) -> None:
    rehearsal.take("slow-tide")
    expect(page.locator(".progress")).to_contain_text("Slow tide: taken")
    page.get_by_role("button", name="Back", exact=True).click()
    expect(page.locator(".progress")).to_contain_text("Evening: taken")
    wait_for_lamps(page, lambda lamps: lamps["r"] > lamps["b"] * 1.3)


def test_refused_scene_changes_nothing_and_says_which_node_and_why(page: Page, rehearsal: Rehearsal) -> None:
    page.get_by_role("button", name="Take Every lamp at once").click()
    progress = page.locator(".progress")
    expect(progress).to_contain_text("nothing changed on any node")
    expect(progress).to_contain_text(f"{SLOW_BOARD} refuses")
    refusal = rehearsal.call("GET", "/rollouts", params={"limit": 1})["items"][0]["refusals"][0]
    expect(progress).to_contain_text(refusal["reason"])
    expect(progress).to_contain_text(refusal["remedy"])
    assert scene_in_force(page).startswith("Evening")


def test_dead_board_becomes_a_note_on_the_drawing_until_it_returns(page: Page, rehearsal: Rehearsal) -> None:
    # Bay 1's arch and pilaster, at the left end of the front.
    bay_1 = (0.04, 0.33, 0.112, 0.62)
    wait_for_lamps(page, lambda lamps: lamps["points"] > 50, bay_1)
    rehearsal.boards["bay-01"].kill()
    notes = page.get_by_role("region", name="Findings").get_by_role("listitem").filter(has_text="bay-01")
    note = notes.filter(has_text="silent")  # on a busy machine it may have been slow before
    expect(note).to_be_visible()
    row = page.get_by_role("row", name="Bay 1, west corner")
    expect(row).to_contain_text("silent")
    marker = page.get_by_role("button", name="silent, bay-01")
    expect(marker).to_be_visible()
    wait_for_lamps(page, lambda lamps: lamps["points"] == 0, bay_1)

    marker.focus()
    page.keyboard.press("Enter")
    expect(note).to_be_focused()
    rehearsal.start_board("bay-01")
    expect(note).to_have_count(0)
    expect(row).to_contain_text("in step")
    wait_for_lamps(page, lambda lamps: lamps["points"] > 50, bay_1)


def test_supplies_are_measured_against_their_budget(page: Page, rehearsal: Rehearsal) -> None:
    row = page.get_by_role("region", name="Schedule of supplies").get_by_role("row", name="bay-06-5v").first
    for figure in ("4.00 A", "3.20 A", "9.00 A", "3.00 A"):
        expect(row).to_contain_text(figure)
    expect(row).to_contain_text("safe only under the budget")
    page.get_by_role("button", name="Take Full white").click()
    bar = row.get_by_role("img")

    def drawn_a() -> float:
        page.wait_for_timeout(100)
        return float((bar.get_attribute("aria-label") or "0").split(" A drawn")[0].replace("no reading", "0"))

    drawn = wait_until(lambda: (now := drawn_a()) > 2.8 and now, 20, "full white is held at the budget")
    assert drawn <= 3.2
    rehearsal.wait("every board shows it", rehearsal.all_in_force, 15)


def test_token_is_asked_for_once_and_leaves_the_address(open_page: OpenPage, rehearsal: Rehearsal) -> None:
    page = open_page(token="", expected="401")
    page.get_by_label("Token").fill("not-the-token")
    page.get_by_role("button", name="Open the drawing").click()
    expect(page.get_by_role("alert")).to_contain_text("does not know this token")
    page.get_by_label("Token").fill(rehearsal.token)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Corn Exchange arcade")).to_be_visible()
    page.reload()
    expect(page.get_by_role("heading", name="Corn Exchange arcade")).to_be_visible()
    assert "#" not in page.url


def test_ground_follows_the_system_until_a_person_chooses(open_page: OpenPage) -> None:
    page = open_page(color_scheme="dark")
    expect(page.get_by_role("heading", name="Corn Exchange arcade")).to_be_visible()
    paper = "getComputedStyle(document.documentElement).getPropertyValue('--paper')"
    slate = page.evaluate(paper)
    page.get_by_label("Ground").select_option("paper")
    assert page.evaluate(paper) != slate
    page.reload()
    expect(page.get_by_label("Ground")).to_have_value("paper")
    assert page.evaluate(paper) != slate


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_ink_is_readable_on_its_ground(open_page: OpenPage, scheme: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1."""
    page = open_page(color_scheme=scheme)
    expect(page.get_by_role("heading", name="Corn Exchange arcade")).to_be_visible()
    for ink in ("--ink", "--ink-soft", "--pencil"):
        assert page.evaluate(CONTRAST, ink) >= 4.5, ink


# Relative luminance and contrast ratio as WCAG 2.2 defines them; the canvas gives the colour as 8-bit sRGB.
CONTRAST = """(ink) => {
  const pen = document.createElement("canvas").getContext("2d");
  const luminance = (name) => {
    pen.fillStyle = getComputedStyle(document.documentElement).getPropertyValue(name);
    pen.fillRect(0, 0, 1, 1);
    const [r, g, b] = [...pen.getImageData(0, 0, 1, 1).data].slice(0, 3).map((code) => {
      const c = code / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const [low, high] = [luminance(ink), luminance("--paper")].sort((a, b) => a - b);
  return (high + 0.05) / (low + 0.05);
}"""


def test_page_fits_a_phone(open_page: OpenPage) -> None:
    page = open_page(390, 844, device_scale_factor=2, has_touch=True)
    expect(page.get_by_role("button", name="Take Evening")).to_be_visible()
    wait_for_lamps(page, lambda lamps: lamps["points"] > 0)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    box = page.get_by_role("button", name="Take Frost").bounding_box()
    # WCAG 2.2, success criterion 2.5.8: a target of at least 24 by 24 CSS pixels.
    assert box is not None
    assert min(box["width"], box["height"]) >= 24


def test_light_is_still_for_who_asks_for_less_motion(open_page: OpenPage) -> None:
    page = open_page(reduced_motion="reduce")
    expect(page.get_by_role("combobox", name="Light")).to_have_value("true")
    wait_for_lamps(page, lambda lamps: lamps["points"] > 0)
    counted = page.evaluate(
        """() => new Promise((resolve) => {
          const put = CanvasRenderingContext2D.prototype.putImageData;
          let frames = 0;
          CanvasRenderingContext2D.prototype.putImageData = function (...given) {
            frames++;
            return put.apply(this, given);
          };
          setTimeout(() => resolve(frames), 4000);
        })"""
    )
    # A frame is two images, the lamps and their wash, and comes every five seconds.
    assert counted <= 2


def test_everything_that_can_be_worked_has_a_name(page: Page) -> None:
    nameless = page.evaluate(
        """() => [...document.querySelectorAll("button, select, input, a[href]")]
          .filter((each) => !(each.ariaLabel || each.innerText?.trim() || each.labels?.length))
          .map((each) => each.outerHTML)"""
    )
    assert nameless == []
    assert page.locator("[aria-live=polite]").count() >= 1


def test_page_finds_its_way_back_when_the_hub_returns(open_page: OpenPage, rehearsal: Rehearsal) -> None:
    page = open_page(expected="ERR_")
    expect(page.get_by_text("live", exact=True)).to_be_visible()
    rehearsal.hub.kill()
    expect(page.get_by_text("lost, trying again")).to_be_visible()
    rehearsal.start_hub()
    expect(page.get_by_text("live", exact=True)).to_be_visible()
    rehearsal.wait("every board is back", rehearsal.all_in_force, 30)
    rehearsal.take("market-morning")
    expect(page.locator(".progress")).to_contain_text("Market morning: taken")
    wait_for_lamps(page, lambda lamps: lamps["points"] > 3_000)
