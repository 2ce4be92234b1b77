"""Reading a job file: TOML to a checked `Job`, every mistake named by file, line and key."""

from __future__ import annotations

import difflib
import re
import tomllib
import types
import typing
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from shrinkage.errors import ShrinkageError, quoted, shown
from shrinkage.job import BRANCHES, Job

LARGEST_BYTES = 200_000
"""A job file is a few kilobytes; anything near this is some other file."""
MOST_MISTAKES = 20
"""Mistakes listed at a time; a file with more of them is some other file."""
LONGEST_MESSAGE = 500
"""Letters of one mistake's message."""
LONGEST_HEAD = 200
"""Letters at the start of a line in which its key is looked for."""


@dataclass(frozen=True)
class Source:
    """Where a job came from, so that a mistake found late can still be named.

    Parameters
    ----------
    name : str
        What to call it in messages.
    text : str
        Its TOML text, to find lines in.
    folder : Path
        Where the files it names are looked for.
    """

    name: str = "job"
    text: str = ""
    folder: Path = Path()

    @contextmanager
    def at(self, *keys: str | int) -> Iterator[None]:
        """Put file, line and key before any mistake raised inside."""
        try:
            yield
        except ShrinkageError as error:
            raise ShrinkageError(f"{where(self, keys)}: {error.message}") from None


@dataclass(frozen=True)
class Document:
    """A job, checked field by field, and where it came from."""

    job: Job
    source: Source


def read_job(path: str | Path) -> Document:
    """Read and check a job file.

    Parameters
    ----------
    path : str or Path
        The TOML file.

    Returns
    -------
    Document
        Every field checked for itself.

    Raises
    ------
    ShrinkageError
        Naming the file, the line where it can be found, the key, the value and what is accepted;
        all mistakes at once, one a line.
    """
    path = Path(path)
    raw, text = read_toml(path)
    return check_job(raw, Source(str(path), text, path.parent))


def read_toml(path: Path) -> tuple[dict[str, Any], str]:
    """Read a TOML file that is no bigger than a job file can be.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    raw : dict
        Its contents.
    text : str
        As they are written.

    Raises
    ------
    ShrinkageError
        Naming the file and what is wrong.
    """
    text = _read_text(path)
    try:
        return tomllib.loads(text), text
    except (RecursionError, ValueError) as error:  # a TOMLDecodeError is a ValueError
        raise ShrinkageError(f"{path}: not valid TOML: {error}") from None


def _read_text(path: Path) -> str:
    accepted = "accepted: a job file of a few kilobytes"
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise ShrinkageError(f"{path}: over {LARGEST_BYTES // 1000} kB; {accepted}")
        if not path.is_file():  # a device may have no end, a pipe no beginning
            raise ShrinkageError(f"{path}: cannot be read: a folder or a device; {accepted}")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise ShrinkageError(f"{path}: no such file; accepted: a job file (TOML)") from None
    except UnicodeDecodeError:
        raise ShrinkageError(f"{path}: not UTF-8 text; accepted: a job file (TOML)") from None
    except OSError as error:
        raise ShrinkageError(f"{path}: cannot be read: {error.strerror}") from None


def check_job(raw: dict[str, Any], source: Source | None = None) -> Document:
    """Check a job given as a mapping, as a notebook edits it.

    Parameters
    ----------
    raw : dict
        As TOML gives it.
    source : Source, optional
        Where it came from.

    Returns
    -------
    Document
        Every field checked for itself.

    Raises
    ------
    ShrinkageError
        As `read_job`.
    """
    source = source or Source()
    try:
        return Document(Job.model_validate(raw), source)
    except ValidationError as error:
        problems = error.errors(include_url=False)
        lines = [_explain(problem, source) for problem in problems[:MOST_MISTAKES]]
        if (more := len(problems) - MOST_MISTAKES) > 0:
            lines.append(f"{source.name}: and {more} more")
        raise ShrinkageError("\n".join(dict.fromkeys(lines))) from None


def read_field(key: str, value: Any) -> Any:
    """Read one value as the job file's model reads it.

    Parameters
    ----------
    key : str
        Its dotted key, such as 'eave.pitch' or 'timber.post.section'.
    value : object
        As TOML gives it.

    Raises
    ------
    ShrinkageError
        If the value is not accepted there; the message leaves the key out.
    """
    *path, name = key.split(".")
    model = _walk(Job, tuple(path)) or Job
    field = model.model_fields[name]
    try:
        return TypeAdapter(field.rebuild_annotation()).validate_python(value)
    except ValidationError as error:
        reasons = [_reason(problem) for problem in error.errors()]
        raise ShrinkageError("; ".join(dict.fromkeys(reasons))) from None


