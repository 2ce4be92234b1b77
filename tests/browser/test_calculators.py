"""The calculators for finish work and joinery: each shows its own boxes, and each box counts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pytest
from driven import Driven, opened
from test_files import save

from shrinkage.finishes_page import TITLES

if TYPE_CHECKING:
    from playwright.sync_api import Browser

COMMON = {"frame timbers": "oak, white", "heart": "free"}
BOXES: dict[str, dict[str, str]] = {
    "wallboard": {
        "timber": "plate", "side that moves": "depth", "held at": "left face",
        "moisture then": "19 %", "to stay covered": "1/2 in", "tolerance": "1/4 in",
        "board draws back": "1/8 in",
    },
    "trim": {
        "timber": "plate", "side that moves": "depth", "held at": "far face",
        "moisture then": "19 %", "to stay covered": "1/2 in", "tolerance": "1/4 in",
        "trim draws back": "1/8 in",
    },
    "boards": {
        "species": "oak, white", "rings": "flat", "width": "3-1/4 in",
        "tongue": "3/8 in", "moisture on the day": "12 %", "air": "outdoors", "run": "9 ft",
        "gap left on the day": "1/16 in", "to stay covered": "3/16 in",
        "free to grow at": "one wall",
    },
    "shoulder": {
        "post": "plate", "girt": "rafter", "side that moves": "depth", "length": "7 ft",
        "face to what stays": "2 in", "housing": "1/4 in", "to stay covered": "1/2 in",
        "tolerance": "1/4 in", "held by": "pegs",
    },
    "brace": {
        "post": "sill", "beam": "rafter", "brace's species": "pine, red", "brace's heart": "flat",
        "section": "3 in x 7 in", "brace's moisture": "15 %", "angle": "50 deg", "leg": "40 in",
        "post: face to held": "2 in", "beam: face to held": "2 in", "post: face to peg": "1 in",
        "beam: face to peg": "1 in",
    },
    "tenon": {
        "timber": "rafter", "mortised": "plate", "mortise across": "depth", "thickness": "2 in",
        "depth": "5 in", "mortise wider by": "1/8 in", "mortise longer by": "1/4 in",
    },
    "pegged": {
        "beam": "rafter", "post": "plate", "pegs above seat": "3 in", "slack": "1/16 in",
        "lift to tolerate": "1/8 in",
    },
}  # fmt: skip
"""By calculator: a value for each box that must move its answer."""


@pytest.fixture(scope="module")
def page(browser: Browser, app: str) -> Iterator[Driven]:
    with opened(browser, app, "finishes") as shown:
        yield shown


def test_loads_without_error(page: Driven) -> None:
    page.assert_loaded()
    assert set(BOXES) == set(TITLES)
    still = [label for label, value in COMMON.items() if not page.changes(label, value)]
    assert still == []


@pytest.mark.parametrize("kind", BOXES)
def test_each_box_moves_its_answer(page: Driven, kind: str) -> None:
    title = TITLES[kind]
    if title != page.control("calculator").locator("select").input_value():
        page.enter("calculator", title)
        page.seen()
    boxes: dict[str, Any] = BOXES[kind]
    known = {"job", "or a file", "calculator", *COMMON}
    # When a finish goes in counts in a job with dates only: below.
    assert set(page.labels()) - known - {"goes in"} == set(boxes)
    still = [label for label, value in boxes.items() if not page.changes(label, value)]
    assert still == []
    assert page.wrong == [] and page.text(".sk-wrong") == ""


def test_wrong_entry_waits_for_no_other_calculator(page: Driven) -> None:
    page.enter("calculator", TITLES["boards"])
    before = page.seen()
    for entry, said in {"wide": "cannot read", "": "nothing here yet", "-3 in": "above 0",
                        "1e9 in": "accepted"}.items():  # fmt: skip
        page.enter("width", entry)
        assert page.is_old(), entry
        assert said in page.text(".sk-entry, .sk-wrong"), entry
        assert page.seen() == before
    page.enter("calculator", TITLES["tenon"])
    assert page.is_new()
    assert page.seen() != before


@pytest.mark.parametrize("kind", ["wallboard", "trim"])
def test_the_day_it_goes_in_moves_the_answer(browser: Browser, app: str, kind: str) -> None:
    with opened(browser, app, "finishes") as page:
        dated = page.control("job").locator("option", has_text="Dated:").inner_text()
        page.enter("job", dated)
        page.enter("calculator", TITLES[kind])
        assert page.changes("goes in", "heated")
        assert page.is_new() and page.text(".sk-wrong") == ""


def test_sheet_of_the_answer_is_saved(page: Driven) -> None:
    title = TITLES["tenon"]
    assert title in save(page, "finishes.md").decode("utf-8")
    html = save(page, "finishes.html").decode("utf-8")
    assert html.startswith("<!doctype html>") and title in html
