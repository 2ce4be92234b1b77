"""What a framer wrote down on site: a CSV, read strictly, row by row.

A row that cannot be is named by file and row, and the rest is kept. Columns stand in any order;
`HEADS` lists how they may be spelled. Values carry their unit.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from shrinkage import units
from shrinkage.errors import ShrinkageError
from shrinkage.job_fields import read_day
from shrinkage.order import SIDES, Order, Panel
from shrinkage.site_log import Entry, Kind, sort_out
from shrinkage.spread import spread_of

HEADS: dict[str, tuple[str, ...]] = {
    "date": ("date", "day"),
    "place": ("place", "where", "edge"),
    "what": ("what", "kind"),
    "value": ("value", "measured", "found"),
    "wood temperature": ("wood temperature", "wood temp", "temperature", "temp"),
    "reading": ("reading", "no", "number"),
    "note": ("note", "notes", "remark", "remarks"),
}
"""A column and the spellings it is known by; capitals, spaces and underscores do not matter."""
KINDS: dict[str, Kind] = {
    "gap": "gap", "moisture": "moisture", "mc": "moisture", "meter": "moisture",
    "width": "width", "depth": "depth",
}  # fmt: skip
LARGEST_BYTES = 2_000_000


@dataclass(frozen=True)
class GapEdge:
    """An edge of a panel at which there is a gap to measure.

    Parameters
    ----------
    panel : Panel
        Which panel.
    side : str
        Which of its edges.
    """

    panel: Panel
    side: str

    @property
    def place(self) -> str:
        """What it is called: the panel's mark and the edge."""
        return f"{self.panel.mark}, {self.side}"

    @property
    def across(self) -> float:
        """The panel's measure square to the edge [mm]."""
        return self.panel.width if self.side in ("left", "right") else self.panel.height


def gap_edges(order: Order) -> list[GapEdge]:
    """Return every panel edge with a gap, in the order's sequence; one of two at a spline."""
    return [
        GapEdge(panel, side)
        for panel in order.panels
        for side in SIDES
        if has_gap(panel, side) and beside(order, panel, side) is None
    ]


def has_gap(panel: Panel, side: str) -> bool:
    """Tell whether there is a gap at an edge: not where it is free, flush or bears."""
    answer = panel.edges[side].allowance
    return answer is not None and answer.status != "bearing"


def beside(order: Order, panel: Panel, side: str) -> Panel | None:
    """Return the panel whose left edge is the same gap as this one's right, at a spline."""
    if side != "right" or panel.edges[side].kind != "spline":
        return None
    piece = panel.piece
    found = [
        other for other in order.panels
        if other.place == panel.place and abs(other.piece.left - piece.right) < 1e-6
        and other.piece.bottom < max(y for _, y in piece.top)
        and piece.bottom < max(y for _, y in other.piece.top)
    ]  # fmt: skip
    return found[0] if len(found) == 1 else None


def read_measures(
    path: str | Path, order: Order, day: date | None = None
) -> tuple[list[Entry], list[str]]:
    """Read a CSV of measurements.

    Parameters
    ----------
    path : str or Path
        The file.
    order : Order
        The job they belong to: its panels and timbers are the places that can be measured.
    day : datetime.date, optional
        Of rows that give none.

    Returns
    -------
    entries : list of Entry
        The good rows.
    problems : list of str
        The others, by file and row; a run of rows without a value once.

    Raises
    ------
    ShrinkageError
        If the file cannot be read or its first row does not name the columns.
    """
    try:
        data = Path(path).read_bytes()
    except OSError as error:
        raise ShrinkageError(f"{path}: cannot be read: {error.strerror or error}") from None
    if len(data) > LARGEST_BYTES:
        raise ShrinkageError(f"{path}: over 2 MB; accepted: a CSV of measurements")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ShrinkageError(f"{path}: not UTF-8 text; accepted: a CSV of measurements") from None
    return parse_measures(text, order, str(path), day)


