"""docs/validation_report.md is what the validation tests give."""

from __future__ import annotations

import pytest
from conftest import LINES, WHOLE
from validation_report import PAGE, page


def test_the_report_is_what_the_tests_give(request):
    if not request.config.stash[WHOLE] or request.session.testsfailed:
        pytest.skip("only some of the checks were run, or some failed")
    made = page(request.config.stash[LINES])
    assert PAGE.read_text(encoding="utf-8") == made, (
        "out of date: python tests/validation/validation_report.py"
    )