def where(source: Source, keys: tuple[str | int, ...]) -> str:
    """Return file, line and dotted key of a place in a job file, for the head of a message."""
    dotted = ".".join(map(shown, keys)) or "job"
    line = find_line(source.text, keys)
    return f"{source.name}{f' line {line}' if line else ''}: {dotted}"


def _explain(problem: Any, source: Source) -> str:
    """Turn one of pydantic's problems into a message of ours."""
    loc = _keys(problem)
    return f"{where(source, loc)}: {_reason(problem)}"


def _keys(problem: Any) -> tuple[str | int, ...]:
    return tuple(part for part in problem["loc"] if part not in (*BRANCHES, "[key]"))


def _reason(problem: Any) -> str:
    """Say what is wrong and what is accepted, without the place."""
    kind, loc = problem["type"], _keys(problem)
    if kind == "extra_forbidden":
        keys = accepted_keys(loc[:-1])
        near = difflib.get_close_matches(str(loc[-1]), keys, n=1)
        hint = f" (did you mean {near[0]}?)" if near else ""
        return f"no such key{hint}; accepted: {', '.join(keys)}"
    if kind == "missing":
        return "missing; accepted: a value for it"
    if kind == "value_error":
        error = problem["ctx"]["error"]
        if not isinstance(error, ShrinkageError):  # its message could not be written
            return f"{quoted(problem['input'])}; accepted: a value of a usual size"
        return _without_name(_shorter(str(error), problem["input"]))
    if kind == "literal_error":
        return f"{quoted(problem['input'])}; accepted: {problem['ctx']['expected']}"
    wish = re.sub(r"^(Input should be |String should have )(a valid )?", "", problem["msg"])
    return f"{quoted(problem['input'])}; accepted: {wish}"


def _shorter(message: str, value: Any) -> str:
    """Return a message of a reader's, a long value in it shortened."""
    if len(message) > LONGEST_MESSAGE:
        message = message.replace(repr(value), quoted(value))
    if len(message) > LONGEST_MESSAGE:  # the value was taken apart: its start and what is accepted
        message = f"{message[:200]} ... {message[-200:]}"
    return message


def _without_name(message: str) -> str:
    """Drop the generic name a field's reader puts first: the dotted key says it better."""
    names = "length|percentage|section|heart|moisture|temperature|pitch|divide|layout|date"
    names += "|pressure|density|force|volume"
    return re.sub(rf"^({names}): ", "", message)


def _walk(model: Any, keys: tuple[str | int, ...]) -> type[BaseModel] | None:
    """Follow keys through the models' annotations to the table they name."""
    for key in keys:
        if isinstance(key, int):
            continue
        if not (isinstance(model, type) and issubclass(model, BaseModel)):
            return None
        field = model.model_fields.get(key)
        if field is None:
            continue  # the name of a timber or of an own species
        model = _model_in(field.annotation)
    return model if isinstance(model, type) and issubclass(model, BaseModel) else None


def _model_in(annotation: Any) -> Any:
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        return annotation
    for part in typing.get_args(annotation):
        found = _model_in(part)
        if isinstance(found, type) and issubclass(found, BaseModel):
            return found
    return None


def accepted_keys(keys: tuple[str | int, ...]) -> list[str]:
    """Return the keys a table of the job file may hold."""
    model = _walk(Job, tuple(key for key in keys))
    return list(model.model_fields) if model else []


def find_line(text: str, keys: tuple[str | int, ...]) -> int | None:
    """Return the line of a job file on which a key stands, or its table's.

    Parameters
    ----------
    text : str
        The TOML text.
    keys : tuple of str or int
        Path of keys, with list positions from 0.

    Returns
    -------
    int or None
        Line from 1, None where neither key nor table is found.
    """
    table: list[str | int] = []
    counts: dict[tuple[str | int, ...], int] = {}
    best, deepest = None, 0
    for number, line in enumerate((x[:LONGEST_HEAD] for x in text.splitlines()), start=1):
        if header := re.match(r"\s*(\[\[?)\s*([^\]#]+?)\s*\]", line):
            table = _open_table(header[2], header[1] == "[[", counts)
            here = tuple(table)
        elif assign := re.match(r"\s*([\w\"'.-]+)\s*=", line):
            here = (*table, *(part.strip("\"' ") for part in assign[1].split(".")))
        else:
            continue
        if here == keys[: len(here)] and len(here) > deepest:
            best, deepest = number, len(here)
    return best


def _open_table(
    dotted: str, is_list: bool, counts: dict[tuple[str | int, ...], int]
) -> list[str | int]:
    """Return the path a table header opens, counting the tables of each list."""
    path: list[str | int] = []
    parts = [part.strip("\"' ") for part in dotted.split(".")]
    for depth, part in enumerate(parts):
        path.append(part)
        last = depth == len(parts) - 1
        if last and is_list:
            counts[tuple(path)] = counts.get(tuple(path), -1) + 1
        if tuple(path) in counts:
            path.append(counts[tuple(path)])
    return path
