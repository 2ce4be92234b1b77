"""Time one section: weights, outline and dimensions (under 2 ms), and its picture.

Run with ``python benchmarks/bench_shape.py [--save]``; ends with status 1 if a section takes
too long.
"""

from __future__ import annotations

import io
import statistics
import sys
import time
from collections.abc import Callable
from typing import Any

from matplotlib.figure import Figure
from speed_page import Sheet

from shrinkage.shape import Check, Section, dry, mean_strain
from shrinkage.shape_dimensions import dimensions
from shrinkage.shape_figures import draw

LIMIT_MS = 2.0
R, T = 0.048, 0.076
CASES: dict[str, tuple[Section, Check | None]] = {
    "flat-sawn board": (Section(200, 40, 0, -60), None),
    "boxed heart, unchecked": (Section(203.2, 254, 10, 20), None),
    "boxed heart, checked": (Section(203.2, 254, 10, 20), "nearest"),
    "round, checked": (Section(200, 200, 30, 20, is_round=True), "nearest"),
}


def one_section(section: Section, check: Check | None) -> None:
    mean_strain(section, R, T)
    shape = dry(section, R, T, check)
    shape.outline()
    dimensions(shape)


def milliseconds(call: Callable[[], Any], repeats: int, batches: int = 9) -> float:
    """Return the median time of one call [ms]."""
    times = []
    for _ in range(batches):
        start = time.perf_counter()
        for _ in range(repeats):
            call()
        times.append((time.perf_counter() - start) / repeats * 1e3)
    return statistics.median(times)


def redraw(figure: Figure, form: str) -> None:
    figure.clear()
    draw(figure.add_axes((0.02, 0.02, 0.96, 0.96)), dry(CASES["boxed heart, checked"][0], R, T,
                                                      "nearest"))  # fmt: skip
    figure.savefig(io.BytesIO(), format=form)


def main() -> int:
    worst, sheet = 0.0, Sheet("shape")
    for name, (section, check) in CASES.items():
        spent = milliseconds(lambda s=section, c=check: one_section(s, c), 100)
        worst = max(worst, spent)
        sheet.add(name, f"{spent:.2f} ms", limit=f"{LIMIT_MS:g} ms")
    figure = Figure(figsize=(5.6, 5.6))
    for form in ("svg", "png"):
        spent = milliseconds(lambda f=form: redraw(figure, f), 3, 5)
        sheet.add(f"redrawn as {form.upper()}", f"{spent:.0f} ms")
    sheet.keep()
    return int(worst > LIMIT_MS)


if __name__ == "__main__":
    sys.exit(main())
