"""Write docs/validation_report.md: ``python tests/validation/validation_report.py [--check]``.

It runs the validation tests beside it, whose fixture `record` keeps a `Line` of every check. With
``--check`` nothing is written; the page that is there must be what they give.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "validation_report.md"
HEAD = """# Validation report

Made from the validation tests by `python tests/validation/validation_report.py`; a test fails where
this page is not what they give. Each line was asserted by the test that wrote it, within the
tolerance beside it; `shown` where the test holds the difference in its own way. Where a line stands
for many values it shows the farthest. A difference marked *known* has its reason beside the test.
What does not agree, and why, is told in [validation](validation.md).

Basis: `page` read off a copy of the printed page; `later-edition` seen in the 2021 edition;
`memory` not yet looked up; `derived` worked out by us on a second road; `practice` common practice,
no published source.
"""
Published = float | tuple[float, float]


@dataclass(frozen=True)
class Line:
    """One check: what is published, a number or a range, what we get, and how far off it may be."""

    source: str
    quantity: str
    unit: str
    published: Published
    ours: float
    tolerance: float | None
    case: str
    differs: float
    basis: str

    @property
    def difference(self) -> float:
        """Ours less the published number, or less the nearer end of a range we lie outside of."""
        if isinstance(self.published, tuple):
            low, high = self.published
            return self.ours - min(max(self.ours, low), high)
        return self.ours - self.published

    @property
    def decimals(self) -> int:
        """Places that the tolerance gives a meaning to."""
        fine = self.tolerance or 10.0 ** (math.floor(math.log10(abs(self.ours) or 1.0)) - 3)
        return min(6, max(0, -math.floor(math.log10(fine / 2) + 1e-9)))

    @property
    def used(self) -> float:
        """Share of the tolerance used up; steady against the last bits of another machine."""
        return round(abs(self.difference - self.differs) / (self.tolerance or 1.0), 3)


LINES = pytest.StashKey[list[Line]]()
COLUMNS = ("quantity", "published or exact", "ours", "difference", "tolerance", "basis")


def _number(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.replace("-", "", 1) if float(text) == 0 else text


def _published(line: Line) -> str:
    if isinstance(line.published, tuple):
        return " to ".join(f"{end:g}" for end in line.published)
    return f"{line.published:.6g}"


def _row(lines: list[Line]) -> str:
    """Return the row of checks that share a quantity: the farthest off stands for all."""
    far = max(lines, key=lambda line: (line.used, line.case))
    places = far.decimals
    unit = f" [{far.unit}]" if far.unit else ""
    many = f"; {len(lines)} values, farthest: {far.case}" if far.case else ""
    known = ", *known*" if far.differs else ""
    difference = f"{far.difference:+.{places}f}" if far.difference else "0"
    cells = (
        f"{far.quantity}{unit}{many}",
        _published(far),
        _number(far.ours, places),
        ("0" if float(difference) == 0 else difference) + known,
        "shown" if far.tolerance is None else f"{far.tolerance:.2g}",
        ", ".join(sorted({line.basis for line in lines})),
    )
    return "| " + " | ".join(cells) + " |"


def page(lines: list[Line]) -> str:
    """Return the report: what is published before what we derived, most checks first."""
    sources: dict[str, dict[tuple[str, str], list[Line]]] = {}
    many = Counter(line.source for line in lines)
    own = {line.source for line in lines if line.basis in ("derived", "practice")}
    own -= {line.source for line in lines if line.basis not in ("derived", "practice")}
    for line in sorted(lines, key=lambda one: (one.source in own, -many[one.source], one.source)):
        quantities = sources.setdefault(line.source, {})
        quantities.setdefault((line.quantity, line.unit), []).append(line)
    parts = [HEAD, f"{len(lines)} checks against {len(sources)} sources.\n"]
    head = "| " + " | ".join(COLUMNS) + " |\n|" + "---|" * len(COLUMNS)
    for source, quantities in sources.items():
        parts.append(f"## {source}\n\n{head}\n" + "\n".join(map(_row, quantities.values())) + "\n")
    return "\n".join(parts)


def recording() -> list[Path]:
    """Return the test files that the report is made from."""
    files = sorted(Path(__file__).resolve().parent.glob("test_*.py"))
    return [
        path
        for path in files
        if path.name != "test_report.py" and "record(" in path.read_text(encoding="utf-8")
    ]


class _Keeper:
    """Takes the lines off the run when it ends."""

    def __init__(self) -> None:
        self.lines: list[Line] = []

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        import validation_report  # as the tests know it, not as this script does

        self.lines = session.config.stash[validation_report.LINES]


def main() -> int:
    """Run the validation tests, and write or compare the page if all hold."""
    keeper = _Keeper()
    status = pytest.main(["-q", *map(str, recording())], plugins=[keeper])
    if status == 0 and "--check" in sys.argv:
        same = PAGE.read_text(encoding="utf-8") == page(keeper.lines)
        print(f"{PAGE.name}: {'as the tests give it' if same else 'out of date'}")
        return int(not same)
    if status == 0:
        PAGE.write_text(page(keeper.lines), encoding="utf-8")
        print(f"Written: {PAGE}")
    return int(status)


if __name__ == "__main__":
    sys.exit(main())
