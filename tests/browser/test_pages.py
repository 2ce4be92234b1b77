"""Every notebook as a page: it loads, controls move results, slips are said, nothing is lost."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from driven import Driven, opened

from shrinkage.app import notebooks_folder

if TYPE_CHECKING:
    from playwright.sync_api import Browser

Steps = dict[str, str | int]
CONTROLS: dict[str, Steps] = {
    "panel_shortcuts": {
        "job": "Workshop with two gables (invented example)",
        "frame timbers": "hemlock, eastern", "heart": "unknown", "moisture on the day": "18 %",
        "place": "Denver, CO", "room air": "most of the US", "roof pitch": "6 in 12",
        "panel thickness": "8 in",
    },
    "drying_timeline": {
        "species": "larch, western", "section": "6 in x 10 in", "faces covered": "top",
        "green moisture, %": 5, "months in the yard": 1, "years shown": -1, "place": "Denver, CO",
        "room air": "most of the US", "month of the map": 3,
    },
    "species_explorer": {
        "rank by": "tangential / radial", "woods": "softwood", "pick out": "larch, western",
        "from, °C": 3, "from, % humidity": 3, "to, °C": 3, "to, % humidity": 3,
        "section of": "larch, western", "size": "6 in x 10 in", "pith across, cm": 2,
        "pith up, cm": 2, "use": "sill", "place": "Denver, CO", "room air": "most of the US",
    },
    "foam": {
        "job": "Workshop with two gables (invented example)",
        "joint": "east, end", "kind of foam": "flexible gun foam", "foamed": "two beads",
        "roof's dead load": "10 psf", "of its slope": "3 ft", "held by": "lag screw",
        "thread in timber": "5 in", "spacing": "1 ft",
    },
    "roof_to_wall_gap": {
        "job": "Workshop with two gables (invented example)",
        "pith, % of side": 2, "eave of wall": "north", "plate: species": "white oak",
        "plate: section": "6 in x 8 in", "plate: moisture": "20 %", "plate: heart": "flat",
        "rafter: species": "white oak", "rafter: section": "6 in x 9 in",
        "rafter: moisture": "19 %", "rafter: heart": "free", "post: species": "white oak",
        "post: moisture": "21 %", "roof pitch": "6 in 12",
        "rafter above seat": "4 in",
        "rafter housed": "1/2 in", "plate laid out from": "inner face",
        "room air": "most of the US",
        "foam squeezed once": "40 %", "foam gives back": "40 %", "foam follows": "5 %",
        "each tolerance": "1/16 in", "kept clear": "1/4 in",
        "any other key": "foam.least_width = 1 in",
        "section factor": -3, "scatter R, T, %": 2, "meter reading, %": 2,
        "certainty, %": 3, "try a gap, 1/32 in": 3,
    },
}  # fmt: skip
"""By notebook: a value for each control that must move a result."""
SLIPS: dict[str, tuple[str, dict[str, str]]] = {
    "panel_shortcuts": ("roof pitch", {
        "steep": "cannot read", "10": "has no unit", "-3 in 12": "accepted",
        "89 deg": "too steep"}),
    "drying_timeline": ("section", {
        "8 by 8": "cannot read", "1e9 in x 8 in": "accepted", "-8 in x 8 in": "above 0"}),
    "species_explorer": ("size", {"": "nothing here yet", "big": "cannot read"}),
    "foam": ("roof's dead load", {"heavy": "accepted", "12": "has no unit", "-12 psf": "accepted"}),
    "roof_to_wall_gap": ("plate: section", {"8": "cannot read", "0 in x 8 in": "above 0"}),
}  # fmt: skip
"""By notebook: a control, wrong entries, and what must be said of each."""

CUT_OFF = """() => [...document.querySelectorAll('.widget-html-content *')]
  .filter(e => !e.ownerSVGElement && e.getClientRects().length)
  .filter(e => e.getBoundingClientRect().right > innerWidth + 1)
  .filter(e => {
    for (let box = e; !box.matches('.widget-html-content'); box = box.parentElement)
      if (['auto', 'scroll'].includes(getComputedStyle(box).overflowX)) return false;
    return true;
  })
  .map(e => e.tagName + ': ' + e.textContent.slice(0, 60))"""
"""What reaches past the screen and is not in a table or picture that scrolls by itself."""


@pytest.fixture(scope="module", params=sorted(CONTROLS))
def shown(request: Any, browser: Browser, app: str) -> Iterator[tuple[str, Driven]]:
    """Open a notebook once for all that is asked of it."""
    with opened(browser, app, request.param) as driven:
        yield request.param, driven


def test_loads_without_error(shown: tuple[str, Driven]) -> None:
    name, page = shown
    page.assert_loaded()
    # Nothing on the page may stand unasked: each control is in the table above.
    known = set(CONTROLS[name]) | {"job", "or a file"}
    assert set(page.labels()) - known == set()


def test_each_control_moves_its_result(shown: tuple[str, Driven]) -> None:
    name, page = shown
    still = [label for label, value in CONTROLS[name].items() if not page.changes(label, value)]
    assert still == []
    assert page.wrong == [] and page.text(".sk-wrong") == ""


def test_wrong_entries_are_said_and_nothing_is_lost(shown: tuple[str, Driven]) -> None:
    name, page = shown
    label, entries = SLIPS[name]
    good = page.control(label).locator("input").input_value()
    before = page.seen()
    for entry, said in entries.items():
        page.enter(label, entry)
        assert page.is_old(), entry
        beside = page.control(label).locator("xpath=..").locator(".sk-entry").first
        text = "" if not beside.count() else beside.inner_text()
        assert said in text + page.text(".sk-wrong"), entry
        assert page.seen() == before, entry
        page.enter(label, good)
        assert page.is_new(), entry
    assert page.wrong == []


@pytest.mark.parametrize("name", sorted(path.stem for path in notebooks_folder().glob("*.ipynb")))
def test_nothing_is_cut_off_on_a_phone(browser: Browser, app: str, name: str) -> None:
    with opened(browser, app, name, width=390) as driven:
        driven.settle()
        assert driven.page.evaluate("document.documentElement.scrollWidth") <= 391
        assert driven.page.evaluate(CUT_OFF) == []


def test_first_page_leads_to_every_notebook(browser: Browser, app: str) -> None:
    with opened(browser, app, "start") as driven:
        text, page = driven.text(".sk-jobs"), driven.page
        assert "Own: " in text and "sound: 4 wall(s)" in text and "invented" in text
        assert "weather_of_another_machine.csv" in text and "eave.pitch" in text
        links = {link.get_attribute("href").rpartition("/")[2]
                 for link in page.locator("a[href$='.ipynb']").all()}  # fmt: skip
        there = {path.name for path in notebooks_folder().glob("*.ipynb")} - {"start.ipynb"}
        assert links == there
        page.locator("a[href$='species_explorer.ipynb']").first.click()
        page.wait_for_selector(".sk-note")
        assert "species_explorer" in page.url


def test_nobody_is_answered_without_the_token(browser: Browser, app: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(app.partition("?")[0])
    assert "/login" in page.url
    context.close()


def test_job_of_another_machine_says_what_is_missing(browser: Browser, app: str,
                                                     jobs: Path) -> None:  # fmt: skip
    with opened(browser, app, "panel_shortcuts") as driven:
        driven.enter("frame timbers", "oak, white")
        before = driven.seen()
        option = driven.control("job").locator("option", has_text="Elsewhere").inner_text()
        driven.enter("job", option)
        assert driven.is_old()
        said = driven.text(".sk-wrong") + driven.text(".sk-entry")
        assert "weather_of_another_machine.csv" in said
        assert driven.seen() == before
        assert driven.control("frame timbers").locator("select").input_value()  # choices are kept
        driven.enter("or a file", str(jobs / "nowhere.toml"))
        assert driven.becomes("document.body.innerText.includes('nowhere.toml')")
        driven.enter("or a file", str(jobs / "a_sound.toml"))
        assert driven.is_new()
