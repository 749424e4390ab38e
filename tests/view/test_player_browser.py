"""The player in a real browser: Chromium, headless, offline."""

import io
import os
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from machine_plans import plan_of
from PIL import Image

from stitchcraft.design import PlanStop, Purpose, StitchPlan, Thread
from stitchcraft.machine import Hoop, Placement
from stitchcraft.view import PlayerPart, player_html

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
BLUE, RED = "#0070d0", "#d04000"
MARKUP = "<img src=x onerror=document.title='bad'></script><script>document.title='bad'</script>"

BEFORE_SEAM = "Hands, before stop 2: Lay the back on its ticks. Change to the seam thread."


def chromium() -> str:
    """Where Chromium is; without it the checks are left out, but never where the project is checked for good."""
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if found is None:
        words = "no Chromium found: install it (Debian: apt-get install chromium) to try the player"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    return found


@pytest.fixture(scope="module")
def browser():
    path = chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=path, args=FLAGS)
        yield running
        running.close()


def two_stops(name: str = "tab-front") -> StitchPlan:
    """Upper right: rows in blue, in two runs with a cut between; lower left, a few stitches in red."""
    rows = [(5 + 3 * (k % 10 if k // 10 % 2 else 9 - k % 10), 20 + 0.4 * (k // 10)) for k in range(400)]
    again = [(5 + 3 * (k % 10 if k // 10 % 2 else 9 - k % 10), 2 + 0.4 * (k // 10)) for k in range(200)]
    plan = plan_of([[rows, again], [[(-30 + k, -40) for k in range(20)]]], colours=[BLUE, RED])
    stops = (
        PlanStop(Purpose.DECORATE, Thread(BLUE, "accent"), "Hoop the cloth."),
        PlanStop(Purpose.SEAM, Thread(RED, "seam"), "Lay the back on its ticks."),
    )
    return StitchPlan(name, plan.xy, plan.kind, plan.stop, plan.role, plan.element, stops)


@pytest.fixture(scope="module")
def page_file(tmp_path_factory) -> Path:
    parts = [
        PlayerPart(two_stops(), Placement(), Hoop(100, 100), after="Take it out."),
        PlayerPart(two_stops(MARKUP), Placement(90.0), Hoop(130, 180), after=MARKUP),
    ]
    file = tmp_path_factory.mktemp("player") / "player.html"
    file.write_text(player_html(MARKUP, parts), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def desk(browser):
    """One window for all tests that want nothing special of it; a page opened anew remembers nothing."""
    context = browser.new_context(viewport={"width": 1200, "height": 900}, offline=True)
    yield context.new_page()
    context.close()


@pytest.fixture
def opened(browser, desk, page_file):
    """Open the page; whatever it asks for or complains of fails the test."""
    contexts, faults = [], []

    def open_it(file: Path = page_file, **options):
        page = desk
        if options:
            contexts.append(
                browser.new_context(**{"viewport": {"width": 1200, "height": 900}, "offline": True} | options)
            )
            page = contexts[-1].new_page()
        listeners = {
            "request": lambda request: faults.append(request.url) if request.url != file.as_uri() else None,
            "console": lambda message: faults.append(message.text),
            "pageerror": lambda error: faults.append(str(error)),
            "dialog": lambda dialog: faults.append(dialog.message),
        }
        for event, listener in listeners.items():
            page.on(event, listener)
        heard.append((page, listeners))
        page.goto(file.as_uri())
        settle(page)
        return page

    heard = []
    yield open_it
    for page, listeners in heard:
        for event, listener in listeners.items():
            page.remove_listener(event, listener)
    for context in contexts:
        context.close()
    assert faults == []


def settle(page) -> None:
    """Wait until the picture is drawn to the end, and on the screen."""
    page.evaluate(
        """() => new Promise((done, fail) => {
          const picture = document.getElementById('stage'), end = performance.now() + 10000;
          const look = () => {
            if (performance.now() > end) fail(new Error('the picture is still not drawn'));
            else requestAnimationFrame(picture.ariaBusy === 'false' ? done : look);
          };
          requestAnimationFrame(() => requestAnimationFrame(look));
        })"""
    )


def until(page, holds) -> None:
    """Wait for something to hold (the page's policy allows no predicate in its own script); at most 10 seconds."""
    for _ in range(400):
        if holds():
            return
        page.wait_for_timeout(25)
    pytest.fail(f"at {place(page)}, {page.locator('#go').inner_text()!r}, it still does not hold")


def pixels(page) -> np.ndarray:
    """What the picture shows, (height, width, 3)."""
    settle(page)
    return np.asarray(Image.open(io.BytesIO(page.locator("#stage").screenshot())).convert("RGB"), dtype=int)


def near(image: np.ndarray, colour: str) -> np.ndarray:
    """Where pixels are of a thread's colour, in light or shade; nothing else of the page is so blue or red."""
    red, green, blue = np.moveaxis(image, 2, 0)
    return (blue - red > 60) & (blue > green) if colour == BLUE else (red - blue > 100) & (red > green)


def box(mask: np.ndarray) -> np.ndarray:
    """Left, top, right, bottom of what is set."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return np.array([columns[0], rows[0], columns[-1], rows[-1]])


def bare(page):
    """Show nothing but stitches."""
    page.get_by_label("Moves and cuts").uncheck()
    page.get_by_label("What is to come").uncheck()
    return page


def place(page) -> int:
    return int(page.get_by_role("slider").input_value())


def test_browser_is_new_enough():
    version = subprocess.run([chromium(), "--version"], capture_output=True, text=True, check=True).stdout
    assert int(re.search(r"(\d+)\.", version)[1]) >= 110  # findLast, roundRect, :has


def test_picture_follows_the_slider(opened):
    page = bare(opened())
    sewn = []
    for n in (0, 150, 300, 600):
        page.get_by_role("slider").fill(str(n))
        sewn.append(near(pixels(page), BLUE).sum())
    assert sewn[0] < sewn[1] < sewn[2] < sewn[3]
    assert sewn[0] == 0
    # a row is 27 mm of thread; twice as many rows, twice as much thread
    assert sewn[2] / sewn[1] == pytest.approx(2, rel=0.1)


def test_picture_lies_as_the_plan_does_right_and_up_and_to_scale(opened):
    page = bare(opened())
    page.get_by_role("slider").fill("620")
    image = pixels(page)
    middle = np.array([image.shape[1], image.shape[0]]) / 2
    left, top, right, bottom = box(near(image, BLUE))
    low = box(near(image, RED))
    assert left > middle[0] > low[2]
    assert bottom < low[1]
    # 27 mm across and 33.6 mm up, and a thread more; the red line is 19 mm long, each wider by about a thread
    assert (right - left) / (bottom - top) == pytest.approx(27.5 / 34.1, rel=0.03)
    assert (low[2] - low[0]) / (right - left) == pytest.approx(19.3 / 27.5, rel=0.05)


def test_click_sews_waits_for_hands_and_goes_on(opened):
    page = opened()
    page.get_by_label("Pace").select_option(index=4)
    assert page.locator("#now").inner_text() == "Hands, before stop 1: Hoop the cloth."
    page.get_by_role("button", name="Sew", exact=True).click()
    until(page, lambda: place(page) > 0)
    until(page, lambda: page.locator("#go").inner_text() == "Sew")
    assert place(page) == 600
    assert page.locator("#now").inner_text() == BEFORE_SEAM
    assert page.locator(".part.chosen .stop[aria-current=step]").get_by_text("The seam", exact=True).count() == 1
    page.get_by_role("button", name="Sew", exact=True).click()
    until(page, lambda: page.locator("#go").inner_text() == "Sew again")
    assert place(page) == 620
    assert page.locator("#now").inner_text() == "All sewn. Take it out."


def test_pause_holds_and_without_waiting_it_runs_through(opened):
    page = opened()
    page.get_by_label("Wait at each stop").uncheck()
    page.get_by_role("button", name="Sew", exact=True).click()
    until(page, lambda: place(page) > 5)
    page.get_by_role("button", name="Pause").click()
    held = place(page)
    page.wait_for_timeout(150)
    assert place(page) == held
    page.get_by_role("slider").fill("590")
    page.get_by_label("Pace").select_option(index=4)
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Sew", exact=True).click()
    until(page, lambda: place(page) == 620)


def test_buttons_step_by_stitch_and_by_stop(opened):
    page = opened()

    def after(name: str) -> int:
        page.get_by_role("button", name=name, exact=True).click()
        return place(page)

    assert [after("Stitch on"), after("Stitch on"), after("Stitch back")] == [1, 2, 1]
    assert [after("Stop on"), after("Stop on"), after("Stop on"), after("Stop back")] == [600, 620, 620, 600]
    assert [after("Stop back"), after("Stop back")] == [0, 0]
    page.get_by_role("button", name="Go to stop 2").click()
    assert place(page) == 600


def test_keys_step_sew_zoom_and_open_the_help(opened):
    page = opened()

    def after(key: str) -> int:
        page.keyboard.press(key)
        return place(page)

    assert [after("ArrowRight"), after("Shift+ArrowRight"), after("ArrowLeft")] == [1, 11, 10]
    assert [after("n"), after("n"), after("b")] == [600, 620, 600]
    page.get_by_role("slider").focus()
    assert [after("Home"), after("End"), after("ArrowLeft")] == [0, 620, 619]
    after("Home")
    after("Space")
    until(page, lambda: place(page) > 0)
    after("Space")
    assert page.locator("#go").inner_text() == "Sew"
    whole = pixels(page)
    after("+")
    assert not np.array_equal(pixels(page), whole)
    after("0")
    assert np.array_equal(pixels(page), whole)
    page.locator("#stage").focus()
    at = place(page)
    assert after("ArrowRight") == at
    assert not np.array_equal(pixels(page), whole)
    after("?")
    assert page.get_by_text("By hand: wheel or pinch").is_visible()
    after("?")
    assert not page.get_by_text("By hand: wheel or pinch").is_visible()


def test_single_keys_can_be_kept_to_the_controls(opened):
    # WCAG 2.1, success criterion 2.1.4: single-key shortcuts can be turned off or act only on focus
    page = opened()
    page.keyboard.press("?")
    page.get_by_label("Keys work on the whole page").uncheck()
    page.get_by_role("button", name="Go to stop 2").focus()
    page.keyboard.press("n")
    assert place(page) == 0
    page.get_by_role("button", name="Stitch on").focus()
    page.keyboard.press("n")
    assert place(page) == 600


def test_drag_moves_the_picture_with_the_hand(opened):
    page = bare(opened())
    page.get_by_role("slider").fill("600")
    before = box(near(pixels(page), BLUE))
    frame = page.locator("#stage").bounding_box()
    x, y = frame["x"] + 200, frame["y"] + 200
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 20, y + 30, steps=3)
    page.mouse.move(x - 40, y + 60, steps=3)
    page.mouse.up()
    assert box(near(pixels(page), BLUE)) - before == pytest.approx([-40, 60, -40, 60], abs=1)


def test_wheel_zooms_about_the_pointer(opened):
    page = bare(opened())
    page.get_by_role("slider").fill("600")
    before = box(near(pixels(page), BLUE))
    frame = page.locator("#stage").bounding_box()
    # the pointer on the lower left corner of the rows: it stays there
    page.mouse.move(frame["x"] + before[0], frame["y"] + before[3])
    page.mouse.wheel(0, -120)
    after = box(near(pixels(page), BLUE))
    assert after[2] - after[0] > 1.2 * (before[2] - before[0])
    assert (after[0], after[3]) == pytest.approx((before[0], before[3]), abs=2)


def test_picture_depends_on_the_place_and_not_on_the_way_there(opened, tmp_path):
    rows = [(2.5 * (k % 30 if k // 30 % 2 else 29 - k % 30), 0.2 * (k // 30)) for k in range(8000)]
    file = tmp_path / "long.html"
    file.write_text(player_html("long", [PlayerPart(plan_of([[rows[:5000]], [rows[5000:]]]))]), encoding="utf-8")
    slider = opened(file).get_by_role("slider")
    page = slider.page
    forth = {}
    for n in (10, 1500, 1501, 5000, 7777):
        slider.fill(str(n))
        forth[n] = pixels(page)
    for n in (1501, 5000, 10, 1500):
        slider.fill(str(n))
        assert np.array_equal(pixels(page), forth[n]), n


def test_moves_and_cuts_are_shown_and_can_be_hidden(opened):
    page = opened()
    page.get_by_label("What is to come").uncheck()
    page.get_by_role("slider").fill("600")
    shown = pixels(page)
    page.get_by_label("Moves and cuts").uncheck()
    changed = np.abs(shown - pixels(page)).sum(axis=2) > 30
    # the cut is at the first run's end, the upper right corner; the move goes straight down from there to the second
    assert 20 < changed.sum() < 2000
    left, top, right, bottom = box(changed)
    blue = box(near(shown, BLUE))
    assert (left + right) / 2 == pytest.approx(blue[2], abs=4)
    assert right - left < 10
    assert blue[1] - 5 < top < blue[1] - 1  # the upper arms of the cross that marks the cut
    assert bottom - top > 0.85 * (blue[3] - blue[1])  # the move


def test_controls_stay_where_they_are_while_it_sews(opened, tmp_path):
    plan = two_stops()
    long = PlanStop(Purpose.SEAM, Thread(RED, "seam"), "Lay the back on its ticks and smooth it from the middle. " * 6)
    plan = StitchPlan(plan.name, plan.xy, plan.kind, plan.stop, plan.role, plan.element, (plan.stops[0], long))
    file = tmp_path / "long.html"
    file.write_text(player_html("long", [PlayerPart(plan)]), encoding="utf-8")
    page = opened(file, viewport={"width": 400, "height": 900})
    slider, places = page.get_by_role("slider"), set()
    for n in (0, 1, 599, 600, 601):
        slider.fill(str(n))
        places.add(page.evaluate("document.getElementById('place').offsetTop"))
    assert len(places) == 1


def test_phone_has_no_sideways_scroll_and_takes_two_fingers(opened):
    page = bare(opened(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True, device_scale_factor=2))
    assert page.evaluate("[document.documentElement.scrollWidth, innerWidth]") == [360, 360]
    page.get_by_role("slider").fill("600")
    before = box(near(pixels(page), BLUE))
    page.locator("#stage").scroll_into_view_if_needed()
    frame = page.locator("#stage").bounding_box()
    session = page.context.new_cdp_session(page)
    x, y = frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2
    for kind, apart in (
        ("touchStart", 60),
        ("touchMove", 66),
        ("touchMove", 75),
        ("touchMove", 80),
        ("touchEnd", None),
    ):
        fingers = [] if apart is None else [{"x": x - apart, "y": y, "id": 0}, {"x": x + apart, "y": y, "id": 1}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": fingers})
    after = box(near(pixels(page), BLUE))
    assert after[3] - after[1] == pytest.approx(80 / 60 * (before[3] - before[1]), rel=0.03)
    assert page.evaluate("window.visualViewport.scale") == 1


def test_names_with_markup_stay_text(opened):
    page = opened()
    assert page.title() == MARKUP + ": how it is sewn"
    assert page.locator("h1").inner_text() == MARKUP
    page.get_by_role("radio").nth(1).check()
    assert page.locator("#part-2 h2").inner_text() == MARKUP
    page.get_by_role("slider").fill("620")
    assert page.locator("#now").inner_text() == f"All sewn. {MARKUP}"
    assert page.locator("img, script:not([type])").count() == 3
    assert page.locator("#part-1").is_hidden()


def test_parts_are_chosen_with_the_arrow_keys(opened):
    page = opened()
    page.get_by_role("radio").first.focus()
    page.keyboard.press("ArrowRight")
    assert page.locator("#part-2").is_visible()
    assert page.get_by_role("radio").nth(1).is_checked()
    assert place(page) == 0


def test_every_control_has_a_name(opened):
    page = opened()
    tree = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
    controls = [
        (node["role"]["value"], node.get("name", {}).get("value", ""))
        for node in tree
        if not node.get("ignored")
        and node["role"]["value"] in ("button", "slider", "combobox", "checkbox", "radio", "img", "image")
    ]
    assert {role for role, _ in controls} >= {"button", "slider", "combobox", "checkbox", "radio"}
    assert [one for one in controls if not one[1].strip()] == []


def test_what_happens_is_said_but_not_at_every_stitch(opened):
    page = opened()
    page.evaluate(
        "() => { window.said = []; new MutationObserver(() => said.push(document.getElementById('said').textContent))"
        ".observe(document.getElementById('said'), { childList: true, characterData: true, subtree: true }); }"
    )
    page.get_by_label("Pace").select_option(index=4)
    page.get_by_role("button", name="Sew", exact=True).click()
    until(page, lambda: place(page) == 600)
    page.wait_for_timeout(600)
    said = page.evaluate("said")
    assert said[-1] == BEFORE_SEAM
    assert len(said) <= 3


def test_reduced_motion_moves_twice_a_second(opened):
    page = opened(reduced_motion="reduce")
    page.evaluate(
        """() => {
          const slider = document.getElementById('place');
          let at = slider.value;
          window.times = [];
          const look = time => {
            if (slider.value !== at) { at = slider.value; times.push(time); }
            requestAnimationFrame(look);
          };
          requestAnimationFrame(look);
        }"""
    )
    page.get_by_role("button", name="Sew", exact=True).click()
    until(page, lambda: page.evaluate("times.length") >= 3)
    assert np.diff(page.evaluate("times")).min() > 450


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_page_takes_the_scheme_of_the_system(opened, scheme):
    page = opened(color_scheme=scheme)
    image = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("L"), dtype=int)
    assert (np.median(image) > 128) == (scheme == "light")


def test_paper_gets_the_steps_of_every_part_and_no_controls(opened):
    page = opened()
    page.emulate_media(media="print")
    assert page.locator("#part-1").is_visible()
    assert page.locator("#part-2").is_visible()
    for control in ("#stage", "#buttons", "#place", "#parts", ".sews button >> nth=0"):
        assert page.locator(control).is_hidden(), control
    page.emulate_media(media="screen")
    assert page.pdf().startswith(b"%PDF")
