"""docs/validation_report.md is what the validation tests give, and `record` lets nothing pass."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from validation_report import LINES, Line, page

SOURCE, BASIS = "no source: these tests look at the recorder itself", "derived"


@pytest.mark.parametrize(
    ("published", "ours", "tolerance", "differs"),
    [
        (1.0, 1.02, 0.01, 0.0),
        (1.0, 0.98, 0.01, 0.0),
        ((1.0, 2.0), 2.1, 0.01, 0.0),
        ((1.0, 2.0), 0.9, 0.01, 0.0),
        (1.0, 1.0, 0.01, 0.5),  # a known difference that has gone
        (1.0, float("nan"), 0.01, 0.0),
    ],
)
def test_what_is_off_is_refused(published, ours, tolerance, differs, record, request):
    kept = len(request.config.stash[LINES])
    with pytest.raises(AssertionError, match="off by"):
        record("a length", published, ours, "mm", tolerance, differs=differs)
    assert len(request.config.stash[LINES]) == kept


def test_a_word_that_means_nothing_is_refused(record):
    with pytest.raises(AssertionError, match="tolerence"):
        record("a length", 1.0, 1.0, "mm", 0.1, tolerence=0.2)


def line(published, ours, tolerance=0.05, **more):
    given = {"case": "", "differs": 0.0, "basis": "memory", "source": "A book"} | more
    return Line(quantity="size", unit="mm", published=published, ours=ours, tolerance=tolerance,
                **given)  # fmt: skip


def test_page_shows_the_farthest_of_many():
    text = page([line(1.0, 1.01, case="near"), line(2.0, 1.97, case="far")])
    assert "| size [mm]; 2 values, farthest: far | 2 | 1.97 | -0.03 | 0.05 | memory |" in text


def test_page_marks_what_is_known_and_what_is_only_shown():
    text = page([line(1.0, 2.0, differs=1.0), line((1.0, 1.5), 1.7, None, source="B", case="c")])
    assert "| 1 | 2.00 | +1.00, *known* | 0.05 |" in text
    assert "| 1 to 1.5 | 1.7000 | +0.2000 | shown |" in text


def test_page_puts_what_is_published_first():
    text = page([line(1.0, 1.0, source="A", basis="derived"), line(1.0, 1.0, source="B")])
    assert text.index("## B") < text.index("## A")


def test_the_report_is_what_the_tests_give():
    """In a run of its own: in this one the checks may be chosen, or spread over workers."""
    alone = {key: text for key, text in os.environ.items() if not key.startswith("PYTEST_")}
    script = Path(__file__).with_name("validation_report.py")
    made = subprocess.run([sys.executable, script, "--check"], env=alone, text=True,
                          capture_output=True)  # fmt: skip
    assert made.returncode == 0, made.stdout[-2000:] + made.stderr[-2000:]
