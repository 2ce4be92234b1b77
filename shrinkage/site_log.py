"""The site log: what was read on site, one file a job, added to and never overwritten.

JSON Lines: one reading a line, whole lines only. A line cut off by a crash stays where it is and is
named; everything before and after it is kept. The log holds what was read, never what was made of
it: a meter's corrections are worked out when it is used.
"""

from __future__ import annotations

import fcntl
import json
import math
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from datetime import date
from pathlib import Path
from typing import Any, Literal, get_args

from shrinkage.errors import ShrinkageError

Kind = Literal["gap", "moisture", "width", "depth"]
KINDS: tuple[Kind, ...] = get_args(Kind)
UNITS: dict[Kind, str] = {"gap": "mm", "moisture": "%", "width": "mm", "depth": "mm"}
SUFFIX = ".site.jsonl"
MOST: dict[Kind, float] = {"gap": 100_000.0, "moisture": 300.0, "width": 2000.0, "depth": 2000.0}
"""A greater value is a slip of the pen [unit of the kind]."""
TEMPERATURES = (-60.0, 80.0)
"""Wood outside these is a slip of the pen [deg C]."""


@dataclass(frozen=True)
class Entry:
    """One reading.

    Parameters
    ----------
    day : datetime.date
        When it was taken.
    kind : {'gap', 'moisture', 'width', 'depth'}
        Of a panel edge, by a meter, or of a timber's section.
    place : str
        A panel edge by the panel's mark and the edge, such as 'south 1, top'; for the others a
        timber's role, with a piece's own label after a comma where it has one: 'post, north-east'.
    value : float
        As read, without any correction [mm or %].
    error : float
        One standard deviation of the reading [mm or %].
    temperature : float or None
        Of the wood [deg C].
    as_written : str
        The value in the words and unit it was written in.
    note : str
        Whatever was written beside it.
    reading : int
        Which reading of this place on this day: 1, and 2, 3, ... where it was marked as another.
    source : str
        File and row it was taken from.

    Raises
    ------
    ShrinkageError
        Naming what is wrong and what is accepted.
    """

    day: date
    kind: Kind
    place: str
    value: float
    error: float
    temperature: float | None = None
    as_written: str = ""
    note: str = ""
    reading: int = 1
    source: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ShrinkageError(f"kind {self.kind!r}; accepted: {', '.join(KINDS)}")
        if not self.place.strip():
            raise ShrinkageError("place is empty; accepted: a panel edge or a timber's role")
        unit, most = UNITS[self.kind], MOST[self.kind]
        least = math.ulp(0.0) if self.kind in ("width", "depth") else 0.0
        if not least <= self.value < most:
            from_ = "above 0" if least else "0"
            message = f"{self.kind} {self.value:g} {unit}; accepted: {from_} to {most:g} {unit}"
            raise ShrinkageError(message)
        if not 0 <= self.error < most:
            raise ShrinkageError(f"error {self.error:g} {unit}; accepted: 0 or more")
        low, high = TEMPERATURES
        if self.temperature is not None and not low <= self.temperature <= high:
            raise ShrinkageError(
                f"wood temperature {self.temperature:g} C; accepted: {low:g} to {high:g} C"
            )
        if self.reading < 1:
            raise ShrinkageError(f"reading {self.reading}; accepted: 1 or more")

    @property
    def key(self) -> tuple[date, Kind, str, int]:
        """What there can be only one of: day, kind, place and number of the reading."""
        return self.day, self.kind, self.place, self.reading

    @property
    def role(self) -> str:
        """The timber's role, without a piece's own label."""
        return self.place.split(",")[0].strip()


def log_path(job: str | Path) -> Path:
    """Return where a job's site log lies: beside the job file, under its name."""
    job = Path(job)
    return job.with_name(job.stem + SUFFIX)


def sort_out(
    entries: Iterable[Entry], known: Iterable[Entry] = ()
) -> tuple[list[Entry], list[str]]:
    """Set aside readings that are there already.

    The same day, kind, place and number of the reading stands once: the first is kept. The same
    value again is a copy; another value is a contradiction, kept only where it was marked as
    another reading.

    Parameters
    ----------
    entries : iterable of Entry
        In the order they were read.
    known : iterable of Entry
        Those that are kept already.

    Returns
    -------
    kept : list of Entry
        Of `entries`.
    problems : list of str
        One a reading that was set aside.
    """
    there = {entry.key: entry for entry in known}
    kept, problems = [], []
    for entry in entries:
        first = there.setdefault(entry.key, entry)
        if first is entry:
            kept.append(entry)
            continue
        said = f"{entry.kind} at {entry.place} on {entry.day}"
        if first.value == entry.value:
            why = f"{said} given twice: {_written(entry)}; set aside"
        else:
            why = (
                f"{said} is {_written(entry)} here and {_written(first)} before; set aside: mark "
                f"it as reading {first.reading + 1} if both are right"
            )
        before = f" (first: {first.source})" if first.source else ""
        problems.append((f"{entry.source}: " if entry.source else "") + why + before)
    return kept, problems


def _written(entry: Entry) -> str:
    return entry.as_written or f"{entry.value:g} {UNITS[entry.kind]}"


