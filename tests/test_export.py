"""Files to hand over: all or none, nothing replaced unasked, nothing a spreadsheet would run."""

from __future__ import annotations

import csv

import openpyxl
import pandas as pd
import pytest
from numpy.testing import assert_allclose

from shrinkage import export
from shrinkage.errors import ShrinkageError
from shrinkage.export import safe, write_all, write_order
from shrinkage.schedule import CAUTIONS
from shrinkage.workbook import ORDER_COLUMNS

FILES = ["edges.csv", "schedule.csv", "schedule.xlsx", "worksheet.md"]
TENTH = 0.051
"""[mm] Half the last digit of the millimetre columns."""


def listing(folder):
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture(scope="module")
def written(workshop_order, tmp_path_factory):
    folder = tmp_path_factory.mktemp("order")
    write_order(workshop_order, folder)
    return folder


def test_all_files_and_nothing_else(written, workshop_order):
    assert listing(written) == FILES


def test_folder_is_made(workshop_order, tmp_path):
    paths = write_order(workshop_order, tmp_path / "a" / "b")
    assert sorted(p.name for p in paths) == FILES
    assert all(p.is_file() for p in paths)


def test_csv_reads_back(written, workshop_order):
    with (written / "schedule.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["panel"] for row in rows] == [p.mark for p in workshop_order.panels]
    for row, panel in zip(rows, workshop_order.panels, strict=True):
        assert_allclose(float(row["order_width_mm"]), panel.width, rtol=0, atol=TENTH)
        assert_allclose(float(row["top_off_mm"]), panel.edges["top"].off, rtol=0, atol=TENTH)
    with (written / "edges.csv").open(newline="", encoding="utf-8") as stream:
        assert len(list(csv.DictReader(stream))) == 4 * len(rows)


def test_workbook_opens_and_holds_the_order(written, workshop_order):
    book = openpyxl.load_workbook(written / "schedule.xlsx")
    assert book.sheetnames[0] == "Order"
    assert {"Edges", "Joints", "Assumptions", "Cautions"} <= set(book.sheetnames)
    sheet = book["Order"]
    assert sheet["A1"].value == workshop_order.frame.job.title
    head = [cell.value for cell in sheet[3]]
    # Only columns with something in them: the example has no notes.
    words = [name.replace("_mm", ", mm").replace("_", " ") for name in ORDER_COLUMNS]
    assert head == [name for name in words if name != "notes"]
    for number, panel in enumerate(workshop_order.panels, start=4):
        row = dict(zip(head, (cell.value for cell in sheet[number]), strict=True))
        assert row["panel"] == panel.mark
        assert_allclose(row["order width, mm"], panel.width, rtol=0, atol=TENTH)
    column = [cell.value for cell in sheet["A"]]
    assert all(caution in column for caution in CAUTIONS)
    assert sheet.freeze_panes == "B4"
    assert book["Joints"].max_row == len(workshop_order.allowances) + 1
    assert [cell.value for cell in book["Cautions"]["A"]][1:] == list(CAUTIONS)


def test_workbook_has_no_formulas(raw, answered, tmp_path):
    raw["title"] = "=SUM(A1:A9)"
    raw["wall"][0]["name"] = "=1+1"
    raw["wall"][1]["name"] = "@north"
    raw["wall"][0]["opening"][0]["name"] = "=cmd|' /C calc'!A0"
    raw["roof"][0]["name"] = "-2+3"
    raw["foam"] = {"name": "+foam", "source": "=HYPERLINK(1)"}
    write_order(answered(raw), tmp_path)
    book = openpyxl.load_workbook(tmp_path / "schedule.xlsx")
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [cell.value for cell in cells if cell.data_type == "f"]
    texts = [cell.value for cell in cells if isinstance(cell.value, str)]
    assert any(text.startswith("'=1+1") for text in texts)
    for name in ("schedule.csv", "edges.csv"):
        with (tmp_path / name).open(newline="", encoding="utf-8") as stream:
            for row in csv.reader(stream):
                assert not [c for c in row if c[:1] in ("=", "+", "@")]
                assert not [c for c in row if c[:1] == "-" and not c[1:].replace(".", "").isdigit()]


@pytest.mark.parametrize("text", ["=1", "+1", "-1", "@a", "\t=1", "\r=1"])
def test_risky_text_is_marked_and_numbers_are_not(text):
    table = safe(pd.DataFrame({"a": [text, "plain", ""], "b": [-1.5, 2.0, None]}))
    assert list(table["a"]) == ["'" + text, "plain", ""]
    assert list(table["b"][:2]) == [-1.5, 2.0]


def fill(folder):
    before = {}
    for name in FILES:
        (folder / name).write_bytes(b"mine: " + name.encode())
        before[name] = (folder / name).read_bytes()
    return before


def content(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize("name", FILES)
def test_one_file_there_keeps_all_from_being_written(workshop_order, tmp_path, name):
    (tmp_path / name).write_bytes(b"mine")
    with pytest.raises(ShrinkageError, match=f"{name} already there; accepted: .*--force"):
        write_order(workshop_order, tmp_path)
    assert content(tmp_path) == {name: b"mine"}


def test_force_replaces_and_leaves_other_files(workshop_order, tmp_path):
    fill(tmp_path)
    (tmp_path / "notes.txt").write_bytes(b"mine")
    write_order(workshop_order, tmp_path, force=True)
    assert listing(tmp_path) == sorted([*FILES, "notes.txt"])
    assert (tmp_path / "notes.txt").read_bytes() == b"mine"
    assert b"mine" not in (tmp_path / "worksheet.md").read_bytes()


@pytest.mark.parametrize("broken", ["panel_table", "edge_table", "write_workbook", "worksheet"])
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), MemoryError()])
@pytest.mark.parametrize("there", [False, True])
def test_crash_in_the_middle_changes_nothing(
    workshop_order, tmp_path, monkeypatch, broken, error, there
):
    before = fill(tmp_path) if there else {}

    def fails(*_args):
        raise error

    monkeypatch.setattr(export, broken, fails)
    with pytest.raises((ShrinkageError, OSError, MemoryError)):
        write_order(workshop_order, tmp_path, force=True)
    assert content(tmp_path) == before


def test_full_disk_is_named(tmp_path):
    def fails(path):
        path.write_text("half")
        raise OSError(28, "No space left on device")

    with pytest.raises(ShrinkageError, match="cannot be written: No space left on device"):
        write_all(tmp_path, {"a": lambda p: p.write_text("whole"), "b": fails})
    assert listing(tmp_path) == []


def test_a_folder_in_the_place_of_a_file_stops_all(tmp_path):
    (tmp_path / "b").mkdir()
    (tmp_path / "a").write_text("mine")
    writers = {name: lambda p: p.write_text("new") for name in "ab"}
    with pytest.raises(ShrinkageError, match="b is a folder there"):
        write_all(tmp_path, writers, force=True)
    assert (tmp_path / "a").read_text() == "mine"


def test_out_that_is_a_file(workshop_order, tmp_path):
    (tmp_path / "out").write_text("mine")
    with pytest.raises(ShrinkageError, match="cannot be written"):
        write_order(workshop_order, tmp_path / "out")
    assert (tmp_path / "out").read_text() == "mine"


def test_metric_words_in_the_files(workshop_order, tmp_path):
    write_order(workshop_order, tmp_path, "metric")
    with (tmp_path / "schedule.csv").open(newline="", encoding="utf-8") as stream:
        assert next(csv.DictReader(stream))["order_width"] == "1143 mm"
    assert "31.8 mm" in (tmp_path / "worksheet.md").read_text(encoding="utf-8")
