"""Runs what the pages show: Python blocks, console blocks, and tables of a job file.

A fenced ``python`` block runs after those above it on its page, in one namespace. A ``text`` block
right below it is what it prints. In a ``console`` block every line after ``$`` is a command of this
package, and the lines below are what it prints. A ``toml`` block is put in place of the same tables
of the example job, which must stay sound; one that starts with a file name in a remark is written
to that file. ``...`` alone on a line stands for lines left out. All of a page's blocks run in one
empty folder, which holds a copy of the example jobs under ``data``.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import shutil
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

DOCS = Path(__file__).resolve().parent
JOBS = ("workshop.toml", "starter.toml")
FENCE = re.compile(r"^```(python|console|toml|text)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
FILE = re.compile(r"# (\w+\.toml)\n")
COMMAND = "python -m shrinkage "
LEFT_OUT = "..."


class ExampleError(AssertionError):
    """A page does not say what the package does."""


@dataclass(frozen=True)
class Block:
    """One fenced block: where it stands, its kind, its text and, of Python, what it prints."""

    page: str
    line: int
    kind: str
    text: str
    prints: str | None = None


def blocks(path: Path) -> list[Block]:
    """Read the blocks of a page that can be run, in order."""
    page = path.read_text(encoding="utf-8")
    found: list[Block] = []
    last_end = 0
    for match in FENCE.finditer(page):
        kind, text = match.groups()
        if kind == "text":
            if found and found[-1].kind == "python" and not page[last_end : match.start()].strip():
                found[-1] = replace(found[-1], prints=text)
        else:
            line = page.count("\n", 0, match.start()) + 1
            found.append(Block(path.name, line, kind, text))
        last_end = match.end()
    return found


def matches(shown: str, printed: str) -> bool:
    """Whether a page shows what was printed; ``...`` stands for any lines."""
    parts = [re.escape(line.rstrip()) for line in shown.rstrip().splitlines()]
    pattern = "".join(
        "(?:.*\n)*?" if part == re.escape(LEFT_OUT) else part + "\n" for part in parts
    )
    lines = "".join(line.rstrip() + "\n" for line in printed.rstrip().splitlines())
    return re.fullmatch(pattern, lines) is not None


def commands(text: str) -> list[tuple[str, str]]:
    """Return (command, what it prints) of a console block."""
    found: list[tuple[str, str]] = []
    for line in text.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], ""))
        else:
            command, shown = found.pop()
            found.append((command, f"{shown}{line}\n"))
    return found


@contextlib.contextmanager
def workplace() -> Iterator[Path]:
    """Work in an empty folder that holds the example jobs, and come back."""
    home = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        data.mkdir()
        for name in JOBS:
            shutil.copy(DOCS.parent / "data" / name, data / name)
        os.chdir(folder)
        try:
            yield Path(folder)
        finally:
            os.chdir(home)


def _said(block: Block, what: str, shown: str, printed: str) -> None:
    if not matches(shown, printed):
        raise ExampleError(f"{block.page}:{block.line}: {what} prints\n{printed}\nnot\n{shown}")


def _run_console(block: Block) -> None:
    from shrinkage.__main__ import main

    for command, shown in commands(block.text):
        if not command.startswith(COMMAND):
            raise ExampleError(f"{block.page}:{block.line}: {command}: not a command of ours")
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main(shlex.split(command.removeprefix(COMMAND), comments=True))
        # A bar of progress writes over itself, and only where a machine is slow.
        faults = [line for line in err.getvalue().split("\n") if "\r" not in line]
        _said(block, command, shown, out.getvalue() + "\n".join(faults))


def _run_python(block: Block, names: dict[str, Any]) -> None:
    out = io.StringIO()
    code = compile("\n" * block.line + block.text, block.page, "exec")
    with contextlib.redirect_stdout(out):
        exec(code, names)
    if block.prints is not None or out.getvalue():
        _said(block, "the block", block.prints or "", out.getvalue())


def _take_toml(block: Block) -> None:
    from shrinkage.jobfile import check_job

    if named := FILE.match(block.text):
        Path(named[1]).write_text(block.text, encoding="utf-8")
        return
    job = tomllib.loads((DOCS.parent / "data" / JOBS[0]).read_text(encoding="utf-8"))
    for key, given in tomllib.loads(block.text).items():
        whole = isinstance(given, dict) and isinstance(job.get(key), dict)
        job[key] = job[key] | given if whole else given
    check_job(job)


def run(path: Path) -> int:
    """Run the blocks of a page.

    Parameters
    ----------
    path : Path
        A Markdown file.

    Returns
    -------
    int
        How many were run.

    Raises
    ------
    ExampleError
        Where something prints other than the page shows.
    """
    names: dict[str, Any] = {"__name__": path.stem}
    found = blocks(path)
    with workplace():
        for block in found:
            if block.kind == "python":
                _run_python(block, names)
            elif block.kind == "console":
                _run_console(block)
            else:
                _take_toml(block)
    return len(found)


def run_all(folder: Path = DOCS) -> int:
    """Run the examples of every page; return how many there are."""
    return sum(run(path) for path in sorted(folder.glob("*.md")))
