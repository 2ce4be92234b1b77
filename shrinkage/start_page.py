"""The first page: which job files there are, and whether each is sound."""

from __future__ import annotations

from html import escape
from pathlib import Path

import ipywidgets as w

from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import read_job
from shrinkage.order import order
from shrinkage.pickers import job_files
from shrinkage.widgets import LOOK, cautions

HOW = (
    "To start one of your own: <code>python -m shrinkage new mine</code>, in the folder the pages "
    "were started from, then load this page again."
)


def state(path: str) -> str:
    """Return what is to be said of a job file: what it holds, or what is wrong with it.

    Parameters
    ----------
    path : str
        Of the file.
    """
    try:
        answer = order(read_job(path))
    except ShrinkageError as error:
        return error.message
    walls, panels = len(answer.frame.job.wall), len(answer.panels)
    text = f"sound: {walls} wall(s), {panels} panel(s)"
    if answer.problems:
        text += "; to be looked at: " + ", ".join(sorted({p.joint.name for p in answer.problems}))
    return text


def start_page(folder: Path | None = None) -> w.Widget:
    """Return the list of job files with the state of each.

    Parameters
    ----------
    folder : Path, optional
        Where to look; the user's own folder and the package's example otherwise.
    """
    rows = "".join(
        f"<tr><td>{escape(title)}</td><td>{escape(Path(path).name)}</td>"
        f'<td style="white-space:normal">{escape(state(path))}</td></tr>'
        for title, path in job_files(folder).items()
    )
    head = "<tr><th>job</th><th>file</th><th>state</th></tr>"
    html = f'<div class="sk-note"><table class="sk-jobs">{head}{rows}</table><p>{HOW}</p></div>'
    return w.VBox([w.HTML(LOOK), w.HTML(html), w.HTML(cautions())])
