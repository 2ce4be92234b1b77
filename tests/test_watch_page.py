"""The watching page: files reach the answer, what is wrong is said, the last good one is kept."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

import pytest

from shrinkage.site_log import Entry, append, log_path
from shrinkage.watch_page import WatchPage

DATES = """
[calendar]
sawn = 2027-01-15
raised = 2027-05-10
enclosed = 2027-06-01
foamed = 2027-07-07
heated = 2027-10-15
years = 2

[spread]
draws = 512
"""


def gap(day, value):
    return Entry(dt.date.fromisoformat(day), "gap", "south 1, top", value, 0.8)


@pytest.fixture(scope="module")
def job(request):
    text = (Path(__file__).resolve().parents[1] / "data" / "workshop.toml").read_text("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mine.toml"
        path.write_text(text + DATES, encoding="utf-8")
        append(log_path(path), [gap("2027-06-01", 20.0), gap("2027-12-01", 17.5)])
        yield path


@pytest.fixture(scope="module")
def page(job):
    return WatchPage(job, system="metric")


def test_page_shows_readings_picture_and_answer(page):
    assert "2 readings, 0 outside" in page.panes["first"].value
    assert "south 1, top: least gap ever left" in page.panes["first"].value
    assert "17.5 mm" in page.panes["readings"].value
    assert "section factor" in page.panes["known"].value
    assert "Gap at south 1, top" in page.panes["picture"].value
    assert page.controls["gap"].options[0] == "south 1, top"


def test_another_gap_redraws_the_picture_only(page):
    readings = page.panes["readings"].value
    page.controls["gap"].value = "east, end"
    assert "Gap at east, end" in page.panes["picture"].value
    assert page.panes["readings"].value == readings


def test_wrong_log_keeps_the_last_answer_marked_old(page):
    page.controls["log"].value = "nowhere.site.jsonl"
    assert "no such file" in page.note.value
    assert "sk-old" in page.panes["readings"]._dom_classes
    assert "17.5 mm" in page.panes["readings"].value
    page.controls["log"].value = ""
    assert "sk-old" not in page.panes["readings"]._dom_classes


def test_readings_added_later_are_read_again(page, job):
    append(log_path(job), [gap("2028-01-10", 11.0)])
    page.read_again()
    assert "3 readings, 1 outside" in page.panes["first"].value
    assert "Look at these first" in page.panes["first"].value


def test_job_without_dates_says_so_and_offers_no_files(workshop_path):
    page = WatchPage(workshop_path)
    assert page.answer is None
    assert "no such file" in page.note.value or "no [calendar]" in page.note.value
    page.files.make("watching.html")
    assert "no answer yet" in page.files.links.value


def test_files_are_offered(page):
    page.files.make("forecast.csv")
    assert 'download="forecast.csv"' in page.files.links.value
