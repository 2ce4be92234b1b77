"""Studies of many variants: right rows, any executor, interrupted and resumed."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import pandas as pd
import pytest

from shrinkage import sweep as sw
from shrinkage.__main__ import main
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import check_job
from shrinkage.order import order
from shrinkage.progress import Bar
from shrinkage.whatif import widest_of_each_kind

VARY = {"timber.*.heart": ["boxed", "unknown"], "eave.pitch": ["8 in 12", "12 in 12"],
        "air.place": ["Madison, WI", "Phoenix, AZ", "Nowhere, ZZ"]}  # fmt: skip


@pytest.fixture
def study(raw):
    return sw.Study(raw, VARY)


def test_every_combination_once(study):
    assert len(study) == 12
    found = [tuple(study.variant(number).values()) for number in range(12)]
    assert len(set(found)) == 12
    assert found[1] == ("boxed", "8 in 12", "Phoenix, AZ")
    assert list(study.variant(0)) == list(VARY)


def test_rows_are_the_order_s(study, tmp_path):
    table = sw.read(sw.sweep(study, tmp_path / "t.csv", batch=5))
    assert sorted(set(table["variant"])) == list(range(12))
    number = 7
    values = study.variant(number)
    answer = order(check_job(sw.changed(study.raw, values)))
    rows = table[table["variant"] == number].set_index("kind")
    for one in widest_of_each_kind(answer):
        row = rows.loc[one.joint.kind]
        assert row["gap_mm"] == pytest.approx(one.gap, abs=1e-3)
        assert row["governs"] == one.governs.name and row["joint"] == one.joint.name
        assert row["timber.*.heart"] == values["timber.*.heart"]


def test_refused_variants_say_why(study, tmp_path):
    table = sw.read(sw.sweep(study, tmp_path / "t.csv"))
    wrong = table[table["air.place"] == "Nowhere, ZZ"]
    assert len(wrong) == 4 and wrong["error"].str.contains("Nowhere, ZZ").all()
    assert wrong["gap_mm"].isna().all()
    assert table[table["air.place"] != "Nowhere, ZZ"]["error"].isna().all()


def test_chance_of_touching_comes_along(raw, tmp_path):
    study = sw.Study(raw, {"timber.*.heart": ["boxed", "unknown"]}, draws=256)
    table = sw.read(sw.sweep(study, tmp_path / "t.csv"))
    eave = table[table["kind"] == "eave"]
    assert (eave["gap_certain_mm"] > 5).all() and eave["short"].between(0, 1).all()


def test_several_keys_move_together(raw):
    keys = "timber.plate.section+timber.post.section"
    study = sw.Study(raw, {keys: ["9 in x 9 in", "5 in x 5 in"]})
    new = sw.changed(study.raw, study.variant(1))
    assert new["timber"]["plate"]["section"] == new["timber"]["post"]["section"] == "5 in x 5 in"
    assert raw["timber"]["plate"]["section"] == "7-1/2 in x 7-1/2 in"


@pytest.mark.parametrize("pool", [ThreadPoolExecutor, ProcessPoolExecutor])
def test_any_executor_gives_the_same_file(study, tmp_path, pool):
    alone = sw.sweep(study, tmp_path / "alone.csv", batch=3).read_bytes()
    with pool(2) as executor:
        together = sw.sweep(study, tmp_path / "pool.csv", executor, batch=3).read_bytes()
    assert together == alone


def test_dask_cluster(study, tmp_path):
    distributed = pytest.importorskip("dask.distributed")
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None,
                                 local_directory=tmp_path) as cluster,
        distributed.Client(cluster) as client,
    ):  # fmt: skip
        found = sw.sweep(study, tmp_path / "dask.csv", client.get_executor(), batch=3)
    assert found.read_bytes() == sw.sweep(study, tmp_path / "alone.csv", batch=3).read_bytes()


def test_parquet_holds_what_csv_holds(study, tmp_path):
    pytest.importorskip("pyarrow")
    csv = sw.read(sw.sweep(study, tmp_path / "t.csv", batch=5))
    parquet = sw.read(sw.sweep(study, tmp_path / "t.parquet", batch=5))
    assert list(csv.columns) == list(parquet.columns)
    for name in csv:
        if parquet[name].dtype == float or name == "variant":
            pd.testing.assert_series_equal(csv[name], parquet[name], check_dtype=False)
        else:
            assert list(csv[name].fillna("").astype(str)) == list(parquet[name].astype(str))


# --- interrupted ---


class Fails:
    """Works some parts, then the power goes."""

    def __init__(self, good: int) -> None:
        self.good = good
        self.asked: list[tuple[int, int]] = []

    def submit(self, fn, study, start, stop):
        if len(self.asked) == self.good:
            raise KeyboardInterrupt
        self.asked.append((start, stop))
        with ThreadPoolExecutor(1) as pool:
            return pool.submit(fn, study, start, stop)


def test_goes_on_where_it_was_interrupted(study, tmp_path):
    whole = sw.sweep(study, tmp_path / "whole.csv", batch=2).read_bytes()
    out = tmp_path / "t.csv"
    with pytest.raises(KeyboardInterrupt):
        sw.sweep(study, out, Fails(4), batch=2, ahead=1)
    kept = sorted((tmp_path / "t.csv.parts").glob("*.csv"))
    assert not out.exists() and 0 < len(kept) < 6
    rest = Fails(100)
    sw.sweep(study, out, rest, batch=2, ahead=1)
    assert len(rest.asked) == 6 - len(kept)
    assert out.read_bytes() == whole
    assert not (tmp_path / "t.csv.parts").exists()


def test_killed_and_resumed(workshop_path, tmp_path):
    """The process itself is stopped half-way; what it wrote is whole and is used."""
    pitches = ", ".join(f'"{n / 10:.1f} in 12"' for n in range(60, 160))
    text = f'job = "{workshop_path}"\n[vary]\n"eave.pitch" = [{pitches}]\n'
    (tmp_path / "study.toml").write_text(text + '"timber.*.heart" = ["boxed", "unknown", "flat"]\n')
    call = [sys.executable, "-m", "shrinkage", "sweep", str(tmp_path / "study.toml"), "-o",
            str(tmp_path / "t.csv"), "--batch", "10"]  # fmt: skip
    running = subprocess.Popen(call, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    parts = tmp_path / "t.csv.parts"
    for _ in range(400):
        if len(list(parts.glob("*.csv"))) >= 3 or running.poll() is not None:
            break
        time.sleep(0.05)
    os.kill(running.pid, signal.SIGKILL)
    running.wait()
    before = len(list(parts.glob("*.csv")))
    assert 3 <= before < 30 and not (tmp_path / "t.csv").exists()
    assert main(call[3:]) == 0
    table = sw.read(tmp_path / "t.csv")
    assert table["variant"].nunique() == 300 and table["error"].isna().all()


def test_parts_of_another_study_are_refused(study, raw, tmp_path):
    with pytest.raises(KeyboardInterrupt):
        sw.sweep(study, tmp_path / "t.csv", Fails(2), batch=2, ahead=1)
    other = sw.Study(raw, VARY | {"eave.pitch": ["10 in 12"]})
    with pytest.raises(ShrinkageError, match="parts of another study"):
        sw.sweep(other, tmp_path / "t.csv", batch=2)
    with pytest.raises(ShrinkageError, match="other batches"):
        sw.sweep(study, tmp_path / "t.csv", batch=3)


# --- mistakes ---


@pytest.mark.parametrize(
    ("vary", "message"),
    [({}, "nothing to vary"), ({"eave.pitch": []}, r"vary\.eave\.pitch: \[\]; accepted: a list"),
     ({"eave.pitch": "8 in 12"}, "accepted: a list"),
     ({"roof_thing.pitch": ["1"]}, "no table 'roof_thing'"),
     ({"timber.mast.heart": ["boxed"]}, "no table 'mast'"),
     ({"a": list(range(3000)), "b": list(range(3000))}, "variants; accepted: up to")],
)  # fmt: skip
def test_bad_studies_are_named(raw, vary, message):
    with pytest.raises(ShrinkageError, match=message):
        sw.Study(raw, vary)


def test_bad_files_are_named(study, tmp_path):
    with pytest.raises(ShrinkageError, match=r"accepted: \.csv or \.parquet"):
        sw.sweep(study, tmp_path / "t.xlsx")
    (tmp_path / "t.csv").write_text("mine")
    with pytest.raises(ShrinkageError, match="already there"):
        sw.sweep(study, tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_text() == "mine"


@pytest.mark.parametrize(
    ("text", "message"),
    [("[vary]\na=[1]", "job or \\[vary\\] is missing"), ('job = "x.toml"', "is missing"),
     ('job = "x.toml"\nextra = 1\n[vary]\na=[1]', "'extra'"), ("x = ", "not valid TOML"),
     ('job = "x.toml"\ndraws = 3\n[vary]\na=[1]', "draws 3; accepted: 0, or 16"),
     ('job = "none.toml"\n[vary]\na=[1]', "none.toml: no such file")],
)  # fmt: skip
def test_bad_study_files_are_named(tmp_path, text, message):
    (tmp_path / "s.toml").write_text(text)
    with pytest.raises(ShrinkageError, match=message):
        sw.read_study(tmp_path / "s.toml")


def test_missing_extra_is_one_line(study, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(ShrinkageError, match=r"pyarrow is not installed.*shrinkage\[sweep\]"):
        sw.sweep(study, tmp_path / "t.parquet")


def test_command_line(workshop_path, tmp_path, capsys):
    text = f'job = "{workshop_path}"\n[vary]\n"eave.pitch" = ["8 in 12", "10 in 12"]\n'
    (tmp_path / "s.toml").write_text(text)
    out = tmp_path / "t.csv"
    assert main(["sweep", str(tmp_path / "s.toml"), "-o", str(out), "--workers", "2"]) == 0
    assert "2 variants" in capsys.readouterr().out
    assert main(["sweep", str(tmp_path / "s.toml"), "-o", str(out)]) == 2
    assert "already there" in capsys.readouterr().err


def test_bar_keeps_quiet_for_two_seconds():
    said = io.StringIO()
    bar = Bar("drawing", said)
    bar(0.5)
    bar.done()
    assert said.getvalue() == ""
    bar.start -= 10
    bar(0.5)
    bar.done()
    assert said.getvalue() == "\rdrawing [###############...............]  50 %\n"


def test_parts_are_never_half_written(study, tmp_path):
    """A part under its passing name is not taken for a part."""
    with pytest.raises(KeyboardInterrupt):
        sw.sweep(study, tmp_path / "t.csv", Fails(1), batch=6, ahead=1)
    parts: Path = tmp_path / "t.csv.parts"
    (parts / "000000006.unfinished").write_text("half a li")
    table = sw.read(sw.sweep(study, tmp_path / "t.csv", batch=6))
    assert table["variant"].nunique() == 12
