"""Answers on paper and on the command line: what they say, and what bad input leaves behind."""

from __future__ import annotations

import csv
import re
from dataclasses import replace

import pypdf
import pytest

from shrinkage import found as found_module
from shrinkage.__main__ import main
from shrinkage.crew_card import MEANT
from shrinkage.crew_card import RULES as ORDERED_RULES
from shrinkage.found import as_found
from shrinkage.found_card import RULES, found_card, write_found
from shrinkage.found_sheet import (
    answer_text,
    chance_text,
    found_sheet,
    found_table,
    limit_text,
    terminal,
    tightest,
)
from shrinkage.measures import gap_edges, parse_measures
from shrinkage.site_log import read
from shrinkage.units import show

HEAD = "date,place,what,value,wood temperature,reading\n"
MONDAY = (
    HEAD
    + """2027-06-01,"south 1, top",gap,3/4 in,,
2027-06-01,"south 2, top",gap,5/8 in,,
2027-06-01,"south 3, top",gap,1-3/4 in,,
2027-06-01,"north 1, top",gap,3/8 in,,
2027-06-01,"north 2, left",gap,0 in,,
2027-06-01,"east 1, left",gap,1-1/8 in,,
2027-06-01,plate,moisture,19 %,40 F,
2027-06-01,rafter,moisture,19 %,40 F,
"""
)
FILES = ["as_found.csv", "as_found.md", "crew_card_today.pdf"]


@pytest.fixture(scope="module")
def monday(workshop_order):
    entries, problems = parse_measures(MONDAY, workshop_order, "monday.csv")
    assert problems == []
    return as_found(workshop_order, entries, 512)


@pytest.fixture(autouse=True)
def few_draws(monkeypatch):
    """Keep the command quick: how many draws is not what is tested here."""
    real = found_module.sample
    monkeypatch.setattr(found_module, "sample", lambda plan, draws: real(plan, draws or 512))


@pytest.fixture
def job(tmp_path, workshop_text):
    path = tmp_path / "mine.toml"
    path.write_text(workshop_text, encoding="utf-8")
    (tmp_path / "monday.csv").write_text(MONDAY, encoding="utf-8")
    return path


def pdf_text(path):
    pages = pypdf.PdfReader(path).pages
    return len(pages), " ".join(pages[0].extract_text().split())


def test_table_is_the_answers(monday):
    table = found_table(monday).to_dict("records")
    assert [row["answer"] for row in table] == [
        "go", "go", 'pack 1/4"', 'trim 3/8"', "ask the engineer", "go"
    ]  # fmt: skip
    for row, one in zip(table, monday.found, strict=True):
        assert (row["panel"], row["edge"]) == (one.edge.panel.mark, one.edge.side)
        assert row["found_mm"] == round(one.gap, 2) and row["found"] == show(one.gap)
        assert row["why"] == one.choice.why and row["day"] == "2027-06-01"
    metric = found_table(monday, "metric").to_dict("records")
    assert metric[2]["answer"] == "pack 6.3 mm" and metric[0]["found"] == "19.1 mm"


def test_small_chances_are_told_from_none():
    assert [chance_text(share) for share in (0.0, 5e-5, 0.0234, 1.0)] == [
        "under 0.01 %", "under 0.01 %", "2.3 %", "100 %"
    ]  # fmt: skip


def test_terminal_gives_a_reason_for_all_but_go(monday):
    text = terminal(monday)
    assert text.startswith("Workshop with two gables (invented example): as found on 2027-06-01")
    for one in monday.found:
        line = re.search(rf"^{one.edge.place} +(.*)$", text, re.MULTILINE)
        assert line and answer_text(one, "imperial", 3.175) in line[1]
        assert (f"{one.edge.place}: {one.choice.why}"[:60] in text) == (one.choice.answer != "go")


def test_sheet_follows_the_tightest_gap_by_hand(monday):
    text, one = found_sheet(monday), tightest(monday)
    assert one.edge.place == "north 1, top"  # of the gaps at wood, the least to spare
    assert f"## By hand: {one.edge.place} (north, top)" in text
    assert "GTR-190 Eq. 13-3" in text and "corrected to 20.5 % (GTR-190 ch. 13)" in text
    needed = one.today.governs.needed
    assert f"Needs {needed:.2f} + tape 1.59 = {needed + 1.5875:.2f} mm" in text
    assert "site.tape 0.79 mm (default)" in text
    assert all(one.edge.place in text for one in monday.found)


def test_card_says_what_to_do(monday, tmp_path):
    card = found_card(monday)
    assert [line.answer for line in card.lines] == ["GO", 'PACK 1/4"', 'TRIM 3/8"', "GO", ""]
    go, *_, stop = card.lines
    assert go.places == ("south 1, top", "south 2, top") and go.hold == '5/8" to 3/4"'
    assert 'closes 1/4" yet' in go.note
    assert stop.warning == 'wood touches panel, or as good as: found 0"'
    write_found(monday, tmp_path)
    count, text = pdf_text(tmp_path / "crew_card_today.pdf")
    assert count == 1
    assert "CREW CARD: GAPS AS FOUND" in text and "As measured on 2027-06-01" in text
    assert "STOP: CALL" in text and 'TRIM 3/8"' in text
    assert MEANT not in text and ORDERED_RULES[1][1] not in text
    assert [rule for rule, _ in RULES if rule not in text] == ["WAIT"]  # none has to
    assert all(one.edge.place in text for one in monday.found)


def test_limits_of_places_together_are_the_tightest(workshop_order):
    entries = parse_measures(MONDAY, workshop_order)[0][:2]
    entries[0] = replace(entries[0], error=2.0)
    result = as_found(workshop_order, entries, 64)
    (line,) = found_card(result).lines
    needs = [limit_text(one.least, "imperial", "up") for one in result.found]
    assert line.least == needs[0] != needs[1]


