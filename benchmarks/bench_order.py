"""How long an order takes: cold start, 300 panels, one eave; import of the package.

Run from the source tree: ``python benchmarks/bench_order.py [--save]``. Prints a Markdown table;
each figure is the best of several runs, because a shared machine only ever adds to it.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

from speed_page import Sheet

ROOT = Path(__file__).resolve().parents[1]
RUNS = 5


def best(action: Callable[[], object], runs: int = RUNS) -> float:
    """Return the shortest of several times [s]."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def process(*words: str) -> Callable[[], object]:
    """Return an action that runs Python with these arguments."""
    command = [sys.executable, *words]
    # As a user's second run: compiled modules may be kept.
    env = {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return lambda: subprocess.run(command, check=True, capture_output=True, cwd=ROOT, env=env)


def many_panels() -> dict[str, object]:
    """Return the workshop with enough walls for 300 panels."""
    raw = tomllib.loads((ROOT / "data" / "workshop.toml").read_text(encoding="utf-8"))
    wall = raw["wall"][1]
    raw["wall"] = [wall | {"name": f"wall {n}", "length": "80 ft"} for n in range(15)]
    raw["roof"] = []
    return raw


def main() -> None:
    """Measure and print."""
    from shrinkage.allowance import allow
    from shrinkage.export import write_order
    from shrinkage.frame import build, wall_joints
    from shrinkage.jobfile import check_job, read_job
    from shrinkage.order import order

    job = "data/workshop.toml"
    rows = []
    with tempfile.TemporaryDirectory() as out:
        cold = process("-m", "shrinkage", "order", job, "-o", out, "--force")
        rows.append(("`order` on the example, whole process", best(cold), "1.5 s"))

        def large() -> None:
            answer = order(check_job(many_panels()))
            assert len(answer.panels) >= 300, len(answer.panels)
            write_order(answer, out, force=True)

        rows.append(("300 panels worked out and written, in a process", best(large), "2 s"))
    bare, loaded = best(process("-c", "pass")), best(process("-c", "import shrinkage"))
    rows.append(("`import shrinkage`", loaded - bare, "0.4 s"))
    full = best(process("-c", "import shrinkage.order, shrinkage.schedule"))
    rows.append(("import of everything an order needs", full - bare, "0.4 s"))
    rows.append(("`--help`, whole process", best(process("-m", "shrinkage", "--help")), ""))
    frame = build(read_job(ROOT / job))
    eave = wall_joints(frame, 0)["eave"]
    allow(eave, frame.foam, frame.rules)
    rows.append(
        ("one eave, after warm-up", best(lambda: allow(eave, frame.foam, frame.rules), 200), "1 ms")
    )
    sheet = Sheet("order")
    for name, seconds, limit in rows:
        shown = f"{1000 * seconds:.2f} ms" if seconds < 0.01 else f"{seconds:.2f} s"
        sheet.add(name, shown, limit=limit)
    sheet.keep()


if __name__ == "__main__":
    main()
