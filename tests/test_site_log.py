"""The site log: nothing that was there is ever lost, and every reading that is set aside is named.

What a crash leaves is made here: a writer killed at random moments, a file cut at every byte.
"""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from shrinkage import site_log
from shrinkage.errors import ShrinkageError
from shrinkage.site_log import Compared, Entry, append, compare, log_path, read, sort_out

ROOT = Path(__file__).resolve().parents[1]
DAY = date(2027, 6, 1)
GAP = Entry(DAY, "gap", "south 1, top", 14.2875, 0.79, None, "9/16 in", "“tight” – ü", 1, "a row 2")
WET = Entry(DAY, "moisture", "post, north-east", 31.5, 2.0, 4.5, "31.5 %")

WRITER = """
import sys
from datetime import date
from shrinkage.site_log import Entry, append
path, first, count = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
for number in range(first, first + count):
    note = "x" * (number * 37 % 4000)
    append(path, [Entry(date(2027, 6, 1), "gap", f"{number}, {side}", 10.0, 1.0, note=note)
                  for side in ("left", "right")])
    print(number, flush=True)
"""


def writer(path, first, count):
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), str(first), str(count)],
        stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def test_what_goes_in_comes_out(tmp_path):
    path = tmp_path / "log"
    append(path, [GAP])
    append(path, [])
    append(path, [WET, replace(GAP, reading=2, value=15.0)])
    assert read(path) == ([GAP, WET, replace(GAP, reading=2, value=15.0)], [])
    assert len(path.read_bytes().splitlines()) == 3
    assert '"unit": "mm"' in path.read_text() and path.read_text().isascii()


def test_what_was_there_stays_byte_for_byte(tmp_path):
    path = tmp_path / "log"
    path.write_bytes(b"an older line, not ours\n\xff\xfe\n")
    before = path.read_bytes()
    append(path, [GAP])
    assert path.read_bytes().startswith(before)
    entries, problems = read(path)
    assert entries == [GAP]
    assert [p.split(":")[0] for p in problems] == [f"{path} line 1", f"{path} line 2"]


def test_cut_at_every_byte(tmp_path, monkeypatch):
    """Every whole line is kept, the cut one named and left where it is, and the next one added."""
    monkeypatch.setattr(os, "fsync", lambda file: None)  # a thousand of them take their time
    whole, path = tmp_path / "whole", tmp_path / "cut"
    three = [GAP, WET, replace(GAP, place="north 1, top")]
    append(whole, three)
    data = whole.read_bytes()
    ends = [at for at, letter in enumerate(data) if letter == ord("\n")]
    after = replace(GAP, place="added after")
    for at in range(len(data) + 1):
        path.write_bytes(data[:at])
        kept = sum(at >= end for end in ends)  # whole even where only the newline is missing
        is_cut = at > 0 and at not in ends and data[at - 1] != ord("\n")
        for more in ([], [after]):
            append(path, more)
            entries, problems = read(path)
            assert entries == three[:kept] + more, at
            assert len(problems) == is_cut, at
            assert path.read_bytes().startswith(data[:at])
        if is_cut:
            assert f"{path} line {kept + 1}: cut off in mid-line" in problems[0]
            assert "set aside" in problems[0]


def test_killed_at_random_moments(tmp_path):
    """Every reading whose `append` returned is there, whenever the writer was killed."""
    path, chance = tmp_path / "log", random.Random(7)
    told, seen = set(), 0
    for first in range(0, 8000, 1000):
        process = writer(path, first, 1000)
        assert process.stdout is not None
        told.add(int(process.stdout.readline()))
        time.sleep(chance.uniform(0.0, 0.03))
        os.kill(process.pid, signal.SIGKILL)
        told |= {int(line) for line in process.stdout}
        process.wait()
        entries, problems = read(path)
        there = {entry.place for entry in entries}
        assert {f"{n}, {side}" for n in told for side in ("left", "right")} <= there
        assert len(entries) >= seen and len(problems) <= first // 1000 + 1
        assert all("cut off in mid-line" in problem for problem in problems)
        seen = len(entries)


def test_two_writers_at_once(tmp_path):
    path = tmp_path / "log"
    path.write_bytes(b'{"cut off')
    both = [writer(path, first, 150) for first in (0, 5000)]
    for process in both:
        process.communicate()
    entries, problems = read(path)
    assert len(entries) == 600 and len(problems) == 1


def test_safe_on_the_disk_before_it_returns(tmp_path, monkeypatch):
    """The reading is synced after it is written, and a new file's name with it."""
    done, real_write, real_sync = [], os.write, os.fsync
    monkeypatch.setattr(os, "write", lambda *a: (done.append("write"), real_write(*a))[1])
    monkeypatch.setattr(os, "fsync", lambda *a: (done.append("sync"), real_sync(*a))[1])
    append(tmp_path / "log", [GAP, WET])
    assert done == ["write", "sync", "sync"]
    append(tmp_path / "log", [GAP])
    assert done[3:] == ["write", "sync"]


