"""Job, study and air files made wrong in thousands of ways: a refusal in a line, or a whole answer.

Every file is made from a seed and its number, so a failure can be made again: the number stands in
the message. ``MUTATIONS=100000`` looks at more of them.
"""

from __future__ import annotations

import csv
import io
import math
import os
import random
import re
import shutil
import signal
import tomllib
import traceback
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from mutations import NASTY, RAW, mutate, to_toml

from shrinkage.__main__ import main
from shrinkage.airseries import read_series, year_of
from shrinkage.errors import ShrinkageError
from shrinkage.export import write_order
from shrinkage.jobfile import read_job
from shrinkage.order import Order, order
from shrinkage.schedule import edge_table, panel_table
from shrinkage.study import read_study
from shrinkage.sweep import work
from shrinkage.tables import data_folder
from shrinkage.worksheet import worksheet

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
MANY = int(os.environ.get("MUTATIONS", "2100"))
FEWER = MANY // 7
CPU_S, WALL_S = 5.0, 120.0
"""A file that takes more processor time hangs; so does one that waits this long for anything."""
CHUNKS = 7


class Hang(BaseException):
    """Rung by the clock; no `except Exception` may swallow it."""


def _ring(number: int, frame: object) -> None:
    raise Hang


@contextmanager
def clock() -> Iterator[None]:
    """Stop what takes too long, by processor time: a busy machine must not look like a hang."""
    bells = (
        (signal.SIGPROF, signal.ITIMER_PROF, CPU_S),
        (signal.SIGALRM, signal.ITIMER_REAL, WALL_S),
    )
    before = [signal.signal(bell, _ring) for bell, _, _ in bells]
    for _, timer, seconds in bells:
        signal.setitimer(timer, seconds)
    try:
        yield
    finally:
        for (bell, timer, _), old in zip(bells, before, strict=True):
            signal.setitimer(timer, 0)
            signal.signal(bell, old)


def bases() -> list[dict[str, Any]]:
    """Return what is mutated: both examples, and a job with every table, mostly without dates."""
    paths = (data_folder() / "workshop.toml", data_folder() / "starter.toml",
             CORPUS / "every_section.toml")  # fmt: skip
    few, starter, full = (tomllib.loads(path.read_text(encoding="utf-8")) for path in paths)
    dateless = {key: value for key, value in full.items() if key not in ("calendar", "metered")}
    return [few, starter, dateless, dateless, full]


BASES = bases()


def base(number: int) -> dict[str, Any]:
    """Return the job a mutation starts from; one in twenty has dates, which take longest."""
    return BASES[4] if number % 20 == 7 else BASES[number % 4]


def numbers(answer: Order) -> Iterator[float]:
    """Yield every number of an answer."""
    for panel in answer.panels:
        yield from (panel.width, panel.height, panel.bevel)
        yield from (value for point in panel.outline for value in point)
        yield from (edge.off for edge in panel.edges.values())
        yield from (v for h in panel.cutouts for v in (h.left, h.foot, h.width, h.height))
    for one in answer.allowances:
        yield from (one.needed, one.off, one.gap, one.widest, one.closing, one.opening, one.swing)
        yield from (one.gap_dry, one.gap_wet, one.gap_foamed, one.gap_most, one.foam_strain)
        yield from (limit.needed for limit in one.limits)


def sound(answer: Order, number: int, folder: Path) -> None:
    """Assert that an answer is whole: every number finite, here and in the files written."""
    assert answer.panels and all(map(math.isfinite, numbers(answer)))
    assert all(min(panel.width, panel.height) > 0 for panel in answer.panels)
    texts = [table.to_csv(index=False) for table in (panel_table(answer), edge_table(answer))]
    if answer.frame.calendar is None or number % 3 == 0:
        texts.append(worksheet(answer))
    assert not any(re.search(r"(?i)(?<![\w.'])[-+]?(nan|inf)\b", text) for text in texts)
    assert len(list(csv.reader(io.StringIO(texts[0])))) == len(answer.panels) + 1
    if number % 25 == 0:
        write_order(answer, folder / "out", force=True)
        assert len(list((folder / "out").iterdir())) == 4


