"""How smoothly the player runs: frames a second while it sews, is dragged along the slider, and is zoomed.

Run as a script: `python tests/benchmarks/bench_player.py`. It needs Chromium and playwright. Software drawing, no
graphics card: a person's machine is faster. The last column is the share of frames that came later than 1/30 s.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import Page, sync_playwright

from stitchcraft.design import Kind, PlanStop, Purpose, StitchPlan, Thread
from stitchcraft.machine import Hoop
from stitchcraft.view import PlayerPart, player_html

FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"]
COUNT_FRAMES = """ms => new Promise(done => {
  const times = [];
  const tick = time => {
    times.push(time);
    time - times[0] < ms ? requestAnimationFrame(tick) : done(times);
  };
  requestAnimationFrame(tick);
})"""
DRAG = """async ms => {
  const slider = document.querySelector('input[type=range]'), max = +slider.max, times = [];
  await new Promise(done => {
    const tick = time => {
      times.push(time);
      const t = (time - times[0]) / ms;
      slider.value = Math.round(max * (0.5 - 0.5 * Math.cos(9.42 * t)));
      slider.dispatchEvent(new Event('input', { bubbles: true }));
      t < 1 ? requestAnimationFrame(tick) : done();
    };
    requestAnimationFrame(tick);
  });
  return times;
}"""
ZOOM = """async ms => {
  const picture = document.getElementById('stage'), times = [];
  await new Promise(done => {
    const tick = time => {
      times.push(time);
      const t = (time - times[0]) / ms, box = picture.getBoundingClientRect();
      const at = { clientX: box.left + box.width / 3, clientY: box.top + box.height / 3 };
      const turn = { deltaY: t < 0.5 ? -20 : 20, bubbles: true, cancelable: true, ...at };
      picture.dispatchEvent(new WheelEvent('wheel', turn));
      t < 1 ? requestAnimationFrame(tick) : done();
    };
    requestAnimationFrame(tick);
  });
  return times;
}"""


def dense_plan(stitches: int, stops: int) -> StitchPlan:
    """A field of 180 x 240 mm filled with rows, a third of them across, in so many stops."""
    per = stitches // stops
    xy, kind, stop = [], [], []
    for number in range(stops):
        k = np.arange(per)
        row, along = k // 60, k % 60
        x = -88 + np.where(row % 2, 59 - along, along) * 2.98
        y = -118 + (row * 0.4 * 240 * 60 / per / 0.4) % 236
        points = np.column_stack([x, y]) if number % 3 else np.column_stack([y * 88 / 118, x * 118 / 88])
        xy += [points[:1], points, points[-1:]]
        kind += [[Kind.JUMP], np.zeros(per), [Kind.END if number == stops - 1 else Kind.STOP]]
        stop += [np.full(per + 2, number)]
    colours = ["#2f5d62", "#d9a441", "#8a2f4b", "#3a3a3a"]
    count = sum(len(one) for one in kind)
    return StitchPlan(
        name=f"{stitches:,} stitches",
        xy=np.vstack(xy),
        kind=np.concatenate(kind),
        stop=np.concatenate(stop),
        role=np.zeros(count),
        element=np.zeros(count),
        stops=tuple(PlanStop(Purpose.DECORATE, Thread(colours[k % 4])) for k in range(stops)),
    )


def report(name: str, stitches: int, times: list[float]) -> float:
    """Print a line; return frames a second."""
    gaps = np.diff(times)
    rate = 1000 * len(gaps) / gaps.sum()
    late = np.mean(gaps > 1000 / 30)
    print(f"{stitches:>8,}  {name:<22} {rate:6.1f}  {np.median(gaps):7.1f}  {gaps.max():7.1f}  {100 * late:5.1f} %")
    return float(rate)


def measure(page: Page, stitches: int) -> None:
    """Measure one page."""
    start = time.perf_counter()
    page.locator(".alive #go").wait_for()
    page.get_by_label("Pace").select_option(index=4)
    page.get_by_label("Wait at each stop").uncheck()
    idle = report("just opened", stitches, page.evaluate(COUNT_FRAMES, 2000))
    page.get_by_role("button", name="Sew", exact=True).click()
    sewing = report("sewing, 400 times", stitches, page.evaluate(COUNT_FRAMES, 4000))
    page.keyboard.press("Space")
    report("slider dragged", stitches, page.evaluate(DRAG, 4000))
    report("zoomed in and out", stitches, page.evaluate(ZOOM, 4000))
    page.get_by_role("slider").fill(str(stitches))
    page.get_by_role("button", name="Closer").click()
    report("settling after a zoom", stitches, page.evaluate(COUNT_FRAMES, 2000))
    print(f"{'':10}sewing against standing still: {sewing / idle:.2f}; {time.perf_counter() - start:.1f} s")


def main() -> int:
    """Measure pages of several sizes."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        print("no Chromium found", file=sys.stderr)
        return 1
    print(f"{'stitches':>8}  {'what':<22} {'fps':>6}  {'median':>7}  {'worst':>7}  {'late':>7}   (ms a frame)")
    with sync_playwright() as play, tempfile.TemporaryDirectory() as folder:
        browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
        for stitches, stops in ((6_000, 3), (30_000, 6), (100_000, 8), (100_000, 1)):
            file = Path(folder) / f"{stitches}-{stops}.html"
            text = player_html("Heron tote", [PlayerPart(dense_plan(stitches, stops), hoop=Hoop(200, 260))])
            file.write_text(text, encoding="utf-8")
            print(f"{stitches:>8,}  {stops} stops, {len(text.encode()) / 1000:.0f} kB")
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            page.goto(file.as_uri())
            measure(page, stitches)
            page.close()
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