def parse_measures(
    text: str, order: Order, name: str = "measurements", day: date | None = None
) -> tuple[list[Entry], list[str]]:
    """Read measurements from text, as `read_measures` does from a file called `name`."""
    rows = _rows(text, name)
    entries, problems, empty = [], [], []
    reader = _Reader(order, day)
    for number, cells in rows:
        source = f"{name} row {number}"
        try:
            if isinstance(cells, str):
                raise ShrinkageError(cells)
            if not cells.get("value"):
                empty.append(number)
                continue
            entries.append(reader.entry(cells, source))
        except ShrinkageError as error:
            problems.append(f"{source}: {error.message}; set aside")
    if empty:
        problems.append(f"{name}: no value, so not measured: row {_ranges(empty)}")
    kept, twice = sort_out(entries)
    return kept, problems + twice


def _ranges(numbers: list[int]) -> str:
    """Write row numbers, runs of them short."""
    parts: list[list[int]] = []
    for number in numbers:
        if parts and parts[-1][-1] == number - 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(f"{p[0]}" if len(p) == 1 else f"{p[0]} to {p[-1]}" for p in parts)


def _rows(text: str, name: str) -> Iterator[tuple[int, dict[str, str] | str]]:
    """Return (row number, cells by column, or what is wrong with the row)."""
    lines = [(n, line) for n, line in enumerate(text.split("\n"), start=1) if line.strip(" ,;\t\r")]
    if not lines:
        raise ShrinkageError(f"{name}: nothing in it; accepted: columns {', '.join(HEADS)}")
    first = lines[0][1]
    mark = mark_of(first)
    columns = _columns(_cells(first, mark) or [first], f"{name} row {lines[0][0]}")
    return ((number, _row(line, mark, columns)) for number, line in lines[1:])


def mark_of(text: str) -> str:
    """Return the mark that parts the columns of a first row: comma, else semicolon, else tab."""
    return next((mark for mark in (",", ";", "\t") if mark in text), ",")


def _cells(line: str, mark: str) -> list[str]:
    # Line by line: a quote left open must not swallow the rows below it.
    try:
        found = next(csv.reader([line.rstrip("\r")], delimiter=mark, strict=True,
                                skipinitialspace=True))  # fmt: skip
    except csv.Error:
        return []
    return [cell.strip() for cell in found]


def _row(line: str, mark: str, columns: list[str]) -> dict[str, str] | str:
    cells = _cells(line, mark)
    if not cells:
        return "a quote is not closed"
    if len(cells) != len(columns):
        return (
            f"{len(cells)} cells under {len(columns)} columns: cut off, or a place with a comma is "
            "not in quotes"
        )
    return dict(zip(columns, cells, strict=True))


def _columns(cells: list[str], where: str) -> list[str]:
    by_spelling = {spelling: head for head, spellings in HEADS.items() for spelling in spellings}
    found = []
    for cell in cells:
        plain = " ".join(cell.lower().replace("_", " ").split())
        head = by_spelling.get(plain)
        if head is None or head in found:
            why = "is there twice" if head else "is not known"
            raise ShrinkageError(f"{where}: column {cell!r} {why}; accepted: {', '.join(HEADS)}")
        found.append(head)
    if missing := [head for head in ("place", "value") if head not in found]:
        raise ShrinkageError(
            f"{where}: no column {' nor '.join(missing)}; accepted: {', '.join(HEADS)}"
        )
    return found


def _plain(place: str) -> str:
    return " ".join(place.lower().replace(",", " ").lstrip("'").split())