def refusal(error: ShrinkageError, path: Path) -> None:
    """Assert that a refusal can be read: it names the file, in a line or few, plainly."""
    lines = error.message.splitlines()
    assert str(path) in lines[0] and len(lines) <= 21
    assert all(line.strip() and len(line) < 2000 for line in lines)
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", error.message)


def look(numbers_: range, make: Callable[[int], bytes], path: Path, use: Callable[[int], Any],
         check: Callable[[Any, int], None] = lambda _answer, _number: None) -> int:  # fmt: skip
    """Use a file made wrong for each number; return how many were answered.

    An answer and what is checked of it, files written included, each have the whole of the time.
    """
    answered, failures = 0, []
    for number in numbers_:
        path.write_bytes(make(number))
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", RuntimeWarning)
                with clock():
                    answer = use(number)
                with clock():
                    check(answer, number)
            answered += 1
        except ShrinkageError as error:
            try:
                refusal(error, path)
            except AssertionError:
                failures.append(f"{number}: message {error.message[:300]!r}")
        except (Exception, Hang):
            last = traceback.format_exc().splitlines()
            failures.append(f"{number}: " + " | ".join(last[-5:]))
    assert not failures, f"{len(failures)} of {len(numbers_)}:\n" + "\n".join(failures[:20])
    return answered


def test_what_is_mutated_is_sound_as_it_stands(tmp_path):
    shutil.copy(CORPUS / "air.csv", tmp_path)
    for number, tree in enumerate(BASES):
        assert tomllib.loads(to_toml(tree)) == tree
        path = tmp_path / "job.toml"
        path.write_text(to_toml(tree), encoding="utf-8")
        sound(order(read_job(path)), number, tmp_path)