def append(path: str | Path, entries: Iterable[Entry]) -> None:
    """Add readings at the end of a log: whole lines, in one write, safe on the disk on return.

    Another writer waits. Where the file ends in a line cut off by a crash, that line is closed
    first and stays.

    Parameters
    ----------
    path : str or Path
        The log; made if it does not exist.
    entries : iterable of Entry
        What to add.

    Raises
    ------
    ShrinkageError
        If the file cannot be written to, or not all of it could be.
    """
    text = "".join(f"{_line(entry)}\n" for entry in entries).encode("ascii")
    if not text:
        return
    try:
        file = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o666)
        try:
            fcntl.flock(file, fcntl.LOCK_EX)  # let go when the file is closed
            size = os.fstat(file).st_size
            is_cut_off = size > 0 and os.pread(file, 1, size - 1) != b"\n"
            text = b"\n" * is_cut_off + text
            if os.write(file, text) != len(text):
                raise OSError(None, "only part of it could be written: is the disk full?")
            os.fsync(file)
        finally:
            os.close(file)
        if not size:
            _keep_name(Path(path).absolute().parent)
    except OSError as error:
        message = f"{path}: cannot be written: {error.strerror or error}; what was there is kept"
        raise ShrinkageError(message) from None


def _keep_name(folder: Path) -> None:
    """Make a new file's name safe on the disk too."""
    file = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(file)
    finally:
        os.close(file)


def _line(entry: Entry) -> str:
    """Return an entry as one line of JSON, in ASCII, so that a cut never falls inside a letter."""
    raw = asdict(entry) | {"day": entry.day.isoformat()}
    return json.dumps({"unit": UNITS[entry.kind]} | raw, allow_nan=False)


def read(path: str | Path) -> tuple[list[Entry], list[str]]:
    """Read a log.

    Parameters
    ----------
    path : str or Path
        The log.

    Returns
    -------
    entries : list of Entry
        In the order they were added, copies and contradictions set aside.
    problems : list of str
        What was set aside, by file and line; the rest is kept.

    Raises
    ------
    ShrinkageError
        If the file is not there or cannot be read.
    """
    try:
        lines = Path(path).read_bytes().split(b"\n")
    except FileNotFoundError:
        raise ShrinkageError(f"{path}: no such file; accepted: a site log ({SUFFIX})") from None
    except OSError as error:
        raise ShrinkageError(f"{path}: cannot be read: {error.strerror or error}") from None
    entries, problems = [], []
    for number, line in enumerate(lines, start=1):
        if line.strip():
            try:
                entries.append(_entry(line))
            except ShrinkageError as error:
                problems.append(f"{path} line {number}: {error.message}; set aside")
    kept, twice = sort_out(entries)
    return kept, problems + [f"{path}: {problem}" for problem in twice]


@dataclass(frozen=True)
class Compared:
    """Readings held against a log.

    Parameters
    ----------
    logged : tuple of Entry
        What the log holds.
    new : tuple of Entry
        Those to add to it.
    again : tuple of Entry
        Those it holds already, value and all.
    problems : tuple of str
        What was set aside, in the log and of the readings that contradict it.
    """

    logged: tuple[Entry, ...]
    new: tuple[Entry, ...]
    again: tuple[Entry, ...]
    problems: tuple[str, ...]

    @property
    def given(self) -> tuple[Entry, ...]:
        """The readings that were given and stand, with the moistures logged before."""
        metered = [entry for entry in self.logged if entry.kind == "moisture"]
        return (*(one for one in metered if one not in self.again), *self.again, *self.new)


def compare(entries: Iterable[Entry], path: str | Path) -> Compared:
    """Hold readings against a log before they are added to it.

    Parameters
    ----------
    entries : iterable of Entry
        What was read.
    path : str or Path
        The log; it need not be there yet.

    Returns
    -------
    Compared
        What is new, what is there already, and what contradicts it.
    """
    logged, problems = read(path) if os.path.lexists(path) else ([], [])
    values = {entry.key: entry.value for entry in logged}
    entries = list(entries)
    again = [entry for entry in entries if values.get(entry.key) == entry.value]
    new, against = sort_out([entry for entry in entries if entry not in again], logged)
    return Compared(tuple(logged), tuple(new), tuple(again), (*problems, *against))


_TYPES: dict[str, tuple[type, ...]] = {
    "kind": (str,), "place": (str,), "value": (int, float), "error": (int, float),
    "temperature": (int, float, type(None)), "as_written": (str,), "note": (str,),
    "reading": (int,), "source": (str,), "day": (str,), "unit": (str,),
}  # fmt: skip


def _entry(line: bytes) -> Entry:
    try:
        raw = json.loads(line)
    except (ValueError, RecursionError):
        raise ShrinkageError("cut off in mid-line, or not a reading") from None
    if not isinstance(raw, dict):
        raise ShrinkageError("not a reading")
    return _checked(raw)


def _checked(raw: dict[str, Any]) -> Entry:
    missing = [name.name for name in fields(Entry) if name.name not in raw]
    unknown = [key for key in raw if key not in _TYPES]
    wrong = [
        key for key, types in _TYPES.items()
        if key in raw and (not isinstance(raw[key], types) or isinstance(raw[key], bool))
    ]  # fmt: skip
    for what, keys in (("missing", missing), ("not known", unknown), ("of the wrong kind", wrong)):
        if keys:
            raise ShrinkageError(f"not a reading: {', '.join(keys)} {what}")
    unit = raw.pop("unit", None)
    try:
        day = date.fromisoformat(raw.pop("day"))
        value, error = float(raw.pop("value")), float(raw.pop("error"))
    except ValueError:
        raise ShrinkageError("not a reading: day is no date such as 2027-06-01") from None
    except OverflowError:
        raise ShrinkageError("not a reading: a number beyond all bounds") from None
    found = Entry(day=day, value=value, error=error, **raw)
    if unit not in (None, UNITS[found.kind]):
        raise ShrinkageError(f"unit {unit!r}; accepted: {UNITS[found.kind]}")
    return found