class _Reader:
    """Reads rows one after the other; remembers the unit of the first length."""

    def __init__(self, order: Order, day: date | None) -> None:
        self.order, self.day = order, day
        self.job, self.meter = order.frame.job, order.frame.meter
        self.usual = spread_of(self.job, order.frame.document.source).moisture.amount
        every = [GapEdge(panel, side) for panel in order.panels for side in SIDES]
        self.edges = {_plain(edge.place): edge for edge in every}
        self.is_metric: bool | None = None

    def entry(self, cells: dict[str, str], source: str) -> Entry:
        """Return one row's reading."""
        written, place = cells["value"], cells["place"]
        edge = self.edges.get(_plain(place))
        kind = self._kind(cells.get("what", ""), written, edge, place)
        day = self._day(cells.get("date", ""), kind)
        warmth = cells.get("wood temperature", "")
        value = units.percent(written) if kind == "moisture" else units.length(written)
        place = self._edge(edge, place, value).place if kind == "gap" else self._timber(place)
        error = self.job.site.tape
        if kind == "moisture":
            error = self.meter.error_of(value, self.usual)
        found = Entry(
            day, kind, place, value, error,
            units.temperature(warmth, "wood temperature") if warmth else None,
            written, cells.get("note", ""), _number(cells.get("reading", "")), source,
        )  # fmt: skip
        if kind != "moisture":
            self._same_unit(written)
        return found

    def _kind(self, what: str, written: str, edge: GapEdge | None, place: str) -> Kind:
        if not what:
            if "%" in written:
                return "moisture"
            if edge is not None or place.split(",")[0].lower() not in self.job.timber:
                return "gap"  # or meant for one: the place is what is wrong with it
        kind = KINDS.get(what.lower())
        if kind is None:
            raise ShrinkageError(f"what: {what!r}; accepted: {', '.join(KINDS)}")
        return kind

    def _day(self, text: str, kind: Kind) -> date:
        if not text and self.day is None:
            raise ShrinkageError("date: missing; accepted: a day such as 2027-03-01")
        day, calendar = read_day(text) if text else self.day, self.order.frame.calendar
        assert day is not None
        if calendar is not None:
            event = "raised" if kind == "gap" else "sawn"
            if day < (first := getattr(calendar, event)):
                raise ShrinkageError(f"date: {day} is before {event} on {first}")
        return day

    def _edge(self, edge: GapEdge | None, place: str, gap: float) -> GapEdge:
        if edge is None:
            names = [e.place for e in self.edges.values() if has_gap(e.panel, e.side)]
            raise ShrinkageError(f"place: no panel edge {place!r}; accepted: {_near(place, names)}")
        if not has_gap(edge.panel, edge.side):
            raise ShrinkageError(
                f"place: no gap at {edge.place}: it {edge.panel.edges[edge.side].why}"
            )
        if gap >= edge.across:
            raise ShrinkageError(
                f"gap {gap:.1f} mm is larger than the panel, {edge.across:.1f} mm; accepted: less"
            )
        return edge

    def _timber(self, place: str) -> str:
        role, *label = (" ".join(part.split()) for part in place.split(","))
        roles = self.order.frame.job.timber
        if role.lower() not in roles:
            raise ShrinkageError(f"place: no timber {place!r}; accepted: {', '.join(roles)}, "
                                 "and a piece's own label after a comma")  # fmt: skip
        return ", ".join([role.lower(), *label])

    def _same_unit(self, written: str) -> None:
        is_metric = bool(re.search(r"\d\s*(mm|cm|m|\w*met(er|re)s?)\s*$", written.lower()))
        if self.is_metric is None:
            self.is_metric = is_metric
        if is_metric != self.is_metric:
            first = "millimetres" if self.is_metric else "inches"
            raise ShrinkageError(f"{written!r}: the file's first length is in {first}; accepted: "
                                 "one kind of tape in a file")  # fmt: skip


def _number(text: str) -> int:
    if not re.fullmatch(r"[1-9]?|[1-9]\d", text):
        raise ShrinkageError(f"reading: {text!r}; accepted: 1 to 99")
    return int(text or 1)


def _near(place: str, names: list[str]) -> str:
    close = difflib.get_close_matches(place, names, n=3, cutoff=0.5)
    return ", ".join(repr(name) for name in close or names[:3]) + " and the like"


TEMPLATE_HEAD = ("date", "place", "what", "value", "wood temperature", "reading", "note")


def write_template(order: Order, path: Path) -> None:
    """Write a CSV to be filled in: one row a panel edge with a gap, one a timber.

    Parameters
    ----------
    order : Order
        The answer to a job.
    path : Path
        Where to.
    """
    rows = [("", edge.place, "gap") for edge in gap_edges(order)]
    rows += [("", role, "moisture") for role in order.frame.job.timber]
    with path.open("w", encoding="utf-8", newline="") as stream:
        out = csv.writer(stream)
        out.writerow(TEMPLATE_HEAD)
        out.writerows((*row, "", "", "", "") for row in rows)
