"""Killed at any moment, or out of room: the old files or the new ones, whole, and a way on."""

from __future__ import annotations

import os
import random
import re
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import openpyxl
import pytest

from shrinkage import export
from shrinkage.__main__ import main
from shrinkage.tables import data_folder

ROOT = Path(__file__).resolve().parents[2]
CODE = "import sys; from shrinkage.__main__ import main; sys.exit(main(sys.argv[1:]))"
KILLS = {"order": 8, "page": 6, "sheets": 4, "review": 3}
"""Of each command, spread over the time it takes; fewer of the slow ones."""


def start(*words: object, code: str = CODE, **how: object) -> subprocess.Popen[str]:
    env = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    call = [sys.executable, "-c", code, *map(str, words)]
    return subprocess.Popen(call, env=env, text=True, stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, **how)  # fmt: skip


def files(folder: Path) -> dict[str, bytes]:
    """Return what a reader sees: hidden drafts are not part of it."""
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.startswith(".")}


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text((data_folder() / "starter.toml").read_text(encoding="utf-8"), encoding="utf-8")
    return path


COMMANDS = {
    "order": ("order", "out", 4), "sheets": ("sheets", "out", 4), "page": ("page", "out/p.html", 1)
}  # fmt: skip
KILLED = COMMANDS | {"review": ("review", "out", 2)}


@pytest.mark.parametrize("kind", KILLED)
def test_killed_at_any_moment(kind, job, tmp_path):
    command, target, count = KILLED[kind]
    job.write_text(job.read_text() + "\n[spread]\ndraws = 64\n")
    out = tmp_path / "out"
    out.mkdir()
    words = (command, job, "-o", tmp_path / target, "--force")
    began = time.monotonic()
    assert start(*words).wait() == 0
    took = time.monotonic() - began
    names = set(files(out))
    assert len(names) == count
    for path in out.iterdir():
        path.write_bytes(b"old")
    rng, killed = random.Random(kind), 0
    for number in range(KILLS[kind]):
        running = start(*words)
        # The last third is when files are written; the first is mostly imports.
        time.sleep(took * (0.3 + 0.7 * (number + rng.random()) / KILLS[kind]))
        running.send_signal(signal.SIGKILL)
        killed += running.wait() == -signal.SIGKILL
        running.communicate()
        found = files(out)
        assert set(found) == names
        old = [data == b"old" for data in found.values()]
        assert all(old) or not any(old)
        if not any(old) and "schedule.xlsx" in names:
            openpyxl.load_workbook(out / "schedule.xlsx")
    assert killed
    assert main([str(word) for word in words]) == 0
    assert set(files(out)) == names and b"old" not in files(out).values()
    assert not (out / export.READY).exists()


@pytest.mark.parametrize("after", range(6))
def test_killed_between_two_renames_is_finished_by_the_next_run(after, job, tmp_path):
    """Every rename of a run: up to the first nothing is new, from then on all of it will be."""
    out = tmp_path / "out"
    assert main(["order", str(job), "-o", str(out), "--units", "metric"]) == 0
    metric = files(out)
    code = f"""
import os, signal
from itertools import count
real, made = os.replace, count()
def replace(*args):
    if next(made) == {after}:
        os.kill(os.getpid(), signal.SIGKILL)
    real(*args)
os.replace = replace
{CODE}"""
    running = start("order", job, "-o", out, "--force", code=code)
    running.communicate()
    assert running.returncode == (-signal.SIGKILL if after < 5 else 0)
    # The next run tidies first; without --force it then refuses to write over what is there.
    assert main(["order", str(job), "-o", str(out)]) == 2
    found = files(out)
    if after == 0:
        assert found == metric
    else:
        same = {name for name in metric if found[name] == metric[name]}
        assert set(found) == set(metric) and same == {"edges.csv"}  # which is in mm in either


def test_an_old_draft_is_removed_and_a_young_one_is_not(job, tmp_path):
    out = tmp_path / "out"
    old, young = (out / f"{export.DRAFT}{name}" for name in ("old", "young"))
    for draft in (old, young):
        draft.mkdir(parents=True)
        (draft / "schedule.csv").write_text("half a li")
    os.utime(old, (0, 0))
    assert main(["order", str(job), "-o", str(out)]) == 0
    assert young.exists() and not old.exists()
    assert len(files(out)) == 4


