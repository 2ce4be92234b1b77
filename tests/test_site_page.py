"""The page for gaps as found: what is put in reaches the answer, and what is wrong is said."""

from __future__ import annotations

import datetime as dt

import pytest

from shrinkage import found as found_module
from shrinkage.measures import gap_edges
from shrinkage.site_log import read
from shrinkage.site_page import SitePage

NOW = dt.datetime(2027, 6, 1, tzinfo=dt.UTC)
TEXT = 'date,place,value\n2027-06-01,"south 1, top",1 in\n'


@pytest.fixture(autouse=True)
def few_draws(monkeypatch):
    real = found_module.sample
    monkeypatch.setattr(found_module, "sample", lambda plan, draws: real(plan, 64))


@pytest.fixture
def job(tmp_path, workshop_text):
    path = tmp_path / "mine.toml"
    path.write_text(workshop_text, encoding="utf-8")
    return path


@pytest.fixture
def page(job):
    return SitePage(job, TEXT)


def test_readings_are_answered(page):
    assert [one.edge.place for one in page.answer.found] == ["south 1, top"]
    assert "south 1, top" in page.panes["answers"].value
    assert "By hand: south 1, top" in page.panes["sheet"].value
    assert page.panes["aside"].value == "" and "sk-wrong" not in page.note.value
    assert list(page.edge.options) == [edge.place for edge in gap_edges(page.order)]


@pytest.mark.parametrize("head", ["date,place,value", "value;note;where;day", "place\tfound\tDate"])
def test_a_single_gap_becomes_a_row(page, head):
    page.controls["text"].value = head
    assert "no gap was measured" in page.note.value
    page.controls["day"].value = "2027-06-01"
    page.edge.value, page.gap.value = "south 2, top", "1-1/8 in"
    page.put()
    page.edge.value, page.gap.value = "south 3, top", "2 in"
    page.put()
    assert [one.edge.place for one in page.answer.found] == ["south 2, top", "south 3, top"]
    assert [one.choice.answer for one in page.answer.found] == ["go", "pack"]


def test_a_gap_that_cannot_be_read_is_not_put(page):
    before = page.controls["text"].value
    for text in ("", "1/2"):
        page.gap.value = text
        page.put()
    assert page.controls["text"].value == before
    page.gap.value = ""
    assert page.gap.wrong == "" and page.edge.value == "south 1, top"


def test_wrong_rows_are_told_and_the_last_answer_kept(page):
    page.controls["text"].value = TEXT + '2027-06-01,"south <b>, top",1 in\n'
    assert "row 3: place: no panel edge" in page.panes["aside"].value
    assert "<b>, top" not in page.panes["aside"].value
    answers = page.panes["answers"].value
    page.controls["text"].value = "nonsense"
    assert "column &#x27;nonsense&#x27; is not known" in page.note.value
    assert page.panes["answers"].value == answers
    assert "sk-old" in page.panes["answers"]._dom_classes
    page.controls["day"].value = "monday"
    assert page.controls["day"].wrong


def test_a_file_is_loaded(page):
    def load(content):
        page.upload.value = ({"name": "a.csv", "type": "text/csv", "size": len(content),
                              "content": memoryview(content), "last_modified": NOW},)  # fmt: skip

    load(b"\xef\xbb\xbf" + TEXT.replace("south 1", "north 1").encode())
    assert [one.edge.place for one in page.answer.found] == ["north 1, top"]
    load(b"\xff\xfe")
    assert "a.csv: not UTF-8 text" in page.note.value
    load(b"x" * 2_000_001)
    assert "a.csv: over 2 MB" in page.note.value


def test_the_log_takes_what_is_answered_once(page, job, tmp_path):
    page.log()
    page.log()
    assert f"0 new reading(s) in {tmp_path / 'mine.site.jsonl'}" in page.logged.value
    assert [entry.place for entry in read(tmp_path / "mine.site.jsonl")[0]] == ["south 1, top"]
    assert len((tmp_path / "mine.site.jsonl").read_bytes().splitlines()) == 1
    page.controls["log"].value = str(tmp_path / "none" / "log")
    page.log()
    assert "cannot be written" in page.logged.value


def test_nothing_to_log_and_no_files_without_an_answer(job, tmp_path):
    page = SitePage(job)
    page.log()
    assert "nothing to log yet" in page.logged.value
    assert not (tmp_path / "mine.site.jsonl").exists()
    page.files.make("as_found.csv")
    assert "no answer yet" in page.files.links.value
    page.files.make("gaps.csv")
    assert list(page.files.made) == ["gaps.csv"]


def test_files_of_the_answer(page):
    for name in page.files.buttons:
        page.files.make(name)
    assert list(page.files.made) == ["as_found.csv", "as_found.md", "crew_card_today.pdf",
                                     "gaps.csv"]  # fmt: skip


def test_another_job_drops_the_answer(page, tmp_path, workshop_text):
    other = tmp_path / "other.toml"
    other.write_text(workshop_text.replace('name = "south"', 'name = "front"'), encoding="utf-8")
    page.controls["job"].path.value = str(other)
    assert page.answer is None and "front 1, top" in page.edge.options
    assert "no row can be used" in page.note.value or "no gap was measured" in page.note.value
