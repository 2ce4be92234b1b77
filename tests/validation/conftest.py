"""`record`: hold a number against a published one, and keep the line for the validation report.

A validation file names its source once, in ``SOURCE``, and how it was read, in ``BASIS``. Each
check asserts on the spot; what it found is kept and becomes docs/validation_report.md.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from validation_report import LINES, Line, Published


def pytest_configure(config: pytest.Config) -> None:
    config.stash[LINES] = []


@pytest.fixture
def record(request: pytest.FixtureRequest) -> Callable[..., None]:
    """Return a function that asserts and keeps one check.

    ``record(quantity, published, ours, unit, tolerance, case=, differs=, basis=)``: `published` is
    a number or a (low, high) range; `differs` a difference that is known and has its reason beside
    the test; with a `tolerance` of None the test asserts the difference in its own way and it is
    only shown. Checks with a `case` share one line of the report, which shows the farthest.
    """
    module: Any = request.module

    def check(
        quantity: str,
        published: Published,
        ours: float,
        unit: str,
        tolerance: float | None,
        **more: Any,
    ) -> None:
        line = Line(
            module.SOURCE,
            quantity,
            unit,
            published,
            float(ours),
            tolerance,
            case=more.pop("case", ""),
            differs=more.pop("differs", 0.0),
            basis=more.pop("basis", module.BASIS),
        )
        assert not more, more
        if tolerance is not None:
            off = line.difference - line.differs
            assert abs(off) <= tolerance, (
                f"{quantity} {line.case}: published {published}, ours {ours} {unit}: "
                f"off by {off:g}, accepted {tolerance:g}"
            )
        request.config.stash[LINES].append(line)

    return check
