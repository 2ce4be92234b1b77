"""From a key pressed on a slider to the changed picture on the screen: served pages and JupyterLab.

Needs Chromium and the test extra. Each slider is pressed many times, one press once the page has
come to rest after the other; the time runs from the key's event to the first frame after the new
picture is in the page. Printed as medians; `--save` keeps them.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "browser"))

from conftest import CHROMIUM, QUIET, served
from driven import Driven
from playwright.sync_api import sync_playwright
from speed_page import Sheet

PRESSES = 20
SLIDERS = {
    "species_explorer": ("from, °C", "from, % humidity", "to, % humidity", "pith across, cm",
                         "pith up, cm"),
    "drying_timeline": ("month of the map", "green moisture, %", "months in the yard"),
    "roof_to_wall_gap": ("try a gap, 1/32 in", "section factor", "certainty, %"),
}  # fmt: skip
LIMITS = {"app": "80 ms", "lab": "120 ms"}
NAMES = {"app": "page", "lab": "JupyterLab"}
CLOCK = """() => {
  window.skTimes = [];
  let pressed = null;
  document.addEventListener('keydown', () => { pressed = performance.now(); }, true);
  const picture = node => node.nodeType === 1 &&
    (node.matches('figure') || node.querySelector('figure, svg'));
  new MutationObserver(changes => {
    if (pressed === null) return;
    if (!changes.some(change => [...change.addedNodes].some(picture))) return;
    const from = pressed;
    pressed = null;
    requestAnimationFrame(() => window.skTimes.push(performance.now() - from));
  }).observe(document.body, {subtree: true, childList: true});
}"""


def measure(driven: Driven, label: str) -> float:
    """Return the median over many presses of one slider [ms]."""
    handle = driven.control(label).locator(".noUi-handle")
    handle.scroll_into_view_if_needed()
    handle.focus()
    driven.page.evaluate("window.skTimes.length = 0")
    for number in range(PRESSES + 2):
        driven.page.keyboard.press("ArrowRight" if number % 2 else "ArrowLeft")
        driven.page.wait_for_function(f"window.skTimes.length > {number}")
        driven.settle()
    times = driven.page.evaluate("window.skTimes")[2:]  # the first two warm up
    return float(statistics.median(times))


def run(browser: Any, kind: str, sheet: Sheet) -> None:
    """Measure all sliders on one server."""
    with tempfile.TemporaryDirectory() as folder:
        more = ("--folder", f"{folder}/notebooks") if kind == "lab" else ()
        with served(kind, Path(folder), *more) as address:
            found = []
            for notebook, labels in SLIDERS.items():
                driven = Driven(browser.new_page(viewport={"width": 1400, "height": 1300}))
                if kind == "app":
                    driven.open(address, notebook)
                else:
                    driven.open_in_lab(address, notebook)
                    driven.page.locator(".jupyter-widgets").first.scroll_into_view_if_needed()
                driven.settle()
                driven.page.evaluate(CLOCK)
                for label in labels:
                    found.append(measure(driven, label))
                    sheet.add(f"{NAMES[kind]}: {notebook}, {label}", f"{found[-1]:.0f} ms")
                driven.page.close()
            middle = statistics.median(found)
            sheet.add(f"{NAMES[kind]}: median of these sliders", f"{middle:.0f} ms",
                      limit=LIMITS[kind])  # fmt: skip


def main() -> None:
    """Measure and print."""
    sheet = Sheet("browser")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        for kind in LIMITS:
            run(browser, kind, sheet)
        browser.close()
    sheet.keep()


if __name__ == "__main__":
    main()