def test_every_table_of_a_job_file_is_in_what_is_mutated():
    from shrinkage.jobfile import accepted_keys

    tables = ("air", "calendar", "eave", "corner", "foot", "panel", "foam", "holddown", "allow",
              "spread", "sheet")  # fmt: skip
    for table in tables:
        assert set(BASES[4][table]) >= set(accepted_keys((table,))) - {
            "place",
            "rated",
            "rated_source",
        }


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_job_files(chunk, tmp_path):
    shutil.copy(CORPUS / "air.csv", tmp_path)
    path = tmp_path / "job.toml"
    mine = range(chunk * MANY // CHUNKS, (chunk + 1) * MANY // CHUNKS)
    answered = look(
        mine, lambda number: mutate(base(number), f"job {number}"), path,
        lambda _: order(read_job(path)), lambda answer, number: sound(answer, number, tmp_path),
    )  # fmt: skip
    # Both ways are trodden: mutations so rough that nothing is answered would prove little.
    assert 0.05 * len(mine) < answered < 0.9 * len(mine)
    assert {p.name for p in tmp_path.iterdir()} <= {"air.csv", "job.toml", "out"}


STUDY = {
    "job": "job.toml",
    "draws": 0,
    "vary": {
        "eave.pitch": ["8 in 12", "10 in 12"],
        "timber.*.heart": ["boxed", "flat"],
        "timber.plate.section+timber.post.section": ["8 x 8 in"],
        "foam.works": ["10 %"],
    },
}


def test_study_files(tmp_path):
    shutil.copy(data_folder() / "starter.toml", tmp_path / "job.toml")
    path = tmp_path / "study.toml"

    def use(number: int) -> None:
        study = read_study(path)
        assert study.mark
        for row in work(study, 0, min(len(study), 3)):
            shown = [value for value in row.values() if isinstance(value, float)]
            assert row["error"] or all(map(math.isfinite, shown))

    answered = look(range(FEWER), lambda number: mutate(STUDY, f"study {number}"), path, use)
    assert 0.05 * FEWER < answered < 0.9 * FEWER


def air(number: int) -> bytes:
    """Return a series of air made wrong: cells, rows, headers, bytes."""
    rng = random.Random(f"air {number}")
    rows = list(csv.reader(io.StringIO((CORPUS / "air.csv").read_text(encoding="utf-8"))))
    for _ in range(rng.choice((1, 1, 2, 5))):
        row = rng.randrange(len(rows))
        way = rng.randrange(7)
        if way < 3:
            rows[row][rng.randrange(3)] = str(rng.choice((*NASTY, *RAW, "1e5", "-8,5", "7e-320")))
        elif way == 3:
            del rows[row][rng.randrange(3) :]
            rows[row] += ["", "x", "1"][: rng.randrange(4)] + [""] * (3 - len(rows[row]))
        elif way == 4:
            rows.insert(row, rows[rng.randrange(len(rows))][:])
        elif way == 5:
            rows[row] = rows[row][::-1]
        else:
            rows[row][1:] = [f"{rng.uniform(-70, 120):.3g}", f"{rng.uniform(-10, 120):.3g}"]
    text = io.StringIO()
    csv.writer(text, lineterminator=rng.choice(("\n", "\r\n", "\r"))).writerows(rows)
    data = bytearray(
        text.getvalue().encode(rng.choice(("utf-8", "utf-8-sig", "utf-16")), "replace")
    )
    for _ in range(rng.choice((0, 0, 0, 3))):
        data[rng.randrange(len(data))] = rng.randrange(256)
    return bytes(data[: rng.choice((len(data), len(data), rng.randrange(len(data)))) or 1])


def test_air_files(tmp_path):
    path = tmp_path / "air.csv"

    def use(number: int) -> None:
        year = year_of(read_series(path), str(path))
        assert all(map(math.isfinite, (*year.emc, *year.temp, *year.rh)))

    assert 0 < look(range(FEWER), air, path, use) < FEWER


@pytest.mark.parametrize("kind", ["zeros", "keys", "text", "comment"])
def test_files_of_50_megabytes_are_refused_unread(kind, tmp_path, capsys):
    path = tmp_path / "big.toml"
    piece = {"zeros": b"\0" * 50, "keys": b"a = 1\n" * 9, "text": b'a = """' + b"x" * 43,
             "comment": b"# " + b"x" * 48}[kind]  # fmt: skip
    with path.open("wb") as file:
        for _ in range(1000):
            file.write(piece * 1000)
    with clock():
        assert main(["order", str(path), "-o", str(tmp_path / "out")]) == 2
        assert main(["sweep", str(path), "-o", str(tmp_path / "t.csv")]) == 2
    assert capsys.readouterr().err.count("over 200 kB") == 2
    assert list(tmp_path.iterdir()) == [path]


DENSE = {
    "keys": "".join(f"k{n} = 1\n" for n in range(19_000)),
    "tables": "[[wall]]\nname = 3\n" * 11_000,
    "header of spaces": f"[x{' ' * 190_000}.y]\n",
    "text of spaces": f'x = """\n[{" " * 190_000}\n"""\n',
    "section of spaces": f'[timber]\npost = {{section = "6{" " * 190_000}y 8 in"}}\n',
    "curve": "[foam]\ncurve = [" + '["1 %", "1 kPa"],' * 10_000 + "]\n",
    "lengths": '[[wall]]\ndivide = [' + '"1 in",' * 25_000 + "]\n",
    "long key": "a" * 190_000 + " = 1\n",
    "dotted key": ".".join("a" * 900) + " = 1\n",
    "brackets": "x = " + "[" * 90_000,
}  # fmt: skip


@pytest.mark.parametrize("kind", DENSE)
def test_dense_files_are_refused_soon(kind, tmp_path):
    path = tmp_path / "job.toml"
    look(range(1), lambda _: DENSE[kind].encode(), path, lambda _: order(read_job(path)))


@pytest.mark.parametrize("key", ["job file", "series", "job of a study"])
def test_what_is_no_file_is_not_read(key, tmp_path):
    """A device has no end, and a pipe nobody writes to has no beginning."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    path = tmp_path / "job.toml"
    for odd in ("/dev/zero", str(pipe), str(tmp_path)):
        text = {"job file": "", "series": f'[air]\nseries = "{odd}"\n',
                "job of a study": f'job = "{odd}"\n[vary]\nx = [1]\n'}[key]  # fmt: skip
        job = (data_folder() / "starter.toml").read_text(encoding="utf-8")
        place = next(line for line in job.splitlines() if line.startswith("place ="))
        path.write_text(job.replace(place, f'series = "{odd}"') if key == "series" else text)
        with clock(), pytest.raises(ShrinkageError, match=re.escape(odd)):
            if key == "job of a study":
                read_study(path)
            else:
                order(read_job(odd if key == "job file" else path))
