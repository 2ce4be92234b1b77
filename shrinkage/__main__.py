"""The command line: ``python -m shrinkage order JOB -o OUT``, ``check JOB``, ``new NAME``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from shrinkage import finish_command, ifc_command, site_commands, watch_command
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
    _handing_over(commands)
    _serving(commands)
    _studies(commands)
    finish_command.add_commands(commands)
    ifc_command.add_commands(commands)
    site_commands.add_commands(commands)
    watch_command.add_commands(commands)
    return parser


def _studies(commands: Any) -> None:
    """Add what an engineer asks beyond the order: the review and the sweep."""
    review = commands.add_parser("review", help="write a review report as PDF and HTML")
    review.add_argument("job", type=Path, metavar="JOB", help="job file (TOML)")
    review.add_argument("-o", "--out", type=Path, required=True, metavar="OUT", help="folder")
    review.add_argument("--units", choices=("imperial", "metric"), help="instead of the job's own")
    review.add_argument("--html", action="store_true", help="only the HTML, which needs no extra")
    review.add_argument("--force", action="store_true", help="replace files that are there")
    review.set_defaults(run=_review)
    sweep = commands.add_parser("sweep", help="work out many variants of a job as one table")
    sweep.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML)")
    sweep.add_argument("-o", "--out", type=Path, required=True, metavar="OUT",
                       help="table to write, .csv or .parquet")  # fmt: skip
    sweep.add_argument("--workers", type=int, default=1, help="processes to use")
    sweep.add_argument("--batch", type=int, default=50, help="variants in a part")
    sweep.add_argument("--force", action="store_true", help="replace the table if it is there")
    sweep.set_defaults(run=_sweep)


def _serving(commands: Any) -> None:
    """Add the two ways into a browser."""
    app = commands.add_parser("app", help="serve the notebooks as pages in a browser")
    lab = commands.add_parser("lab", help="open the notebooks in JupyterLab")
    for kind, command in (("app", app), ("lab", lab)):
        command.add_argument("--port", type=int, help="on this machine's own address")
        command.add_argument("--jobs", type=Path, metavar="FOLDER",
                             help="folder of your job files (else the current one)")  # fmt: skip
        command.add_argument("--no-open", action="store_true", help="open no browser")
        command.set_defaults(run=_serve, kind=kind, folder=None)
    lab.add_argument("--folder", type=Path, help="where your copies of the notebooks are kept")


def _serve(args: argparse.Namespace) -> int:
    import signal
    import webbrowser

    from shrinkage.app import serve

    # Ended from outside, the server it started must end too.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    opener = None if args.no_open else webbrowser.open
    serve(args.kind, args.port, args.folder, args.jobs, opener)
    return 0


def _review(args: argparse.Namespace) -> int:
    from shrinkage.jobfile import read_job
    from shrinkage.progress import Bar
    from shrinkage.review import write_review

    bar = Bar("Reviewing")
    try:
        written = write_review(
            read_job(args.job), args.out, args.units, args.force, not args.html, bar
        )
    finally:
        bar.done()
    print("Written: " + ", ".join(str(path) for path in written))
    return 0


def _sweep(args: argparse.Namespace) -> int:
    from concurrent.futures import ProcessPoolExecutor

    from shrinkage.progress import Bar
    from shrinkage.sweep import read_study, sweep

    study, bar = read_study(args.study), Bar("Working")
    if args.workers < 1:
        raise ShrinkageError(f"workers {args.workers}; accepted: 1 or more")
    how = {"batch": args.batch, "progress": bar, "force": args.force}
    try:
        if args.workers == 1:
            out = sweep(study, args.out, **how)
        else:
            with ProcessPoolExecutor(args.workers) as pool:
                out = sweep(study, args.out, pool, **how)
    except KeyboardInterrupt:
        print(f"\nStopped. The same command goes on from {args.out}.parts", file=sys.stderr)
        return 130
    finally:
        bar.done()
    print(f"Written: {out}: {len(study)} variants")
    return 0


def _handing_over(commands: Any) -> None:
    """Add what is handed over: the page for a phone, and the sheets for plant and crew."""
    page = commands.add_parser("page", help="write one HTML file to hand over")
    sheets = commands.add_parser(
        "sheets", help="write order sheets, crew card, pocket table (PDF) and outlines (DXF)"
    )
    for command, out in ((page, "file, .html"), (sheets, "folder")):
        command.add_argument("job", type=Path, metavar="JOB", help="job file (TOML)")
        command.add_argument("-o", "--out", type=Path, required=True, metavar="OUT", help=out)
        command.add_argument("--units", choices=("imperial", "metric"),
                             help="instead of the job's own")  # fmt: skip
        command.add_argument("--force", action="store_true", help="replace files that are there")
    sheets.add_argument("--no-dxf", action="store_true", help="leave out the DXF")
    page.set_defaults(run=_page)
    sheets.set_defaults(run=_sheets)


def _page(args: argparse.Namespace) -> int:
    from shrinkage.handover_page import write_page
    from shrinkage.jobfile import read_job
    from shrinkage.order import order

    path = write_page(order(read_job(args.job)), args.out, args.units, args.force)
    print(f"Written: {path}")
    return 0


def _sheets(args: argparse.Namespace) -> int:
    from shrinkage.handover import write_sheets
    from shrinkage.jobfile import read_job
    from shrinkage.order import order

    answer = order(read_job(args.job))
    written = write_sheets(answer, args.out, args.units, args.force, not args.no_dxf)
    print("Written: " + ", ".join(str(path) for path in written))
    return 0


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
    from shrinkage.finish_answer import findings
    from shrinkage.foam_answer import failing
    from shrinkage.jobfile import read_job
    from shrinkage.order import order

    answer = order(read_job(args.job))
    findings(answer.frame)
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
