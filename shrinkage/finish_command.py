"""The command ``finishes JOB -o OUT``: a sheet of finish work and joinery."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any


def add_commands(commands: Any) -> None:
    """Add the command to the command line's parser.

    Parameters
    ----------
    commands : argparse subparsers
        What `ArgumentParser.add_subparsers` gave.
    """
    finishes = commands.add_parser(
        "finishes", help="write a sheet of finishes and joinery (Markdown, HTML with pictures)"
    )
    finishes.add_argument("job", type=Path, metavar="JOB", help="job file (TOML)")
    finishes.add_argument("-o", "--out", type=Path, required=True, metavar="OUT", help="folder")
    finishes.add_argument(
        "--units", choices=("imperial", "metric"), help="instead of the job's own"
    )
    finishes.add_argument("--force", action="store_true", help="replace files that are there")
    finishes.set_defaults(run=_finishes)


def _finishes(args: argparse.Namespace) -> int:
    from shrinkage.finish_sheet import write_finishes
    from shrinkage.jobfile import read_job

    written = write_finishes(read_job(args.job), args.out, args.units, args.force)
    print("Written: " + ", ".join(str(path) for path in written))
    return 0
