"""The command ``found JOB MEASURES.csv -o OUT``: gaps as they were found on site, into the log."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shrinkage.errors import ShrinkageError

if TYPE_CHECKING:
    from shrinkage.order import Order
    from shrinkage.site_log import Compared


def add_commands(commands: Any) -> None:
    """Add the command to the command line's parser.

    Parameters
    ----------
    commands : argparse subparsers
        What `ArgumentParser.add_subparsers` gave.
    """
    found = commands.add_parser(
        "found", help="say what to do about gaps as measured on site, and log them"
    )
    found.add_argument("job", type=Path, metavar="JOB", help="job file (TOML)")
    found.add_argument("measures", type=Path, nargs="?", metavar="MEASURES", help="CSV of readings")
    found.add_argument("-o", "--out", type=Path, metavar="OUT", help="folder")
    found.add_argument("--day", type=_day, help="of rows without a date, such as 2027-06-01")
    found.add_argument("--log", type=Path, metavar="FILE", help="instead of the log by the job")
    found.add_argument("--units", choices=("imperial", "metric"), help="instead of the job's own")
    found.add_argument("--force", action="store_true", help="replace files that are there")
    found.add_argument(
        "--template", type=Path, metavar="FILE", help="only write a CSV to be filled in"
    )
    found.set_defaults(run=_found)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        message = f"cannot read {text!r}; accepted: a day such as 2027-06-01"
        raise argparse.ArgumentTypeError(message) from None


def _found(args: argparse.Namespace) -> int:
    from shrinkage.jobfile import read_job
    from shrinkage.order import order

    answer = order(read_job(args.job))
    if args.template:
        return _template(answer, args)
    if args.measures is None or args.out is None:
        raise ShrinkageError(
            "found: MEASURES and -o OUT are missing; accepted: both, or --template"
        )
    return _answer(answer, args)


def _template(answer: Order, args: argparse.Namespace) -> int:
    from shrinkage.export import write_all
    from shrinkage.measures import write_template

    path = args.template
    if path.name in ("", ".."):
        raise ShrinkageError(f"{path}: names no file; accepted: a name such as gaps.csv")
    write_all(path.parent, {path.name: lambda draft: write_template(answer, draft)}, args.force)
    print(f"Written: {path}. Fill it in, then: python -m shrinkage found {args.job} {path} -o OUT")
    return 0


def _answer(answer: Order, args: argparse.Namespace) -> int:
    from shrinkage.measures import read_measures
    from shrinkage.site_log import append, compare, log_path

    entries, problems = read_measures(args.measures, answer, args.day)
    log = args.log or log_path(args.job)
    held = compare(entries, log)
    shown = ""
    try:
        if not held.new and not held.again:
            raise ShrinkageError(f"{args.measures}: no row can be used; nothing written")
        if any(entry.kind == "gap" for entry in (*held.new, *held.again)):
            shown = _write(answer, held, args, problems)
    finally:
        # What is wrong with the rows is told even where something else stops the answer.
        for problem in (*problems, *held.problems):
            print(problem, file=sys.stderr)
    append(log, held.new)
    print(shown or "No gap among the readings: they are only logged.")
    there = f", {len(held.again)} there already" if held.again else ""
    print(f"Logged: {log}: {len(held.new)} new reading(s){there}")
    return 0


def _write(answer: Order, held: Compared, args: argparse.Namespace, problems: list[str]) -> str:
    """Write the files; return what the terminal shows."""
    from shrinkage.found import as_found
    from shrinkage.found_card import write_found
    from shrinkage.found_sheet import terminal

    result = as_found(answer, held.given, system=args.units)
    problems += result.problems
    written = write_found(result, args.out, args.units, args.force)
    return f"{terminal(result, args.units)}\n\nWritten: {', '.join(map(str, written))}"
