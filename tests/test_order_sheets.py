"""Order sheets read back: a page a wall, its sizes, its gaps, the user's own title block."""

from __future__ import annotations

import pypdf
import pytest

from shrinkage.elevation import panels_of, places
from shrinkage.errors import ShrinkageError
from shrinkage.handover import write_sheets
from shrinkage.order_sheets import HEAD, _rows, write_order_sheets
from shrinkage.paper import LEAD, Grid, cut, grid, size_for, width_of, wrapped
from shrinkage.units import show

SHEET = {"firm": "Invented Framers", "call": "the office", "date": "2027-03-01", "drawn_by": "AB"}


def read(path):
    return [page.extract_text() for page in pypdf.PdfReader(path).pages]


def listing(folder):
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture(scope="module")
def sheets(workshop_order, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheets") / "s.pdf"
    assert write_order_sheets(workshop_order, path) == 6
    return read(path)


def test_one_page_a_wall_with_its_sizes_and_gaps(sheets, workshop_order):
    assert len(sheets) == len(places(workshop_order)) == 6
    gaps = {a.joint.name: show(a.gap) for a in workshop_order.allowances}
    for text, (place, title) in zip(sheets, places(workshop_order).items(), strict=True):
        assert title in text
        for panel in panels_of(workshop_order, place):
            assert panel.mark in text and show(panel.width) in text
            assert show(panel.left_height) in text
        top = next(n for n in (f"{place}, top", f"{place}, ridge") if n in gaps)
        assert gaps[top] in text


def test_list_holds_the_sizes_to_order(workshop_order):
    panels = panels_of(workshop_order, "east")
    for row, panel in zip(_rows(workshop_order, panels, "imperial"), panels, strict=True):
        named = dict(zip(HEAD, row, strict=True))
        assert named["order width"] == show(panel.width)
        assert named["height left"] == show(panel.left_height)
        assert named["height right"] == show(panel.right_height)
        assert named["off top"] == show(panel.edges["top"].off)
        assert named["off right"] == show(panel.edges["right"].off)


def test_page_size_follows_the_system(workshop_order, tmp_path):
    for system, wide in (("imperial", 17 * 72), ("metric", 420 / 25.4 * 72)):
        path = tmp_path / f"{system}.pdf"
        write_order_sheets(workshop_order, path, system)
        assert abs(float(pypdf.PdfReader(path).pages[0].mediabox.width) - wide) < 1
        assert ("mm" in read(path)[0]) == (system == "metric")


def test_title_block_is_the_users_own(raw, answered, tmp_path):
    raw["sheet"] = SHEET
    write_order_sheets(answered(raw), tmp_path / "s.pdf")
    for text in read(tmp_path / "s.pdf"):
        assert all(value in text for value in SHEET.values())
        assert "drawn by" in text


def test_sheet_keys_are_checked(raw, answered):
    raw["sheet"] = {"frim": "x"}
    with pytest.raises(ShrinkageError, match=r"sheet\.frim: no such key \(did you mean firm\?\)"):
        answered(raw)


def test_a_bare_date_is_read(raw, answered):
    from datetime import date

    raw["sheet"] = {"date": date(2027, 3, 1)}
    assert answered(raw).frame.job.sheet.date == "2027-03-01"


def test_long_list_goes_on_overleaf(raw, answered, tmp_path):
    raw["wall"][1] |= {"length": "290 ft"}
    order = answered(raw)
    pages = write_order_sheets(order, tmp_path / "s.pdf")
    texts = read(tmp_path / "s.pdf")
    assert pages == len(texts) > 6
    assert "The list goes on overleaf" in texts[1] and "continued" in texts[2]
    marks = [panel.mark for panel in panels_of(order, "north")]
    on = "\n".join(text for text in texts if "north" in text)
    assert len(marks) > 60 and all(mark in on for mark in marks)


@pytest.mark.filterwarnings("error")
def test_odd_names_break_nothing(raw, answered, tmp_path):
    raw["title"] = "$x^2_{$ \\frac{ % & <b>"
    raw["wall"][0]["name"] = "W" * 80
    raw["wall"][1]["name"] = "木造 \\alpha $ %%u é"
    raw["wall"][0]["opening"][0]["name"] = "=1+1 {}"
    raw["sheet"] = {key: "x " * 39 for key in SHEET}
    assert write_order_sheets(answered(raw), tmp_path / "s.pdf") >= 6
    assert "$x^2_{" in read(tmp_path / "s.pdf")[0]


def test_write_sheets_writes_all_or_none(workshop_order, tmp_path):
    names = ["crew_card.pdf", "order_sheets.pdf", "outlines.dxf", "pocket_table.pdf"]
    paths = write_sheets(workshop_order, tmp_path / "o")
    assert sorted(p.name for p in paths) == names == listing(tmp_path / "o")
    with pytest.raises(ShrinkageError, match="already there"):
        write_sheets(workshop_order, tmp_path / "o")
    assert len(write_sheets(workshop_order, tmp_path / "p", dxf=False)) == 3
    assert listing(tmp_path / "p") == [name for name in names if "dxf" not in name]


def test_without_the_extra(workshop_order, tmp_path, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(ShrinkageError, match=r"pip install 'shrinkage\[cad\]', or --no-dxf"):
        write_sheets(workshop_order, tmp_path / "o")
    assert not (tmp_path / "o").exists()


def test_wrapped_lines_fit_and_lose_nothing():
    text = "one two " + "W" * 60 + " three"
    lines = wrapped(text, 10.0, 100.0)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(width_of(line, 10.0) <= 100.0 for line in lines)
    assert wrapped("", 10.0, 100.0) == [""]


def test_cut_and_size():
    assert cut("short", 10.0, 500.0) == "short"
    short = cut("W" * 80, 10.0, 100.0)
    assert short.endswith("…") and width_of(short, 10.0) <= 100.0
    size = size_for(["WWWW", "W"], 40.0, 1000.0, 50.0)
    assert abs(width_of("WWWW", size) - 40.0) < 0.1
    assert size_for(["W"], 1000.0, 2 * LEAD, 50.0) == 2.0


def test_grid_gives_every_row_a_page():
    table = grid(("a", "b"), [(f"{n}", "word " * 30) for n in range(40)], 300.0, 9.0, 1)
    assert isinstance(table, Grid)
    assert abs(sum(table.widths) - 300.0) < 1e-6
    start, pages = 0, 0
    while start < len(table.rows):
        stop = max(table.that_fit(200.0, start), start + 1)
        start, pages = stop, pages + 1
    assert pages > 1
