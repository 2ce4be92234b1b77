"""The page for gaps as found, and the one that watches the frame dry, in a browser."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
import pypdf
import pytest
from driven import Driven, opened
from test_files import save

if TYPE_CHECKING:
    from playwright.sync_api import Browser

WATCHED = 1
"""The second of the notebook's two pages: its place among controls of the same label."""
ROWS = """date,place,value
2027-06-01,"south 1, top",3/4 in
2027-06-01,"north 1, top",3/8 in
"""


@pytest.fixture(scope="module")
def page(browser: Browser, app: str) -> Iterator[Driven]:
    with opened(browser, app, "site_log") as shown:
        shown.page.wait_for_selector("figure.sk-watch", timeout=90_000)
        shown.settle()
        yield shown


def answers(page: Driven) -> str:
    """Return the table of answers as text, once it has come."""
    page.seen()
    return str(page.page.locator(".sk-site table").first.inner_text()).strip()


def test_loads_without_error(page: Driven) -> None:
    page.assert_loaded()
    assert page.labels() == [
        "job", "or a file", "date", "readings", "edge", "gap found", "log",
        "job", "or a file", "readings", "gap shown",
    ]  # fmt: skip


def test_readings_and_date_move_the_answer(page: Driven) -> None:
    assert page.changes("readings", ROWS)
    assert answers(page).count("\n") == 2
    page.enter("readings", ROWS.replace("2027-06-01", "").replace("3/8", "1/2"))
    assert page.is_old()  # no day: no answer
    assert "3/8" in answers(page)
    page.enter("date", "2027-06-01")
    assert page.is_new()
    assert "1/2" in answers(page)
    page.enter("date", "last Monday")
    assert page.is_old()
    assert "cannot read" in page.text(".sk-entry") and "north 1" in answers(page)
    page.enter("date", "")
    page.enter("readings", ROWS)
    assert page.is_new()


def test_a_gap_put_in_is_one_more_row(page: Driven) -> None:
    page.enter("edge", "south 3, top")
    page.enter("gap found", "lots")
    page.press("add the gap")
    page.settle()
    assert "south 3" not in answers(page) and "cannot read" in page.text(".sk-entry")
    page.enter("gap found", "1-3/4 in")
    page.enter("date", "2027-06-01")
    page.press("add the gap")
    assert page.becomes("document.body.innerText.includes('pack 1/4')")
    assert "south 3, top" in answers(page)


def test_row_that_cannot_be_used_is_named_and_the_rest_kept(page: Driven) -> None:
    page.enter("readings", ROWS + '2027-06-01,"south 2, top",14 mm\n2027-06-01,attic,1 in\n')
    assert page.becomes("document.body.innerText.includes('Not used, and why')")
    said = page.text(".widget-html-content")
    assert "row 4" in said and "row 5" in said and "attic" in said
    assert answers(page).count("\n") == 2


def test_readings_are_kept_in_the_log_once(page: Driven, jobs: Path) -> None:
    log = jobs / "own.site.jsonl"
    page.enter("readings", ROWS)
    page.enter("log", str(log))
    page.settle()
    page.press("add to the log")
    assert page.becomes("document.body.innerText.includes('2 new reading(s)')")
    kept = log.read_bytes()
    assert kept.count(b"\n") == 2
    page.press("add to the log")
    assert page.becomes("document.body.innerText.includes('0 new reading(s)')")
    assert log.read_bytes() == kept


def test_a_file_of_readings_is_loaded(page: Driven, tmp_path: Path) -> None:
    own = tmp_path / "tuesday.csv"
    own.write_text(ROWS.replace("north 1", "north 2"), encoding="utf-8")
    with page.page.expect_file_chooser() as asked:
        page.press("load a CSV")
    asked.value.set_files(own)
    assert page.becomes("document.querySelector('.sk-site table').innerText.includes('north 2')")


def test_files_of_the_day_open_again(page: Driven) -> None:
    table = pd.read_csv(io.BytesIO(save(page, "as_found.csv")))
    assert len(table) == answers(page).count("\n") == 2
    card = pypdf.PdfReader(io.BytesIO(save(page, "crew_card_today.pdf")))
    assert len(card.pages) == 1 and "north 2" in card.pages[0].extract_text()
    assert "north 2" in save(page, "as_found.md").decode("utf-8")
    blank = save(page, "gaps.csv").decode("utf-8")
    assert "south 1, top" in blank
    page.enter("readings", blank)
    assert page.is_old()  # nothing measured yet


def test_each_control_of_the_watch_moves_it(page: Driven, jobs: Path) -> None:
    picture = page.page.locator("figure.sk-watch")
    before = picture.inner_html()
    page.enter("gap shown", page.control("gap shown").locator("option").nth(1).inner_text())
    page.settle()
    assert picture.inner_html() != before
    page.press("read again")
    page.settle()
    assert page.text(".sk-watch") != "" and "no such file" not in page.text(".sk-wrong")
    page.enter("readings", str(jobs / "nowhere.csv"), WATCHED)
    assert page.becomes("document.body.innerText.includes('nowhere.csv')")
    assert page.page.locator(".sk-old figure.sk-watch").count() == 1
    shown = save(page, "watching.html").decode("utf-8")  # of the answer that is still shown
    assert shown.startswith("<!doctype html>") and "south 1" in shown
    assert len(pd.read_csv(io.BytesIO(save(page, "forecast.csv")))) > 10
    assert "south 1" in save(page, "watching.md").decode("utf-8")
