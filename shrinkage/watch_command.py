"""The command ``watch JOB [LOG] -o OUT``: later readings against the forecast."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shrinkage.order import Order
    from shrinkage.site_log import Entry


def add_commands(commands: Any) -> None:
    """Add the command to the command line's parser.

    Parameters
    ----------
    commands : argparse subparsers
        What `ArgumentParser.add_subparsers` gave.
    """
    watch = commands.add_parser(
        "watch", help="hold later readings against the forecast, and forecast anew"
    )
    watch.add_argument("job", type=Path, metavar="JOB", help="job file (TOML) with its calendar")
    watch.add_argument(
        "log", type=Path, nargs="?", metavar="LOG",
        help="site log or CSV of readings; the log beside the job otherwise",
    )  # fmt: skip
    watch.add_argument("-o", "--out", type=Path, required=True, metavar="OUT", help="folder")
    watch.add_argument("--units", choices=("imperial", "metric"), help="instead of the job's own")
    watch.add_argument("--force", action="store_true", help="replace files that are there")
    watch.set_defaults(run=_watch)


def _watch(args: argparse.Namespace) -> int:
    from shrinkage.jobfile import read_job
    from shrinkage.order import order
    from shrinkage.site_log import log_path
    from shrinkage.watch import watch
    from shrinkage.watch_report import write_watch
    from shrinkage.watch_words import terminal

    answer = order(read_job(args.job))
    entries, problems = read_entries(args.log or log_path(args.job), answer)
    found = watch(answer, entries, problems=problems)
    written = write_watch(found, args.out, args.units, args.force)
    for problem in found.problems:
        print(problem, file=sys.stderr)
    print(terminal(found, args.units or answer.frame.job.units))
    print("\nWritten: " + ", ".join(str(path) for path in written))
    return 0


def read_entries(path: Path, answer: Order) -> tuple[list[Entry], list[str]]:
    """Read a site log, or a CSV of readings that give their dates.

    Parameters
    ----------
    path : Path
        The file; its ending tells which.
    answer : Order
        The job's, whose places a CSV may name.

    Returns
    -------
    entries : list of Entry
        The good ones.
    problems : list of str
        The others, by file and row.

    Raises
    ------
    ShrinkageError
        If the file cannot be read.
    """
    from shrinkage.measures import read_measures
    from shrinkage.site_log import read

    if path.suffix.lower() == ".csv":
        return read_measures(path, answer)
    return read(path)