def test_a_full_disk_is_said_and_loses_nothing(tmp_path, monkeypatch):
    path, real_write = tmp_path / "log", os.write
    append(path, [GAP])
    monkeypatch.setattr(os, "write", lambda file, data: real_write(file, data[:40]))
    with pytest.raises(ShrinkageError, match=r"only part of it .* what was there is kept"):
        append(path, [WET])
    monkeypatch.undo()
    append(path, [WET])
    entries, problems = read(path)
    assert entries == [GAP, WET] and len(problems) == 1


def test_files_that_cannot_be(tmp_path):
    with pytest.raises(ShrinkageError, match="no such file; accepted: a site log"):
        read(tmp_path / "none")
    for work in (lambda: read(tmp_path), lambda: append(tmp_path, [GAP]),
                 lambda: append(tmp_path / "no" / "log", [GAP])):  # fmt: skip
        with pytest.raises(ShrinkageError, match=r"cannot be (read|written)"):
            work()


def test_the_log_lies_beside_the_job():
    assert log_path("jobs/mine.toml") == Path("jobs/mine.site.jsonl")


def test_twice_the_same_and_twice_another(tmp_path):
    copy, other = replace(GAP, source="b row 9"), replace(GAP, value=15.0, as_written="15 mm")
    kept, problems = sort_out([GAP, copy, other, replace(other, reading=2), WET])
    assert kept == [GAP, replace(other, reading=2), WET]
    assert problems[0] == (
        "b row 9: gap at south 1, top on 2027-06-01 given twice: 9/16 in; set aside "
        "(first: a row 2)"
    )
    assert "is 15 mm here and 9/16 in before" in problems[1]
    assert "mark it as reading 2 if both are right" in problems[1]
    assert sort_out([copy, WET], known=[GAP])[0] == [WET]
    path = tmp_path / "log"
    append(path, [GAP, copy])
    entries, problems = read(path)
    assert entries == [GAP] and "given twice" in problems[0]


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"kind": "length"}, "kind 'length'; accepted: gap, moisture, width, depth"),
        ({"place": " "}, "place is empty"),
        ({"value": -0.1}, "gap -0.1 mm; accepted: 0 to"),
        ({"value": 1e9}, "accepted: 0 to 100000 mm"),
        ({"value": float("nan")}, "gap nan mm"),
        ({"kind": "depth", "value": 0.0}, "depth 0 mm; accepted: above 0"),
        ({"kind": "moisture", "value": 300.0}, "moisture 300 %; accepted"),
        ({"error": -1.0}, "error -1 mm"),
        ({"temperature": 700.0}, "wood temperature 700 C; accepted: -60 to 80 C"),
        ({"reading": 0}, "reading 0; accepted: 1 or more"),
    ],
)
def test_readings_that_cannot_be(change, named):
    with pytest.raises(ShrinkageError, match=named):
        replace(GAP, **change)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"value": "9"}, "value of the wrong kind"),
        ({"reading": True}, "reading of the wrong kind"),
        ({"colour": "red"}, "colour not known"),
        ({"value": None}, "value missing"),
        ({"unit": "in"}, "unit 'in'; accepted: mm"),
        ({"day": "yesterday"}, "day is no date"),
        ({"value": 10**400}, "beyond all bounds"),
        ({"value": -3.0}, "gap -3 mm; accepted"),
    ],
)
def test_lines_that_are_no_reading_are_named(tmp_path, change, named):
    path = tmp_path / "log"
    append(path, [GAP])
    raw = json.loads(path.read_text()) | change
    raw = {key: value for key, value in raw.items() if value is not None or key == "temperature"}
    path.write_text(json.dumps(raw) + "\n[1]\n" + "[" * 100_000 + "\n")
    append(path, [WET])
    entries, problems = read(path)
    assert entries == [WET] and len(problems) == 3
    assert problems[0].startswith(f"{path} line 1: ") and named in problems[0]


def test_held_against_a_log(tmp_path):
    path = tmp_path / "log"
    new = replace(GAP, place="north 1, top")
    assert compare([GAP], path) == Compared((), (GAP,), (), ())
    append(path, [GAP, WET])
    against = replace(WET, value=20.0, as_written="20 %", source="b row 4")
    held = compare([GAP, new, against], path)
    assert (held.logged, held.new, held.again) == ((GAP, WET), (new,), (GAP,))
    assert len(held.problems) == 1 and "is 20 % here and 31.5 % before" in held.problems[0]


def test_role_of_a_piece():
    assert (WET.role, replace(WET, place="sill").role) == ("post", "sill")
    assert set(site_log.UNITS) == set(site_log.KINDS) == set(site_log.MOST)
