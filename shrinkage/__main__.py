"""The command line: ``python -m shrinkage order JOB -o OUT``, ``check JOB``, ``new NAME``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from shrinkage.errors import ShrinkageError


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="shrinkage",
        description="How much shorter than its opening to order each panel on a green frame.",
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    order = commands.add_parser("order", help="work out a job: panel schedule and worksheet")
    order.add_argument("job", type=Path, metavar="JOB", help="job file (TOML)")
    order.add_argument("-o", "--out", type=Path, required=True, metavar="OUT", help="folder")
    order.add_argument("--units", choices=("imperial", "metric"), help="instead of the job's own")
    order.add_argument("--force", action="store_true", help="replace files that are there")
    order.set_defaults(run=_order)
    check = commands.add_parser("check", help="only say whether a job file is sound")
    check.add_argument("job", type=Path, metavar="JOB", help="job file (TOML)")
    check.set_defaults(run=_check)
    new = commands.add_parser("new", help="write a commented job file to start from")
    new.add_argument("name", type=Path, metavar="NAME", help="file to write; ends in .toml")
    new.add_argument("--force", action="store_true", help="replace the file if it is there")
    new.set_defaults(run=_new)
    return parser


def _order(args: argparse.Namespace) -> int:
    from shrinkage.export import write_order
    from shrinkage.jobfile import read_job
    from shrinkage.order import order
    from shrinkage.schedule import terminal

    answer = order(read_job(args.job))
    written = write_order(answer, args.out, args.units, args.force)
    print(terminal(answer, args.units))
    print("\nWritten: " + ", ".join(str(path) for path in written))
    return 0


def _check(args: argparse.Namespace) -> int:
    from shrinkage.foam_answer import failing
    from shrinkage.jobfile import read_job
    from shrinkage.order import order

    answer = order(read_job(args.job))
    walls, panels = len(answer.frame.job.wall), len(answer.panels)
    print(f"{args.job}: sound; {walls} wall(s), {panels} panel(s)")
    for problem in answer.problems:
        print(f"{args.job}: {problem.joint.name}: {problem.status}; see the order for what else")
    for one in failing(answer):
        if one.life.answer not in answer.problems:
            print(f"{args.job}: {one.name}: foam {one.status}; see the order for what else")
    return 0


def _new(args: argparse.Namespace) -> int:
    from shrinkage.export import write_all
    from shrinkage.tables import STARTER, data_folder

    path = args.name
    if path.name in ("", ".."):
        raise ShrinkageError(f"{path}: names no file; accepted: a name such as mine.toml")
    if path.suffix != ".toml":
        path = path.with_name(path.name + ".toml")
    text = (data_folder() / STARTER).read_text(encoding="utf-8")
    write_all(path.parent, {path.name: lambda draft: draft.write_text(text, "utf-8")}, args.force)
    print(f"Written: {path}. Edit it, then: python -m shrinkage order {path} -o OUT")
    return 0


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Instead of the process's own arguments.

    Returns
    -------
    int
        0, or 2 where the user's input or files are at fault; the reason goes to standard error.
    """
    args = _parser().parse_args(argv)
    try:
        return int(args.run(args))
    except ShrinkageError as error:
        print(error.message, file=sys.stderr)
        return 2
    except BrokenPipeError:
        # The reader of our output went away; that is no fault of the job.
        sys.stderr.close()
        return 0


if __name__ == "__main__":
    sys.exit(main())
