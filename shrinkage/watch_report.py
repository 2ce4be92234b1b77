"""The files a watch leaves: report as Markdown and HTML, forecasts as CSV."""

from __future__ import annotations

from datetime import timedelta
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from shrinkage.export import Writer, write_all
from shrinkage.review_html import document, elements
from shrinkage.units import System
from shrinkage.watch import Watch
from shrinkage.watch_figures import gap_chart, gap_words
from shrinkage.watch_words import front, markdown, tables
from shrinkage.workbook import safe

if TYPE_CHECKING:
    import pandas as pd

FILES = ("watching.md", "forecast.csv", "watching.html")


def forecast_table(found: Watch) -> pd.DataFrame:
    """Return every gap at every time, before and after the readings, one row each."""
    import pandas as pd

    dates = [found.sawn + timedelta(days=float(day)) for day in np.round(found.days)]
    names = [f"{when}_{end}_mm" for when in ("before", "now") for end in ("5%", "median", "95%")]
    parts = []
    for gap in found.gaps:
        values = np.concatenate([gap.before, gap.after]).round(2)
        columns = {"gap": gap.place, "joint": gap.joint, "date": [f"{day}" for day in dates]}
        parts.append(pd.DataFrame(columns | dict(zip(names, values, strict=True))))
    return pd.concat(parts, ignore_index=True)


def page(found: Watch, system: System) -> str:
    """Return the report as one HTML file, with a picture of every gap that was read."""
    read = {one.entry.place for one in found.seen if one.entry.kind == "gap"}
    pictures = [
        f"<figure>{gap_chart(found, gap, system)}<figcaption>"
        f"{escape(gap_words(found, gap, system))}</figcaption></figure>"
        for gap in found.gaps
        if gap.place in read or not read
    ]
    body = [elements(front(found, system)), *pictures, elements(tables(found, system))]
    return document(f"Watching: {found.order.frame.job.title}", "\n".join(body))


def watch_writers(found: Watch, system: System | None = None) -> dict[str, Writer]:
    """Return the files by name, each with what writes it.

    Parameters
    ----------
    found : Watch
        What the readings say.
    system : {'imperial', 'metric'}, optional
        Of lengths in words; the job's own otherwise.
    """
    shown = system or found.order.frame.job.units
    writers: tuple[Writer, ...] = (
        lambda path: path.write_text(markdown(found, shown), encoding="utf-8"),
        lambda path: safe(forecast_table(found)).to_csv(path, index=False),
        lambda path: path.write_text(page(found, shown), encoding="utf-8"),
    )
    return dict(zip(FILES, writers, strict=True))


def write_watch(
    found: Watch, folder: str | Path, system: System | None = None, force: bool = False
) -> list[Path]:
    """Write report and forecasts, all files or none.

    Parameters
    ----------
    found : Watch
        What the readings say.
    folder : str or Path
        Where to; made if it does not exist.
    system : {'imperial', 'metric'}, optional
        Of lengths in words; the job's own otherwise.
    force : bool
        Whether files that exist may be replaced.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ShrinkageError
        If a file exists and `force` is not given, or the folder cannot be written to.
    """
    return write_all(Path(folder), watch_writers(found, system), force)