@pytest.mark.filterwarnings("error")
def test_one_page_for_every_edge_of_a_job(workshop_order, tmp_path):
    """Every gap measured, no two alike: the card stays one page and says where to look."""
    text = HEAD + "".join(
        f'2027-06-01,"{edge.place}",gap,{3 + 7 * number % 41} mm,,\n'
        for number, edge in enumerate(gap_edges(workshop_order))
    )
    result = as_found(workshop_order, parse_measures(text, workshop_order)[0], 64)
    write_found(result, tmp_path)
    assert pdf_text(tmp_path / "crew_card_today.pdf")[0] == 1


def test_command(job, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["found", str(job), str(tmp_path / "monday.csv"), "-o", str(out)]) == 0
    said = capsys.readouterr()
    assert said.err == "" and "north 1, top" in said.out and "Logged: " in said.out
    assert sorted(path.name for path in out.iterdir()) == FILES
    entries, problems = read(tmp_path / "mine.site.jsonl")
    assert len(entries) == 8 and problems == []
    rows = list(csv.DictReader((out / "as_found.csv").open(encoding="utf-8")))
    assert [row["panel"] for row in rows][:3] == ["south 1", "south 2", "south 3"]


def test_again_adds_nothing_and_another_value_is_named(job, tmp_path, capsys):
    words = [
        "found",
        str(job),
        str(tmp_path / "monday.csv"),
        "-o",
        str(tmp_path / "out"),
        "--force",
    ]
    log = tmp_path / "mine.site.jsonl"
    assert main(words) == main(words) == 0
    assert "0 new reading(s), 8 there already" in capsys.readouterr().out
    before = log.read_bytes()
    other = tmp_path / "other.csv"
    other.write_text(HEAD + '2027-06-01,"south 1, top",gap,1/2 in,,\n2027-06-01,"south 4, top",gap,'
                     "3/4 in,,\n", encoding="utf-8")  # fmt: skip
    words[2] = str(other)
    assert main(words) == 0
    said = capsys.readouterr()
    assert "is 1/2 in here and 3/4 in before" in said.err
    assert log.read_bytes().startswith(before) and len(read(log)[0]) == 9
    # The contradiction is not answered, the other gap is, with the moistures logged before.
    assert [r["panel"] for r in csv.DictReader((tmp_path / "out" / "as_found.csv").open())] == [
        "south 4"
    ]
    assert "corrected to 20.5 %" in (tmp_path / "out" / "as_found.md").read_text()


def test_bad_rows_are_told_and_the_rest_answered(job, tmp_path, capsys):
    path = tmp_path / "bad.csv"
    path.write_text(MONDAY + '2027-06-01,"south 1, left",gap,1/2 in,,\n2027-06-01,"sou')
    assert main(["found", str(job), str(path), "-o", str(tmp_path / "out")]) == 0
    err = capsys.readouterr().err.splitlines()
    assert len(err) == 2 and "row 10: place: no gap" in err[0] and "row 11: a quote" in err[1]


@pytest.mark.parametrize("rows", ["", '2027-06-01,"south 1, left",gap,1/2 in,,\n'])
def test_no_good_row_leaves_nothing(job, tmp_path, capsys, rows):
    path = tmp_path / "bad.csv"
    path.write_text(HEAD + rows)
    assert main(["found", str(job), str(path), "-o", str(tmp_path / "out")]) == 2
    assert "no row can be used; nothing written" in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bad.csv", "mine.toml", "monday.csv"]


def test_the_log_is_written_only_if_all_else_is(job, tmp_path, capsys):
    out, log = tmp_path / "out", tmp_path / "mine.site.jsonl"
    out.mkdir()
    (out / "as_found.md").write_text("mine")
    assert main(["found", str(job), str(tmp_path / "monday.csv"), "-o", str(out)]) == 2
    assert "already there" in capsys.readouterr().err
    assert not log.exists() and [p.name for p in out.iterdir()] == ["as_found.md"]


def test_a_log_of_ones_own_and_a_cut_off_line(job, tmp_path, capsys):
    log = tmp_path / "elsewhere"
    log.write_bytes(b'{"unit": "mm", "da')
    words = ["found", str(job), str(tmp_path / "monday.csv"), "-o", str(tmp_path / "out")]
    assert main([*words, "--log", str(log)]) == 0
    assert f"{log} line 1: cut off in mid-line" in capsys.readouterr().err
    assert log.read_bytes().startswith(b'{"unit": "mm", "da\n') and len(read(log)[0]) == 8
    assert not (tmp_path / "mine.site.jsonl").exists()


def test_moistures_alone_are_logged(job, tmp_path, capsys):
    path = tmp_path / "wet.csv"
    path.write_text("place,value\nplate,19 %\n")
    words = ["found", str(job), str(path), "-o", str(tmp_path / "out"), "--day", "2027-06-01"]
    assert main(words) == 0
    assert "No gap among the readings" in capsys.readouterr().out
    assert not (tmp_path / "out").exists() and len(read(tmp_path / "mine.site.jsonl")[0]) == 1


def test_template(job, tmp_path, capsys):
    path = tmp_path / "t.csv"
    assert main(["found", str(job), "--template", str(path)]) == 0
    assert path.read_text().startswith("date,place,what,value,wood temperature,reading,note")
    assert main(["found", str(job), "--template", str(path)]) == 2
    assert main(["found", str(job), "--template", "."]) == 2
    assert main(["found", str(job)]) == 2
    assert "MEASURES and -o OUT are missing" in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["found", str(job), "x.csv", "-o", "o", "--day", "monday"])
    assert "accepted: a day such as 2027-06-01" in capsys.readouterr().err
