"""Keep what the benchmarks measured, and set the tables of docs/benchmarks.md from it.

A benchmark run with ``--save`` puts its rows into docs/benchmarks.json, with the day and the
machine, in place of those it had. ``python benchmarks/speed_page.py`` then sets the tables.
"""

from __future__ import annotations

import datetime
import json
import os
import platform
import re
import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parents[1] / "docs"
PAGE, KEPT = DOCS / "benchmarks.md", DOCS / "benchmarks.json"
COLUMNS = ("name", "ours", "other", "ratio", "limit", "note")
HEADS = {"name": "case", "other": "others", "ratio": "times ours"}
MARKED = re.compile(r"(<!-- measured: (\w+) -->\n).*?(<!-- end -->)", re.DOTALL)
Row = dict[str, str]


def machine() -> str:
    """Return what the run is on, as far as it says so itself."""
    return f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"


class Sheet:
    """Rows of one benchmark: printed as they come, and kept at the end where ``--save`` is said.

    Parameters
    ----------
    bench : str
        The benchmark's name in the page.
    """

    def __init__(self, bench: str) -> None:
        self.bench, self.rows = bench, list[Row]()

    def add(self, name: str, ours: str, **more: str) -> None:
        """Take a row: its name, our figure, and any of `other`, `ratio`, `limit` and `note`."""
        self.rows.append({"name": name, "ours": ours, **more})
        print("| " + " | ".join([name, ours, *more.values()]) + " |", flush=True)

    def keep(self, asked: bool | None = None) -> None:
        """Put the rows in place of the last ones, with day and machine, if that is asked for."""
        if not ("--save" in sys.argv if asked is None else asked):
            return
        kept = json.loads(KEPT.read_text(encoding="utf-8"))["rows"]
        stamp = {
            "bench": self.bench,
            "date": datetime.date.today().isoformat(),
            "machine": machine(),
        }
        write([row for row in kept if row["bench"] != self.bench] + [r | stamp for r in self.rows])


def write(rows: list[Row]) -> None:
    """Write the rows, one a line."""
    lines = ",\n".join(f"  {json.dumps(row, ensure_ascii=False)}" for row in rows)
    KEPT.write_text(f'{{"rows": [\n{lines}\n]}}\n', encoding="utf-8")


def table(rows: list[Row]) -> str:
    """Return the rows as a table, without columns that are empty throughout, and their day."""
    used = [column for column in COLUMNS if any(row.get(column) for row in rows)]
    lines = [[HEADS.get(column, column) for column in used], ["---"] * len(used)]
    lines += [[row.get(column, "") for column in used] for row in rows]
    stamps = sorted({f"Measured {row['date']}: {row['machine']}." for row in rows})
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n\n" + "\n".join(stamps)


def filled(text: str) -> str:
    """Return the page with each marked table set from the rows kept."""
    kept = json.loads(KEPT.read_text(encoding="utf-8"))["rows"]

    def fill(match: re.Match[str]) -> str:
        rows = [row for row in kept if row["bench"] == match[2]]
        if not rows:
            raise KeyError(f"no rows measured for {match[2]!r} in {KEPT.name}")
        return f"{match[1]}\n{table(rows)}\n\n{match[3]}"

    return MARKED.sub(fill, text)


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"Written: {PAGE}")
