"""The command line: what it prints, what it exits with, and what bad input leaves behind: nothing.

`main` is called in this process for speed; a few runs go through a process of their own.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from shrinkage.__main__ import main
from shrinkage.schedule import CAUTIONS
from shrinkage.tables import data_folder

ROOT = Path(__file__).resolve().parents[1]
FILES = ["edges.csv", "schedule.csv", "schedule.xlsx", "worksheet.md"]


@pytest.fixture
def job(tmp_path, changed):
    """Return a function that writes the example with changes and gives its path."""

    def write(*pairs: tuple[str, str]) -> Path:
        path = tmp_path / "job.toml"
        path.write_text(changed(*pairs), encoding="utf-8")
        return path

    return write


def run(*words: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "shrinkage", *map(str, words)]
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=env, timeout=60)


def test_order(job, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["order", str(job()), "-o", str(out)]) == 0
    printed = capsys.readouterr()
    assert sorted(p.name for p in out.iterdir()) == FILES
    assert "south, top" in printed.out and f"{out / 'schedule.csv'}" in printed.out
    assert all(caution in " ".join(printed.out.split()) for caution in CAUTIONS)
    assert printed.err == ""


def test_units_instead_of_the_jobs_own(job, tmp_path, capsys):
    assert main(["order", str(job()), "-o", str(tmp_path / "o"), "--units", "metric"]) == 0
    assert "1143 mm" in capsys.readouterr().out


def test_check_writes_nothing(job, tmp_path, capsys):
    path = job()
    assert main(["check", str(path)]) == 0
    assert f"{path}: sound; 4 wall(s), 38 panel(s)" in capsys.readouterr().out
    assert list(tmp_path.iterdir()) == [path]


def test_check_tells_what_cannot_be_foamed(job, capsys):
    path = job(("[panel]", '[foam]\nmost_width = "1 in"\n\n[panel]'))
    assert main(["check", str(path)]) == 0
    assert "east, top: too wide to foam" in capsys.readouterr().out


def test_too_wide_to_foam_is_an_order_not_a_crash(job, tmp_path, capsys):
    path = job(("[panel]", '[foam]\nmost_width = "1 in"\n\n[panel]'))
    assert main(["order", str(path), "-o", str(tmp_path / "out")]) == 0
    assert "TOO WIDE TO FOAM: east, top" in capsys.readouterr().out
    assert "too wide to foam" in (tmp_path / "out" / "schedule.csv").read_text()


def test_new_writes_a_job_that_is_sound(tmp_path, capsys):
    assert main(["new", str(tmp_path / "mine")]) == 0
    path = tmp_path / "mine.toml"
    assert path.read_text(encoding="utf-8") == (ROOT / "data" / "starter.toml").read_text("utf-8")
    assert main(["check", str(path)]) == 0
    path.write_text("mine", encoding="utf-8")
    assert main(["new", str(path)]) == 2
    assert "already there" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == "mine"
    assert main(["new", str(path), "--force"]) == 0
    assert path.read_text(encoding="utf-8") != "mine"


@pytest.mark.parametrize("name", ["", ".", "..", "/"])
def test_new_without_a_name(name, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", name]) == 2
    assert "accepted: a name such as mine.toml" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


SILL = 'sill = {species = "white oak",'
STATED = 'room = {{winter = {{temperature = "68 F", humidity = "{0}"}}, ' \
         'summer = {{temperature = "75 F", humidity = "{1}"}}}}'  # fmt: skip
ROOM = 'room = "from outdoors"'
WALL = '\nlength = "24 ft"'
BAD = [
    # what is wrong, what is changed, key, value
    ("unknown key", ("[panel]", "[panel]\nthiknes = 3"), "panel.thiknes", "no such key"),
    ("unknown table", ("[panel]", "[pannel]"), "pannel", "no such key"),
    ("missing key", ('max_width = "4 ft"\n', ""), "panel.max_width", "missing"),
    ("wrong type", ('title = "', 'title = 3 # "'), "title", "3"),
    ("bare number", (WALL, "\nlength = 24"), "wall.1.length", "24"),
    ("a mass for a length", (WALL, '\nlength = "24 lb"'), "wall.1.length", "24 pound"),
    ("length for moisture", (SILL, SILL + ' moisture = "2 ft",'), "timber.sill.moisture", "2 ft"),
    ("negative", (WALL, '\nlength = "-24 ft"'), "wall.1.length", "-24 ft"),
    ("zero", ('height = "9 ft 4 in"', 'height = "0 ft"'), "wall.1.height", "0 ft"),
    ("zero section", ('"7-1/2 in x 7-1/2 in"', '"0 in x 8 in"'), "timber.sill.section", "0 in x"),
    ("moisture below 0", (SILL, SILL + ' moisture = "-2 %",'), "timber.sill.moisture", "-2 %"),
    ("moisture above all", (SILL, SILL + ' moisture = "250 %",'), "timber.sill.moisture", "250 %"),
    ("start drier than air", (SILL, SILL + ' moisture = "4 %",'), "timber.sill.moisture", "4 %"),
    ("RH over 100", (ROOM, STATED.format("130 %", "50 %")), "air.room.winter.humidity", "130 %"),
    ("RH below 0", (ROOM, STATED.format("30 %", "-5 %")), "air.room.summer.humidity", "-5 %"),
    ("wall shorter than openings", ('left = "10 ft 9 in"', 'left = "22 ft"'), "wall.1", "'door'"),
    ("wall lower than openings", ('height = "6 ft 10 in"', 'height = "16 ft"'), "wall.1", "'door'"),
    ("panel too wide", ('["3 ft 9 in", "rest"', '["5 ft", "rest"'), "wall.1.divide", "1524.0 mm"),
    ("pitch of 90 degrees", ('"10 in 12"', '"90 deg"'), "eave.pitch", "90 deg"),
    ("pitch with no run", ('"10 in 12"', '"10 in 0"'), "eave.pitch", "10 in 0"),
    ("NaN number", (SILL, SILL + " section_factor = nan,"), "timber.sill.section_factor", "nan"),
    ("infinity", (SILL, SILL + " section_factor = inf,"), "timber.sill.section_factor", "inf"),
    ("NaN length", (WALL, '\nlength = "nan ft"'), "wall.1.length", "nan ft"),
    ("NaN moisture", (SILL, SILL + ' moisture = "nan %",'), "timber.sill.moisture", "nan %"),
    ("NaN pitch", ('"10 in 12"', '"nan deg"'), "eave.pitch", "nan deg"),
    ("NaN humidity", (ROOM, STATED.format("nan %", "50 %")), "air.room.winter.humidity", "nan %"),
    ("unknown species", ('"white oak"', '"unobtainium"'), "timber.sill.species", "unobtainium"),
    ("ambiguous species", ('"white oak"', '"oak"'), "timber.sill.species", "oak, white"),
    ("unknown place", ("Madison, WI", "Atlantis"), "air.place", "Atlantis"),
    ("unknown role", ("sill = {", "beam = {"), "timber.beam", "beam"),
    ("gap that no foam fills", ("[panel]", '[foam]\nmost_width = "0 in"\n\n[panel]'),
     "foam.most_width", "0 in"),
    ("control characters", ('name = "door"', 'name = "do\\u0007or"'), "wall.1.opening.1.name",
     "do\\x07or"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "key", "value"), [b[1:] for b in BAD], ids=[b[0] for b in BAD])
def test_bad_input(job, tmp_path, capsys, change, key, value):
    path, out = job(change), tmp_path / "out"
    for words in (["order", str(path), "-o", str(out)], ["check", str(path)]):
        assert main(words) == 2
        printed = capsys.readouterr()
        assert printed.out == ""
        lines = [line for line in printed.err.splitlines() if f" {key}: " in line]
        assert lines, printed.err
        assert lines[0].startswith(str(path)) and re.search("accepted: |nearest", lines[0])
        assert value in lines[0]
        assert "Traceback" not in printed.err
    assert not out.exists()
    assert list(tmp_path.iterdir()) == [path]


def test_bad_input_names_the_line(job, workshop_text, capsys):
    line = workshop_text[: workshop_text.index("[eave]")].count("\n") + 2
    assert main(["check", str(job(('"10 in 12"', '"90 deg"')))]) == 2
    assert f"job.toml line {line}: eave.pitch: '90 deg'" in capsys.readouterr().err


def test_bad_job_leaves_an_order_that_is_there(job, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["order", str(job()), "-o", str(out)]) == 0
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    assert main(["order", str(job((WALL, '\nlength = "24 lb"'))), "-o", str(out), "--force"]) == 2
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before
    assert main(["order", str(job(("9 ft 4 in", "9 ft 8 in"))), "-o", str(out)]) == 2
    assert "--force" in capsys.readouterr().err
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before


@pytest.mark.parametrize("words", [[], ["order"], ["order", "x.toml"], ["orders", "x"],
                                   ["order", "x", "-o", "y", "--units", "cubits"]])  # fmt: skip
def test_wrong_words(words, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(words)
    assert stopped.value.code == 2
    assert "usage: shrinkage" in capsys.readouterr().err


def test_in_a_process_of_its_own(job, tmp_path):
    found = run("order", job(), "-o", "out", cwd=tmp_path)
    assert (found.returncode, found.stderr) == (0, "")
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == FILES


def test_no_traceback_in_a_process_of_its_own(job, tmp_path):
    found = run("order", job((WALL, "\nlength = nan")), "-o", "out", cwd=tmp_path)
    assert (found.returncode, found.stdout) == (2, "")
    assert found.stderr.count("\n") == 1
    assert not (tmp_path / "out").exists()
    found = run("check", tmp_path / "none.toml")
    assert found.returncode == 2
    assert "no such file" in found.stderr and "Traceback" not in found.stderr


def test_reader_that_goes_away(job, tmp_path):
    command = f"{sys.executable} -m shrinkage order {job()} -o {tmp_path / 'out'} | head -1"
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    found = subprocess.run(command, shell=True, capture_output=True, text=True, env=env, timeout=60)
    assert found.stderr == ""


@pytest.mark.parametrize("line", ["inner face", "centre", "outer face"])
@pytest.mark.parametrize("table", ["eave", "corner"])
@pytest.mark.parametrize("panel_on", ["sill", "foundation", "hung"])
def test_every_layout_line_and_foot_gives_an_order(tmp_path, capsys, table, line, panel_on):
    raw = (data_folder() / "workshop.toml").read_text(encoding="utf-8")
    raw = raw.replace("[eave]\n", f'[foot]\npanel_on = "{panel_on}"\n\n[eave]\n')
    key = f'layout = "{line}"\n'
    head = f"[eave]\n{key}" if table == "eave" else f"[corner]\n{key}\n[eave]\n"
    raw = raw.replace("[eave]\n", head)
    job = tmp_path / "job.toml"
    job.write_text(raw, encoding="utf-8")
    assert main(["order", str(job), "-o", str(tmp_path / "out")]) == 0
    assert not capsys.readouterr().err
