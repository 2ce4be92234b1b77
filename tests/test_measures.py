"""What a framer wrote down: good rows are read, every other one is named by its row and why."""

from __future__ import annotations

import csv
from datetime import date

import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.measures import (
    GapEdge,
    beside,
    gap_edges,
    has_gap,
    parse_measures,
    read_measures,
    write_template,
)

HEAD = "date,place,what,value,wood temperature,reading,note\n"
GOOD = '2027-06-01,"south 1, top",gap,9/16 in,,,\n'
DATES = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
         "foamed": "2027-06-07", "heated": "2027-10-15", "years": 1}  # fmt: skip


def test_a_good_file(workshop_order):
    text = (
        HEAD + GOOD
        + '2027-06-01,south 1 top,GAP,1/2 in,,2,"other end, tight"\n'
        + '2027-06-02,"Post,  NE",,22 %,40 F,,\n'
        + "2027-06-02,plate,depth,7-1/2 in,,,\n"
    )  # fmt: skip
    entries, problems = parse_measures(text, workshop_order, "monday.csv")
    assert problems == []
    gap, other, post, plate = entries
    assert (gap.day, gap.kind, gap.place) == (date(2027, 6, 1), "gap", "south 1, top")
    assert_allclose([gap.value, gap.error], [9 / 16 * 25.4, 25.4 / 32])
    assert (gap.as_written, gap.source, gap.reading) == ("9/16 in", "monday.csv row 2", 1)
    assert (other.place, other.reading, other.note) == ("south 1, top", 2, "other end, tight")
    assert (post.kind, post.place, post.value, post.error) == ("moisture", "post, NE", 22.0, 2.0)
    assert_allclose(post.temperature, 40 / 1.8 - 32 / 1.8)
    assert (plate.kind, plate.place) == ("depth", "plate")
    assert_allclose(plate.value, 190.5)


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_spellings_and_marks(workshop_order, mark):
    """Saved by a spreadsheet: a byte order mark is tested below; other marks and heads here."""
    text = f"Day{mark}WHERE{mark}found{mark}Wood_Temp\r\n\r\n2027-06-01{mark}south 1 top{mark}14 mm"
    entries, problems = parse_measures(text + mark + "\r\n", workshop_order)
    assert problems == [] and len(entries) == 1
    assert_allclose(entries[0].value, 14.0)


@pytest.mark.parametrize(
    ("row", "named"),
    [
        ('2027-06-01,"south 2, top",gap,14 mm,,,', "the file's first length is in inches"),
        ('2027-06-01,"south 2, top",gap,1.4 centimeters,,,', "first length is in inches"),
        ("2027-06-01,south 2, top,gap,1/2 in,,,", "8 cells under 7 columns: cut off, or a place"),
        ('2027-06-01,"south 2, top",ga', "3 cells under 7 columns"),
        ('2027-06-01,"south 2, to', "a quote is not closed"),
        ('2027-06-01,"south 2, left",gap,46 in,,,', "larger than the panel, 1035.0 mm"),
        ('2027-06-01,"south 1, left",gap,1/2 in,,,', "no gap at south 1, left: it laps past"),
        ('2027-06-01,"south 1, bottom",gap,1/2 in,,,', "no gap at south 1, bottom: it bears on"),
        ('2027-06-01,"south 99, top",gap,1/2 in,,,', "no panel edge 'south 99, top'; accepted: "),
        ('2027-06-01,"south 2, top",gap,1/2,,,', "'1/2' has no unit"),
        ('2027-06-01,"south 2, top",gap,-1/2 in,,,', "gap -12.7 mm; accepted: 0 to"),
        ('2027-06-01,"south 2, top",hole,1/2 in,,,', "what: 'hole'; accepted: gap, moisture"),
        ('2027-06-01,"south 2, top",gap,22 %,,,', "'22 %'"),
        (',"south 2, top",gap,1/2 in,,,', "date: missing; accepted: a day such as"),
        ('6/1/2027,"south 2, top",gap,1/2 in,,,', "date: cannot read '6/1/2027'"),
        ('2027-06-01,"south 2, top",gap,1/2 in,,second,', "reading: 'second'; accepted: 1 to 99"),
        ("2027-06-01,beam,moisture,22 %,,,", "no timber 'beam'; accepted: sill, post, plate"),
        ("2027-06-01,plate,,7 in,,,", "what: ''; accepted"),
        ("2027-06-01,plate,mc,22 %,40,,", "wood temperature: cannot read '40'"),
        ("2027-06-01,plate,mc,22 %,400 F,,", "wood temperature 204.4"),
        (GOOD.strip(), "given twice: 9/16 in; set aside (first: f.csv row 2)"),
        ('2027-06-01,"south 1, top",gap,1/2 in,,,', "is 1/2 in here and 9/16 in before"),
    ],
)
def test_bad_rows_are_named_and_the_rest_kept(workshop_order, row, named):
    after = '2027-06-01,"north 1, top",gap,5/8 in,,,\n'
    entries, problems = parse_measures(HEAD + GOOD + row + "\n" + after, workshop_order, "f.csv")
    assert [entry.place for entry in entries] == ["south 1, top", "north 1, top"]
    assert len(problems) == 1
    assert problems[0].startswith("f.csv row 3: ") and named in problems[0]


