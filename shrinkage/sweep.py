"""Many variants of a job as one tidy table, on any executor, kept on disk as it grows.

A study names a job file and lists of values by key. Every combination is worked out; a row is one
kind of joint of one variant. Rows are written in parts, each whole or not there; a study that was
interrupted goes on with the parts that are missing, and refuses parts of another study.
"""

from __future__ import annotations

import itertools
import json
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, wait
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from shrinkage.chance import chance
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import Source, check_job
from shrinkage.order import order
from shrinkage.sampled import Progress
from shrinkage.spread import need, spread_of
from shrinkage.study import Study as Study
from shrinkage.study import changed as changed
from shrinkage.study import read_study as read_study
from shrinkage.whatif import widest_of_each_kind
from shrinkage.workbook import safe

if TYPE_CHECKING:
    import pandas as pd

SUFFIXES = (".csv", ".parquet")
NOTE = "study.json"
"""Says in the folder of the parts which study they are of."""


class Executor(Protocol):
    """What a study needs of an executor: that of `concurrent.futures`, of Dask, of others."""

    def submit(self, fn: Any, /, *args: Any) -> Any:
        """Start a call and return its future."""


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
        If the file is there, its name has another ending, parts of another study lie there, or
        they cannot be written; what is whole by then is kept.
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
    try:
        _fill(parts, out, study, batch, executor, ahead, progress)
    except (OSError, BrokenExecutor) as error:
        reason = getattr(error, "strerror", None) or error
        raise ShrinkageError(
            f"{out}: cannot be written: {reason}; the same command goes on from {parts}"
        ) from None
    return out


def _fill(
    parts: Path, out: Path, study: Study, batch: int, executor: Executor | None, ahead: int,
    progress: Progress | None,
) -> None:  # fmt: skip
    """Work out the parts that are missing, join them, and remove them."""
    spans = [(at, min(at + batch, len(study))) for at in range(0, len(study), batch)]
    missing = [span for span in spans if not _part(parts, span).exists()]
    done = len(spans) - len(missing)
    for span, rows in _worked(study, missing, executor, ahead):
        _write(_part(parts, span), _table(rows, study), is_csv=out.suffix == ".csv")
        done += 1
        if progress is not None:
            progress(done / len(spans))
    _join([_part(parts, span) for span in spans], out)
    # The note last: parts without it could be taken for another study's.
    for path in sorted(parts.iterdir(), key=lambda path: path.name == NOTE):
        path.unlink()
    parts.rmdir()


def _folder(out: Path, study: Study, batch: int) -> Path:
    """Return the folder of the parts, made or found; refuse one of another study."""
    parts = out.with_name(out.name + ".parts")
    mark = json.dumps({"study": study.mark, "batch": batch})
    note = parts / NOTE
    try:
        parts.mkdir(parents=True, exist_ok=True)
        if not note.exists():
            with _whole(note) as draft:
                draft.write_text(mark)
        known = note.read_text(errors="replace")
    except OSError as error:
        raise ShrinkageError(f"{parts}: cannot be written: {error.strerror}") from None
    if known != mark:
        raise ShrinkageError(
            f"{parts}: parts of another study, or of other batches; accepted: the same again, or "
            "remove that folder"
        )
    return parts


@contextmanager
def _whole(path: Path) -> Iterator[Path]:
    """Give a passing name to write a file under; it gets its own when it is whole."""
    draft = path.with_name(path.name + ".unfinished")
    try:
        yield draft
        os.replace(draft, path)
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


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


def _table(rows: list[dict[str, Any]], study: Study) -> pd.DataFrame:
    import pandas as pd

    names = ["variant", *study.vary, *COLUMNS, *(CHANCES if study.draws else ()), "error"]
    return pd.DataFrame(rows, columns=names)


def _write(path: Path, table: pd.DataFrame, is_csv: bool) -> None:
    """Write one part; one that goes into a CSV must hold nothing a spreadsheet would run."""
    with _whole(path) as draft:
        (safe(table) if is_csv else table).to_csv(draft, index=False)


def _join(parts: Sequence[Path], out: Path) -> None:
    """Put the parts together, one in memory at a time."""
    with _whole(out) as draft:
        if out.suffix == ".parquet":
            _join_parquet(parts, draft)
            return
        with draft.open("w", encoding="utf-8", newline="") as whole:
            for number, path in enumerate(parts):
                with path.open(encoding="utf-8", newline="") as part:
                    head = part.readline()
                    whole.write(head if number == 0 else "")
                    whole.writelines(part)


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
