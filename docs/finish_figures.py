"""Draws the pictures of finishes.md from the job tables on that page.

``python docs/finish_figures.py`` writes them; a test fails where they are out of date.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from shrinkage.finish_answer import KINDS, findings
from shrinkage.frame import build
from shrinkage.jobfile import check_job
from shrinkage.joinery_figures import draw

DOCS = Path(__file__).resolve().parent
PAGE = DOCS / "finishes.md"


def pictures() -> dict[Path, str]:
    """Return the SVG of each kind by its file."""
    tables = "\n".join(re.findall(r"^```toml\n(.*?)^```$", PAGE.read_text("utf-8"), re.M | re.S))
    job = tomllib.loads((DOCS.parent / "data" / "workshop.toml").read_text("utf-8"))
    found = findings(build(check_job(job | tomllib.loads(tables))))
    files = (DOCS / "figures" / f"finish_{kind}.svg" for kind in KINDS)
    return {file: draw(one)[0] + "\n" for file, one in zip(files, found, strict=True)}


if __name__ == "__main__":
    for file, svg in pictures().items():
        file.write_text(svg, encoding="utf-8")
        print(file)
