"""The watch command: from a job and a log to files, and what it says of bad rows."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from shrinkage.__main__ import main
from shrinkage.site_log import Entry, append, log_path

WORKSHOP = Path(__file__).resolve().parents[1] / "data" / "workshop.toml"
CALENDAR = """
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
ROWS = """date,place,what,value,wood temperature,note
2027-06-01,"south 1, top",gap,13/16 in,,
2027-12-01,"south 1, top",gap,11/16 in,,
2027-12-01,plate,,13 %,40 F,
2027-12-01,"south 99, top",gap,1 in,,
2027-05-20,"south 1, top",gap,1 in,,before the panels
"""


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(WORKSHOP.read_text("utf-8") + CALENDAR, encoding="utf-8")
    return path


def test_csv_with_bad_rows_is_worked_and_each_is_named(job, tmp_path, capsys):
    sheet = tmp_path / "later.csv"
    sheet.write_text(ROWS, encoding="utf-8")
    assert main(["watch", str(job), str(sheet), "-o", str(tmp_path / "out")]) == 0
    out, err = capsys.readouterr()
    assert "later.csv row 5" in err
    assert "later.csv row 6: gap at south 1, top: 2027-05-20 is before the panels went on" in err
    assert "south 1, top: least gap ever left" in out
    assert out.count("inside") >= 2
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names == ["forecast.csv", "watching.html", "watching.md"]


def test_log_beside_the_job_is_found(job, tmp_path, capsys):
    append(log_path(job), [Entry(dt.date(2027, 9, 1), "gap", "south 1, top", 19.0, 0.8)])
    out = str(tmp_path / "out")
    assert main(["watch", str(job), "-o", out, "--units", "metric"]) == 0
    assert "19.0 mm" in capsys.readouterr().out
    assert main(["watch", str(job), "-o", out]) == 2
    assert "already there" in capsys.readouterr().err
    assert main(["watch", str(job), "-o", out, "--force"]) == 0


@pytest.mark.parametrize("text", ["", "{broken\n"])
def test_log_without_a_usable_row_writes_nothing(job, tmp_path, capsys, text):
    log_path(job).write_text(text, encoding="utf-8")
    assert main(["watch", str(job), "-o", str(tmp_path / "out")]) == 2
    assert "no reading can be used" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_no_log_and_no_calendar_say_what_to_do(job, tmp_path, capsys):
    assert main(["watch", str(job), "-o", str(tmp_path / "out")]) == 2
    assert "no such file; accepted: a site log" in capsys.readouterr().err
    append(tmp_path / "x.site.jsonl", [Entry(dt.date(2027, 9, 1), "gap", "south, top", 19.0, 0.8)])
    log = str(tmp_path / "x.site.jsonl")
    assert main(["watch", str(WORKSHOP), log, "-o", str(tmp_path / "out")]) == 2
    assert "no [calendar]" in capsys.readouterr().err
