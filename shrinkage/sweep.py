"""Many variants of a job as one tidy table, on any executor, kept on disk as it grows.

A study names a job file and lists of values by key. Every combination is worked out; a row is one
kind of joint of one variant. Rows are written in parts, each whole or not there; a study that was
interrupted goes on with the parts that are missing, and refuses parts of another study.
"""

from __future__ import annotations

import copy
import hashlib
import itertools
import json
import math
import os
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from shrinkage.chance import chance
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import Source, check_job
from shrinkage.order import order
from shrinkage.sampled import Progress
from shrinkage.spread import need, spread_of
from shrinkage.whatif import widest_of_each_kind

if TYPE_CHECKING:
    import pandas as pd

MOST_VARIANTS = 5_000_000
SUFFIXES = (".csv", ".parquet")
EVERY = "*"
"""In a key: every timber of the job."""


class Executor(Protocol):
    """What a study needs of an executor: that of `concurrent.futures`, of Dask, of others."""

    def submit(self, fn: Any, /, *args: Any) -> Any:
        """Start a call and return its future."""


@dataclass(frozen=True)
class Study:
    """A job and what varies in it.

    Parameters
    ----------
    raw : dict
        The job, as TOML gives it.
    vary : dict of str to list
        Values by dotted key, such as ``timber.plate.section``; ``timber.*.heart`` is every timber.
        A key with ``+`` moves several at once: ``timber.plate.section+timber.post.section``.
    folder : Path
        Where the files the job names are looked for.
    draws : int
        Draws for the chance of touching; 0 leaves it out.

    Raises
    ------
    ShrinkageError
        If nothing varies, a list is empty, or there are too many combinations.
    """

    raw: dict[str, Any]
    vary: dict[str, list[Any]]
    folder: Path = Path()
    draws: int = 0

    def __post_init__(self) -> None:
        if not self.vary:
            raise ShrinkageError("vary: nothing to vary; accepted: lists of values by key")
        for key, values in self.vary.items():
            if not isinstance(values, list) or not values:
                raise ShrinkageError(f"vary.{key}: {values!r}; accepted: a list of values")
            for part in key.split("+"):
                _targets(self.raw, part)
        if len(self) > MOST_VARIANTS:
            raise ShrinkageError(f"{len(self)} variants; accepted: up to {MOST_VARIANTS}")

    def __len__(self) -> int:
        return math.prod(len(values) for values in self.vary.values())

    def variant(self, number: int) -> dict[str, Any]:
        """Return the values of one combination by key, the last key turning fastest."""
        found = {}
        for key, values in reversed(self.vary.items()):
            number, at = divmod(number, len(values))
            found[key] = values[at]
        return dict(reversed(found.items()))

    @property
    def mark(self) -> str:
        """What tells this study from another: a hash of all that goes into it."""
        text = json.dumps([self.raw, self.vary, self.draws], sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()


def read_study(path: str | Path) -> Study:
    """Read a study: ``job``, ``draws`` and a table ``vary``.

    Parameters
    ----------
    path : str or Path
        The TOML file; the job is looked for beside it.

    Raises
    ------
    ShrinkageError
        Naming the file and what is wrong.
    """
    path = Path(path)
    raw = _toml(path)
    unknown = set(raw) - {"job", "draws", "vary"}
    if unknown or not isinstance(raw.get("job"), str) or not isinstance(raw.get("vary"), dict):
        wrong = f"{sorted(unknown)[0]!r}" if unknown else "job or [vary] is missing"
        raise ShrinkageError(f"{path}: {wrong}; accepted: job (a file), draws, and a table [vary]")
    draws = raw.get("draws", 0)
    if not isinstance(draws, int) or not (draws == 0 or 16 <= draws <= 2**20):
        raise ShrinkageError(f"{path}: draws {draws!r}; accepted: 0, or 16 to {2**20}")
    job = path.parent / raw["job"]
    return Study(_toml(job), raw["vary"], job.parent, draws)


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ShrinkageError(f"{path}: cannot be read: {error.strerror}") from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ShrinkageError(f"{path}: not valid TOML: {error}") from None


def _targets(raw: Mapping[str, Any], key: str) -> list[list[str]]:
    """Return the paths a dotted key stands for; its table must be there."""
    names = key.split(".")
    if names[:2] == ["timber", EVERY]:
        return [["timber", role, *names[2:]] for role in raw.get("timber", {})]
    at: Any = raw
    for name in names[:-1]:
        if name in ("foam", "allow", "corner", "foot", "spread") and name not in at:
            return [names]  # a table that may be left out
        if not isinstance(at, Mapping) or not isinstance(at.get(name), Mapping):
            raise ShrinkageError(
                f"vary.{key}: no table {name!r} in the job; accepted: keys such as eave.pitch, "
                "timber.plate.section, timber.*.heart"
            )
        at = at[name]
    return [names]


def changed(raw: Mapping[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return a job's mapping with values put in by dotted key, the original untouched.

    Parameters
    ----------
    raw : dict
        As TOML gives it.
    values : dict
        By key, see `Study`.
    """
    new = copy.deepcopy(dict(raw))
    for key, value in values.items():
        for part in key.split("+"):
            for *tables, name in _targets(raw, part):
                at = new
                for table in tables:
                    at = at.setdefault(table, {})
                at[name] = value
    return new


def work(study: Study, start: int, stop: int) -> list[dict[str, Any]]:
    """Work out some variants of a study.

    Parameters
    ----------
    study : Study
        What varies.
    start, stop : int
        Which variants.

    Returns
    -------
    list of dict
        A row a kind of joint: the variant's values, closure, gap, what comes off, what governs
        [mm]; a variant that is refused is one row with its reason under 'error'.
    """
    rows: list[dict[str, Any]] = []
    for number in range(start, stop):
        values = study.variant(number)
        head = {"variant": number} | {key: _cell(value) for key, value in values.items()}
        try:
            document = check_job(changed(study.raw, values), Source(folder=study.folder))
            answer = order(document)
            spread = spread_of(document.job, document.source)
            for one in widest_of_each_kind(answer):
                row = {
                    "joint": one.joint.name, "kind": one.joint.kind,
                    "closing_estimate_mm": round(one.driest.estimate, 3),
                    "closing_most_mm": round(one.closing, 3),
                    "gap_mm": round(one.gap, 3), "off_panel_mm": round(one.off, 3),
                    "foam_squeeze_percent": round(100 * one.foam_strain, 2),
                    "governs": one.governs.name, "status": one.status,
                }  # fmt: skip
                if study.draws:
                    found = chance(one, answer.frame.rules, spread, draws=study.draws)
                    row |= {"gap_certain_mm": round(found.gap, 3), "touching": found.touching,
                            "short": found.short}  # fmt: skip
                rows.append(head | row | {"error": ""})
        except ShrinkageError as error:
            rows.append(head | {"error": error.message})
    return rows


def _cell(value: Any) -> Any:
    """Return a value as one cell of a table."""
    return value if isinstance(value, (str, int, float)) else json.dumps(value, default=str)


COLUMNS = ("joint", "kind", "closing_estimate_mm", "closing_most_mm", "gap_mm", "off_panel_mm",
           "foam_squeeze_percent", "governs", "status")  # fmt: skip
CHANCES = ("gap_certain_mm", "touching", "short")


def sweep(
    study: Study, out: str | Path, executor: Executor | None = None, batch: int = 50,
    ahead: int = 16, progress: Progress | None = None, force: bool = False,
) -> Path:  # fmt: skip
    """Work out a study into one file, going on where it was interrupted.

    Parameters
    ----------
    study : Study
        What varies.
    out : str or Path
        Ends in ``.csv`` or ``.parquet`` (needs pyarrow). Parts are kept in ``OUT.parts`` beside it
        until it is whole.
    executor : Executor, optional
        Anything with ``submit``, such as a `concurrent.futures.ProcessPoolExecutor` or
        ``dask.distributed.Client(...).get_executor()``; this process otherwise.
    batch : int
        Variants in a part.
    ahead : int
        Parts handed out at a time, so that memory does not grow with the study.
    progress : callable, optional
        Told how far it is, from 0 to 1.
    force : bool
        Whether a file that is there may be replaced.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    ShrinkageError
        If the file is there, its name has another ending, or parts of another study lie there.
    """
    out = Path(out)
    if out.suffix not in SUFFIXES:
        raise ShrinkageError(f"{out}: ends in {out.suffix!r}; accepted: {' or '.join(SUFFIXES)}")
    if out.exists() and not force:
        raise ShrinkageError(f"{out}: already there; accepted: another name, or --force to replace")
    if batch < 1 or ahead < 1:
        raise ShrinkageError(f"batch {batch}, ahead {ahead}; accepted: 1 or more")
    if out.suffix == ".parquet":
        _pyarrow()
    parts = _folder(out, study, batch)
    spans = [(at, min(at + batch, len(study))) for at in range(0, len(study), batch)]
    missing = [span for span in spans if not _part(parts, span).exists()]
    done = len(spans) - len(missing)
    for span, rows in _worked(study, missing, executor, ahead):
        _write(_part(parts, span), rows, study)
        done += 1
        if progress is not None:
            progress(done / len(spans))
    _join([_part(parts, span) for span in spans], out)
    for path in parts.iterdir():
        path.unlink()
    parts.rmdir()
    return out


def _folder(out: Path, study: Study, batch: int) -> Path:
    """Return the folder of the parts, made or found; refuse one of another study."""
    parts = out.with_name(out.name + ".parts")
    mark = json.dumps({"study": study.mark, "batch": batch})
    note = parts / "study.json"
    if note.exists() and note.read_text() != mark:
        raise ShrinkageError(
            f"{parts}: parts of another study, or of other batches; accepted: the same again, or "
            "remove that folder"
        )
    try:
        parts.mkdir(parents=True, exist_ok=True)
        note.write_text(mark)
    except OSError as error:
        raise ShrinkageError(f"{parts}: cannot be written: {error.strerror}") from None
    return parts


def _part(parts: Path, span: tuple[int, int]) -> Path:
    return parts / f"{span[0]:09d}.csv"


def _worked(
    study: Study, spans: Sequence[tuple[int, int]], executor: Executor | None, ahead: int
) -> Iterator[tuple[tuple[int, int], list[dict[str, Any]]]]:
    """Yield parts as they are ready, never more than some ahead."""
    if executor is None:
        for span in spans:
            yield span, work(study, *span)
        return
    waiting = iter(spans)
    running: dict[Future[list[dict[str, Any]]], tuple[int, int]] = {}
    try:
        for span in itertools.islice(waiting, ahead):
            running[executor.submit(work, study, *span)] = span
        while running:
            ready, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in ready:
                span = running.pop(future)
                yield span, future.result()
                after = next(waiting, None)
                if after is not None:
                    running[executor.submit(work, study, *after)] = after
    finally:
        for future in running:
            future.cancel()


def _write(path: Path, rows: list[dict[str, Any]], study: Study) -> None:
    """Write one part under a passing name, then rename it."""
    import pandas as pd

    names = ["variant", *study.vary, *COLUMNS, *(CHANCES if study.draws else ()), "error"]
    draft = path.with_suffix(".unfinished")
    pd.DataFrame(rows, columns=names).to_csv(draft, index=False)
    os.replace(draft, path)


def _join(parts: Sequence[Path], out: Path) -> None:
    """Put the parts together, one in memory at a time."""
    draft = out.with_name(out.name + ".unfinished")
    if out.suffix == ".csv":
        with draft.open("w", encoding="utf-8", newline="") as whole:
            for number, path in enumerate(parts):
                with path.open(encoding="utf-8", newline="") as part:
                    head = part.readline()
                    whole.write(head if number == 0 else "")
                    whole.writelines(part)
    else:
        _join_parquet(parts, draft)
    os.replace(draft, out)


def _join_parquet(parts: Sequence[Path], draft: Path) -> None:
    arrow, parquet = _pyarrow()
    first = read(parts[0])
    names = [str(name) for name in first]
    numbers = {name for name in names if name.endswith(("_mm", "_percent")) or name in CHANCES}
    kinds = {name: arrow.float64() for name in numbers} | {"variant": arrow.int64()}
    schema = arrow.schema([(name, kinds.get(name, arrow.string())) for name in names])
    with parquet.ParquetWriter(draft, schema) as writer:
        for path in parts:
            table = read(path)
            for name in set(names) - set(kinds):
                table[name] = table[name].astype("string").fillna("")
            writer.write_table(arrow.Table.from_pandas(table, schema, preserve_index=False))


def _pyarrow() -> tuple[Any, Any]:
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        raise need("sweep", "pyarrow") from None
    return pyarrow, pyarrow.parquet


def read(path: str | Path) -> pd.DataFrame:
    """Read a study's table.

    Parameters
    ----------
    path : str or Path
        CSV or Parquet.

    Returns
    -------
    pandas.DataFrame
        One row a kind of joint of a variant.
    """
    import pandas as pd

    path = Path(path)
    return pd.read_parquet(path) if path.suffix == ".parquet" else pd.read_csv(
        path, keep_default_na=False, na_values=[""])  # fmt: skip
