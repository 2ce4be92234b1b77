"""What a watch says: words, picture, files."""

from __future__ import annotations

import csv
import datetime as dt
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from shrinkage.blocks import Bullets, Heading, Table, Text, from_markdown, to_markdown
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import check_job
from shrinkage.order import order
from shrinkage.site_log import Entry
from shrinkage.watch import Drift, watch
from shrinkage.watch_figures import gap_chart, gap_words
from shrinkage.watch_report import forecast_table, page, write_watch
from shrinkage.watch_words import alarms, answers, markdown, share_text, terminal, verdict

WORKSHOP = Path(__file__).resolve().parents[1] / "data" / "workshop.toml"
DATES = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
         "foamed": "2027-07-07", "heated": "2027-10-15", "years": 3}  # fmt: skip
NASTY = '<b>south</b> & "co"'


def entry(day, kind, place, value, error=0.5):
    return Entry(dt.date.fromisoformat(day), kind, place, value, error)


LOG = [
    entry("2027-06-01", "gap", f"{NASTY} 1, top", 19.5),
    entry("2027-12-01", "gap", f"{NASTY} 1, top", 17.0),
    entry("2028-02-01", "gap", f"{NASTY} 1, top", 14.5),
    entry("2028-03-01", "gap", f"{NASTY} 1, top", 160.0),
    entry("2028-03-01", "moisture", "plate", 9.0, 1.5),
    entry("2027-03-01", "moisture", "plate", 50.0, 1.5),
]


@pytest.fixture(scope="module")
def told():
    raw = tomllib.loads(WORKSHOP.read_text("utf-8")) | {"calendar": DATES}
    raw["wall"][0]["name"] = NASTY
    return watch(order(check_job(raw)), LOG, draws=1024)


def test_worst_comes_first_in_words_for_a_framer(told):
    far, narrow, *_ = alarms(told, "metric")
    assert "160 mm is wider than the" in far
    assert "not used. Check tape, place and unit" in far
    assert re.search(
        r"2028-02-01, gap at .* 1, top: 14.5 mm is narrower than the [\d.]+ mm to", narrow
    )
    assert "one reading in ten lies outside by chance" in narrow
    assert [verdict(one) for one in told.seen][2:4] == [
        "narrower than forecast", "far wider: not used"
    ]  # fmt: skip


def test_first_reading_of_a_place_says_how_it_was_hung():
    raw = tomllib.loads(WORKSHOP.read_text("utf-8")) | {"calendar": DATES}
    answer = order(check_job(raw))
    found = watch(answer, [entry("2027-06-01", "gap", "south 1, top", 28.0)], draws=512)
    assert "mostly says how the panel was hung" in alarms(found, "imperial")[0]
    wide = watch(answer, [entry("2027-06-01", "width", "plate", 197.0)], draws=512)
    assert "mostly says how the timber was sawn" in alarms(wide, "imperial")[0]


def test_drift_and_too_few_draws_are_said(told):
    slow = replace(told, drifts=(Drift("width", 4, 2.4),), is_trusted=False, effective=12.0)
    lines = alarms(slow, "imperial")
    assert any("4 width readings together lie on one side (score +2.4" in line and
               "shrinks less, or later" in line for line in lines)  # fmt: skip
    assert "Only 12 effective draws carry this answer" in lines[-1]


def test_readings_far_off_together_are_no_slips(told):
    odd = [one for one in told.seen if not one.step.used]
    assert len(odd) == 1
    assert not any("slips do not agree" in line for line in alarms(told, "metric"))
    twice = replace(told, seen=(*told.seen, *odd))
    assert alarms(twice, "metric")[0].startswith("2 gap readings are far wider than forecast")
    low = replace(odd[0], step=replace(odd[0].step, score=-6.0))
    other = replace(told, seen=(*told.seen, low))
    assert not any("slips do not agree" in line for line in alarms(other, "metric"))


def test_answer_gives_least_gap_and_chance_before_and_after(told):
    line = answers(told, "metric")[0]
    gap = told.gaps[0]
    assert f"{gap.least_after.low:.1f} mm to {gap.least_after.high:.1f} mm" in line
    assert f"(before the readings {gap.least_before.low:.1f} mm" in line
    assert share_text(0.0) == "under 0.1 %"
    assert share_text(0.034) == "3.4 %"


