"""Draws the eave on the first page: ``python docs/index_figure.py``; its words are tested."""

from __future__ import annotations

from pathlib import Path

import matplotlib
from matplotlib.figure import Figure

from shrinkage.figures import eave_section, new_figure
from shrinkage.jobfile import read_job
from shrinkage.order import order

DOCS = Path(__file__).resolve().parent
FILE = DOCS / "figures" / "eave.svg"


def eave() -> tuple[Figure, str]:
    """Return the example's first eave before and after drying, and what it shows in words."""
    answer = order(read_job(DOCS.parent / "data" / "workshop.toml"))
    figure, section, joint = new_figure()
    frame = answer.frame
    words = eave_section(section, joint, frame, frame.job.wall[0], answer.allowances[0], "imperial")
    return figure, words


if __name__ == "__main__":
    drawn, said = eave()
    with matplotlib.rc_context({"svg.hashsalt": "shrinkage"}):
        drawn.savefig(FILE, metadata={"Date": None})
    print(f"Written: {FILE}: {said}")