def test_a_row_that_fails_does_not_set_the_files_unit(workshop_order):
    text = HEAD + '2027-06-01,"south 99, top",gap,9 mm,,,\n' + GOOD
    entries, problems = parse_measures(text, workshop_order)
    assert len(entries) == 1 and len(problems) == 1


def test_rows_without_a_value_are_told_once(workshop_order):
    blank = '2027-06-01,"south {}, top",gap,,,,\n'
    text = HEAD + blank.format(2) + blank.format(3) + GOOD + blank.format(4)
    entries, problems = parse_measures(text, workshop_order, "f")
    assert len(entries) == 1
    assert problems == ["f: no value, so not measured: row 2 to 3, 5"]


def test_before_the_raising_and_before_the_sawing(raw, answered):
    raw["calendar"] = DATES
    order = answered(raw)
    text = (
        HEAD
        + '2027-05-09,"south 1, top",gap,1/2 in,,,\n2027-05-10,"south 2, top",gap,1/2 in,,,\n'
        + "2027-01-14,plate,mc,40 %,,,\n2027-01-15,plate,mc,40 %,,,\n"
    )
    entries, problems = parse_measures(text, order, "f")
    assert [entry.day for entry in entries] == [date(2027, 5, 10), date(2027, 1, 15)]
    assert "row 2: date: 2027-05-09 is before raised on 2027-05-10" in problems[0]
    assert "row 4: date: 2027-01-14 is before sawn on 2027-01-15" in problems[1]


def test_the_day_for_all(workshop_order):
    text = 'place,value\n"south 1, top",1/2 in\n'
    entries, _ = parse_measures(text, workshop_order, day=date(2027, 6, 3))
    assert entries[0].day == date(2027, 6, 3)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("", "nothing in it; accepted: columns date, place"),
        ("date,place\n", "no column value; accepted"),
        ("colour,place,value\n", "column 'colour' is not known"),
        ("place,value,where\n", "column 'where' is there twice"),
        ('"place,value\n', "is not known"),
    ],
)
def test_files_without_their_columns(workshop_order, text, named):
    with pytest.raises(ShrinkageError, match=named):
        parse_measures(text, workshop_order)


def test_files_that_cannot_be_read(workshop_order, tmp_path):
    path = tmp_path / "f.csv"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + GOOD).encode())
    assert len(read_measures(path, workshop_order)[0]) == 1
    for data, named in ((b"\xff\xfe\x00", "not UTF-8"), (b"x" * 2_000_001, "over 2 MB")):
        path.write_bytes(data)
        with pytest.raises(ShrinkageError, match=named):
            read_measures(path, workshop_order)
    with pytest.raises(ShrinkageError, match="cannot be read: No such file"):
        read_measures(tmp_path / "none", workshop_order)


def test_the_template_names_every_gap_once_and_reads_back(workshop_order, tmp_path):
    path = tmp_path / "t.csv"
    write_template(workshop_order, path)
    rows = list(csv.DictReader(path.open(encoding="utf-8")))
    assert [row["place"] for row in rows if row["what"] == "gap"] == [
        edge.place for edge in gap_edges(workshop_order)
    ]
    entries, problems = read_measures(path, workshop_order, date(2027, 6, 1))
    assert entries == [] and len(problems) == 1 and "not measured" in problems[0]
    filled = (
        path.read_text().replace("gap,,", "gap,1/2 in,").replace("moisture,,", "moisture,19 %,")
    )
    path.write_text(filled)
    entries, problems = read_measures(path, workshop_order, date(2027, 6, 1))
    assert problems == [] and len(entries) == len(rows)


def test_each_gap_is_an_edge_of_one_panel_only(workshop_order):
    """A spline is measured at the left edge of the panel on its right; all other gaps stand."""
    edges = gap_edges(workshop_order)
    panels = {panel.mark: panel for panel in workshop_order.panels}
    two = panels["south 2"]
    assert beside(workshop_order, panels["south 1"], "right") is two
    assert "south 1, right" not in {edge.place for edge in edges}
    assert {"south 2, left", "south 2, top"} <= {edge.place for edge in edges}
    assert not has_gap(panels["south 1"], "bottom") and has_gap(two, "top")
    assert GapEdge(two, "top").across == two.height and GapEdge(two, "left").across == two.width