def test_report_names_what_was_set_aside_and_every_reading(told):
    text = markdown(told, "metric")
    assert "2027-03-01 is before the panels went on" in text
    rows = [line for line in text.splitlines() if line.startswith("| 202")]
    assert len(rows) == len(told.seen) == 5
    for heading in ("## Readings", "## Gaps", "## What was unknown", "## Before you use this"):
        assert heading in text
    assert "nan" not in text.lower()


def test_terminal_shows_readings_alarms_and_answer(told):
    lines = terminal(told, "imperial").splitlines()
    assert lines[0].split()[:3] == ["date", "what", "where"]
    assert sum(line.startswith("! ") for line in lines) == len(alarms(told, "imperial"))
    assert lines[-1].endswith("%)")


# --- the picture ---


def chart(told, system="metric"):
    return ElementTree.fromstring(gap_chart(told, told.gaps[0], system))


def points(path):
    return np.array([[float(v) for v in pair.split()] for pair in re.split("[ML]", path)[1:]])


def test_now_is_bold_before_is_thin_and_the_median_is_where_it_should_be(told):
    tags = {tag.get("class"): tag for tag in chart(told).iter() if tag.get("class")}
    assert float(tags["now"].get("stroke-width")) > 2 * float(tags["before"].get("stroke-width"))
    now = points(tags["now"].get("d"))
    assert (np.diff(now[:, 0]) > 0).all()
    labels = [tag for tag in chart(told).iter() if (tag.text or "").endswith(" mm")]
    ticks = {float(t.text.split()[0]): float(t.get("y")) - 4 for t in labels
             if t.get("text-anchor") == "end"}  # fmt: skip
    low, high = ticks[0.0], ticks[10.0]
    gap = told.gaps[0].after[1, : len(now)]
    np.testing.assert_allclose(now[:, 1], low + (high - low) * gap / 10, atol=0.15)


def test_readings_are_labelled_in_real_units_and_odd_ones_crossed(told):
    for system, words in (("metric", "14.5 mm, outside"), ("imperial", '9/16", outside')):
        texts = [tag.text for tag in chart(told, system).iter() if tag.text]
        assert words in texts
        assert any(text.endswith("not used") for text in texts)
    kinds = [tag.get("class") for tag in chart(told).iter()]
    assert kinds.count("outside") == 2
    assert kinds.count("inside") == 2


def test_slip_of_the_tape_does_not_squeeze_the_picture(told):
    marks = [tag.text for tag in chart(told).iter() if (tag.text or "").endswith(" mm")]
    assert max(float(text.split()[0]) for text in marks) < 60


def test_alt_text_says_what_is_shown_and_names_are_escaped(told):
    svg = gap_chart(told, told.gaps[0], "metric")
    assert NASTY not in svg
    assert chart(told).get("aria-label") == gap_words(told, told.gaps[0], "metric")
    assert NASTY in chart(told).get("aria-label")
    assert NASTY not in page(told, "metric")


# --- files ---


def test_files_are_written_all_or_none(told, tmp_path):
    written = write_watch(told, tmp_path)
    assert sorted(path.name for path in written) == [
        "forecast.csv", "watching.html", "watching.md"
    ]  # fmt: skip
    with pytest.raises(ShrinkageError, match="already there"):
        write_watch(told, tmp_path)
    write_watch(told, tmp_path, force=True)
    html = (tmp_path / "watching.html").read_text("utf-8")
    assert html.count("<svg") == 1
    assert not re.search(r'(src|href)="?http', html)
    rows = list(csv.DictReader((tmp_path / "forecast.csv").open(encoding="utf-8")))
    assert len(rows) == len(told.gaps) * len(told.days)
    assert rows[0]["date"] == "2027-06-01"
    for row in rows[:: len(rows) // 20]:
        assert float(row["now_5%_mm"]) <= float(row["now_median_mm"]) <= float(row["now_95%_mm"])


def test_forecast_table_is_the_forecast(told):
    table = forecast_table(told)
    first = table[table["gap"] == told.gaps[0].place]
    np.testing.assert_allclose(first["now_median_mm"], told.gaps[0].after[1], atol=0.006)
    np.testing.assert_allclose(first["before_5%_mm"], told.gaps[0].before[0], atol=0.006)


def test_blocks_as_markdown_read_back_as_they_were():
    blocks = [Heading(2, "Gaps"), Text("Some text."), Bullets(("one", "two")),
              Table(("a", "b"), (("1", "2"), ("3", "4")))]  # fmt: skip
    assert list(from_markdown(to_markdown(blocks))) == blocks
