"""Time what each slider of a page works out: from its change to the pictures put in their place.

Median processor and wall time of a key press, without the server and the browser. Each press sets
a value of its own, so that no press finds its answer from before. Run with
``python benchmarks/bench_pages.py [--save]``.
"""

from __future__ import annotations

import statistics
import time
import warnings
from collections.abc import Callable, Iterable

from speed_page import Sheet

from shrinkage.drying_page import DryingPage
from shrinkage.review_page import ReviewPage
from shrinkage.species_page import SpeciesPage
from shrinkage.widgets import LivePage

LIMIT_MS = 40
PRESSES = 12
"""And two before them that are not counted."""

Values = Iterable[float]
SLIDERS: dict[str, tuple[Callable[[], LivePage], dict[str, Values]]] = {
    "drying": (
        DryingPage,
        {"month": range(20, 34), "green": range(60, 74), "yard": range(8, 22),
         "years": (5, 4, 3, 2, 1, 2, 3, 4, 5, 4, 3, 2, 1, 2)},
    ),
    "species": (
        SpeciesPage,
        {name: range(30, 44) for name in ("from_rh", "to_rh")}
        | {name: range(5, 19) for name in ("from_temp", "to_temp", "pith_x", "pith_y")},
    ),
    "engineer": (
        ReviewPage,
        {"gap": range(20, 34), "section_factor": [0.8 + 0.01 * n for n in range(14)],
         "species_spread": range(16, 30), "heart_spread": range(11, 25),
         "certainty": range(80, 94)},
    ),
}  # fmt: skip


def press(page: LivePage, name: str, values: Values) -> tuple[float, float]:
    """Return the median processor and wall time of setting a slider [ms]."""
    cpu, wall = [], []
    for value in values:
        before = time.process_time(), time.perf_counter()
        page.controls[name].value = value
        cpu.append(time.process_time() - before[0])
        wall.append(time.perf_counter() - before[1])
    return 1e3 * statistics.median(cpu[-PRESSES:]), 1e3 * statistics.median(wall[-PRESSES:])


def main() -> None:
    warnings.simplefilter("ignore")
    sheet = Sheet("pages")
    for title, (make, sliders) in SLIDERS.items():
        page = make()
        for name, values in sliders.items():
            cpu, wall = press(page, name, values)
            label = str(page.controls[name].description)
            sheet.add(f"{title}: {label}", f"{wall:.0f} ms", limit=f"{LIMIT_MS} ms",
                      note=f"{cpu:.0f} ms of processor time")  # fmt: skip
    sheet.keep()


if __name__ == "__main__":
    main()