def test_sweep_killed_while_it_tidies_leaves_nothing_for_another_study(job, tmp_path):
    """The note that says whose parts they are goes last."""
    study = tmp_path / "s.toml"
    study.write_text(
        'job = "job.toml"\n[vary]\n"eave.pitch" = ["8 in 12", "9 in 12", "10 in 12"]\n'
    )
    code = f"""
import os, signal
from pathlib import Path
real = Path.unlink
def unlink(path, *a, **k):
    real(path, *a, **k)
    if path.parent.name == "t.csv.parts" and path.suffix == ".csv":
        os.kill(os.getpid(), signal.SIGKILL)
Path.unlink = unlink
{CODE}"""
    words = ("sweep", study, "-o", tmp_path / "t.csv", "--batch", 1, "--force")
    running = start(*words, code=code)
    running.communicate()
    assert running.returncode == -signal.SIGKILL
    whole = (tmp_path / "t.csv").read_bytes()
    other = tmp_path / "other.toml"
    other.write_text('job = "job.toml"\n[vary]\n"eave.pitch" = ["2 in 12", "3 in 12", "4 in 12"]\n')
    assert main(["sweep", str(other), *map(str, words[2:])]) == 2
    assert main([str(word) for word in words]) == 0
    assert (tmp_path / "t.csv").read_bytes() == whole
    assert not (tmp_path / "t.csv.parts").exists()


def test_sweep_killed_while_its_note_is_written_goes_on(job, tmp_path):
    study = tmp_path / "s.toml"
    study.write_text('job = "job.toml"\n[vary]\n"eave.pitch" = ["8 in 12", "9 in 12"]\n')
    parts = tmp_path / "t.csv.parts"
    parts.mkdir()
    (parts / "study.json.unfinished").write_text('{"study": "12')
    assert main(["sweep", str(study), "-o", str(tmp_path / "t.csv")]) == 0
    assert not parts.exists()


LIMITED = 3000
"""Largest file a run may write in the next test [bytes]: most files of an order are larger."""


def no_room() -> None:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # the write fails instead of the process
    resource.setrlimit(resource.RLIMIT_FSIZE, (LIMITED, LIMITED))


@pytest.mark.parametrize("kind", [*COMMANDS, "review", "sweep"])
def test_no_room_is_one_line(kind, job, tmp_path):
    if kind == "sweep":
        study = tmp_path / "s.toml"
        pitches = ", ".join(f'"{n} in 12"' for n in range(3, 23))
        study.write_text(f'job = "job.toml"\n[vary]\n"eave.pitch" = [{pitches}]\n')
        words: tuple[object, ...] = ("sweep", study, "-o", tmp_path / "t.csv")
    elif kind == "review":
        job.write_text(job.read_text() + "\n[spread]\ndraws = 64\n")
        words = ("review", job, "--html", "-o", tmp_path / "out")
    else:
        words = (COMMANDS[kind][0], job, "-o", tmp_path / COMMANDS[kind][1])
    running = start(*words, preexec_fn=no_room)
    _, said = running.communicate()
    bars = r"\w+ \[[#.]+\] +\d+ %"  # there where the machine is slow
    lines = [line for line in said.splitlines() if line and not re.fullmatch(bars, line)]
    assert running.returncode == 2, said
    assert len(lines) == 1 and "cannot be written: File too large" in lines[0], said
    out = tmp_path / "out"
    assert not out.exists() or not list(out.iterdir())
    assert not (tmp_path / "t.csv").exists() and not (tmp_path / "t.csv.unfinished").exists()


@pytest.mark.parametrize("kind", [*COMMANDS, "sweep"])
def test_a_folder_one_may_not_write_in_is_one_line(kind, job, tmp_path):
    for path in (tmp_path, *tmp_path.parents):
        if path.stat().st_uid == os.getuid() and path != Path("/") and path != Path("/tmp"):
            path.chmod(0o755)
    shut = tmp_path / "out"
    shut.mkdir(mode=0o555)
    command, target, _ = COMMANDS.get(kind, ("sweep", "out/t.csv", 1))
    study = tmp_path / "s.toml"
    study.write_text('job = "job.toml"\n[vary]\n"eave.pitch" = ["8 in 12"]\n')
    given = study if kind == "sweep" else job
    # A run of its own first loads all there is to load: nobody may read where it is installed.
    code = f"""
import contextlib, io, os, sys
from shrinkage.__main__ import main
with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
    assert main([*sys.argv[1:3], "-o", {str(tmp_path / "warm" / Path(target).name)!r}]) == 0
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
{CODE}"""
    running = start(command, given, "-o", tmp_path / target, code=code)
    _, said = running.communicate()
    assert running.returncode == 2, said
    assert said.count("\n") == 1 and "cannot be written: Permission denied" in said
    assert not list(shut.iterdir())
