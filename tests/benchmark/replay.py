#!/usr/bin/env python3
"""How large a replay of 24 crates is, how soon it opens, and what moving along its clock costs, in headless Chromium.

A step sets the time slider and draws the room; `work` is script, style and layout of a step, and `frame` the time from one
animation frame to the next while each of them has a step. By hand; needs Chromium and farrowtide[browser].
"""

import shutil
import statistics
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

import farrowtide

ROOT = Path(__file__).parents[2]
STEPS = 200
OPENINGS = 5
SCREENS = {"desktop": (1280, 900), "phone": (390, 844)}
SCRUB = """
async steps => {
  const time = document.getElementById("time");
  const frame = () => new Promise(requestAnimationFrame);
  const move = step => { time.value = Math.round(time.max * step / steps); time.dispatchEvent(new Event("input")); };
  const [work, frames] = [[], []];
  for (let step = 0; step < steps; step++) {
    await frame();
    const start = performance.now();
    move((step * 7919) % steps);
    document.body.getBoundingClientRect();
    work.push(performance.now() - start);
  }
  await frame();
  let last = performance.now();
  for (let step = 0; step < steps; step++) {
    move(step);
    await frame();
    const now = performance.now();
    frames.push(now - last);
    last = now;
  }
  return { work, frames };
}
"""


def opening_ms(page, file):
    """From the start of loading until the room is drawn."""
    page.goto(file.as_uri())
    page.wait_for_selector("body[data-ready]")
    return page.evaluate("performance.getEntriesByName('drawn')[0].startTime")


def described(times_ms):
    return f"median {statistics.median(times_ms):.1f} ms, 95th percentile {statistics.quantiles(times_ms, n=20)[-1]:.1f} ms"


def main():
    scenario = ROOT / "scenarios/feeding/meals_a_day.yaml"
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"))
        for label, against in (("one room", None), ("two rooms", "full access")):
            file = Path(folder) / f"{label}.html"
            farrowtide.replay(scenario, alternative="4 hand feeds", against=against).save(file)
            print(f"{label}, {file.stat().st_size / 1e6:.2f} MB")
            for screen, (width, height) in SCREENS.items():
                page = browser.new_page(viewport={"width": width, "height": height})
                opened = statistics.median(opening_ms(page, file) for _ in range(OPENINGS))
                times = page.evaluate(SCRUB, STEPS)
                print(
                    f"  {screen}: open in {opened:.0f} ms; work {described(times['work'])}; frame {described(times['frames'])}"
                )
                page.close()
        browser.close()


if __name__ == "__main__":
    main()
