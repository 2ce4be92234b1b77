"""The framer's page: choose a job, change what is not settled yet, read the panels to order."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import ipywidgets as w

from shrinkage import joint_drawing, joint_svg
from shrinkage.allowance import Allowance
from shrinkage.controls import AS_IN_JOB, job_box
from shrinkage.downloads import Downloads, order_files
from shrinkage.jobfile import Source, check_job
from shrinkage.order import Order, order
from shrinkage.pickers import ClimatePicker, JobChooser, TimberPicker
from shrinkage.schedule import panel_table
from shrinkage.widgets import LivePage, beside, captioned, cautions

FRAME_ROLES = ("post", "plate", "rafter", "girt", "tie", "purlin")
SHOWN = (
    "panel", "opening_width", "opening_height", "off_left", "off_right", "off_top", "off_bottom",
    "order_width", "order_height_left", "order_height_right", "order_peak", "cut_outs", "notes",
)  # fmt: skip
FILES = (
    "schedule.csv", "schedule.xlsx", "worksheet.md", "order_sheets.pdf", "crew_card.pdf",
    "pocket_table.pdf", "outlines.dxf", "page.html",
)  # fmt: skip


def schedule_html(answer: Order) -> str:
    """Return the panel schedule as an HTML table."""
    table = panel_table(answer)[[*SHOWN]].rename(columns=lambda name: name.replace("_", " "))
    return table.to_html(index=False, border=0, classes="sk-schedule", na_rep="", escape=True)


def edited(raw: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Return a job's mapping with a page's changes put in, the original untouched.

    Parameters
    ----------
    raw : dict
        As TOML gives it.
    changes : dict
        'species', 'heart', 'moisture' for the frame's timbers, 'place', 'room', 'pitch',
        'thickness'; None leaves the job's own.
    """
    timber = {
        role: spec
        | {
            key: changes[key]
            for key in ("species", "heart", "moisture")
            if role in FRAME_ROLES and changes.get(key) is not None
        }
        for role, spec in raw.get("timber", {}).items()
    }
    air = {key: value for key, value in raw.get("air", {}).items()
           if key != "series" or not changes.get("place")}  # fmt: skip
    air |= {key: changes[key] for key in ("place", "room") if changes.get(key)}
    eave = raw.get("eave", {}) | ({"pitch": changes["pitch"]} if changes.get("pitch") else {})
    thick = {"thickness": changes["thickness"]} if changes.get("thickness") else {}
    panel = raw.get("panel", {}) | thick
    return raw | {"timber": timber, "air": air, "eave": eave, "panel": panel}


class ShortcutPage(LivePage):
    """Panel short-cuts of a job.

    Parameters
    ----------
    folder : Path, optional
        Where job files are; the user's own folder and the package's example otherwise.

    Attributes
    ----------
    view : ipywidgets.Widget
        What a notebook shows.
    controls : dict of str to ipywidgets.Widget
        By name: 'job', 'species', 'heart', 'moisture', 'place', 'room', 'pitch', 'thickness'.
    panes : dict of str to ipywidgets.HTML
        'picture', 'table'.
    files : Downloads
        What the answer can be saved as.
    answer : Order or None
        The last good answer.
    """

    def __init__(self, folder: Path | None = None) -> None:
        super().__init__()
        self.answer: Order | None = None
        job, wood, air = (JobChooser(folder), TimberPicker(in_job=True, label="frame timbers"),
                          ClimatePicker(in_job=True))  # fmt: skip
        self.air = air
        own = {
            "pitch": job_box("roof pitch", "eave.pitch", hint="as in the job; 10 in 12"),
            "thickness": job_box("panel thickness", "panel.thickness",
                                 hint="as in the job; 6-1/2 in"),
        }  # fmt: skip
        self.controls = {"job": job, **wood.parts, **air.parts, **own}
        self.panes = {"picture": w.HTML(), "table": w.HTML()}
        self.files = Downloads(FILES, lambda: order_files(self.answer) if self.answer else None)
        left = [job, wood, air, *own.values(), self.note, self.sign]
        right = [*self.panes.values(), self.files, w.HTML(cautions())]
        self.view = beside(left, right)
        self.follow(self._update)

    def _update(self) -> None:
        path = Path(self.controls["job"].value).expanduser()
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
        changes = {
            key: None if control.value in (AS_IN_JOB, "") else control.value
            for key, control in self.controls.items()
        }
        document = check_job(edited(raw, changes), Source(path.name, folder=path.parent))
        answer = order(document)
        picture, table = drawings(answer), schedule_html(answer)
        self.panes["picture"].value, self.panes["table"].value = picture, table
        self.air.show(answer.frame.outdoors, answer.frame.room)
        self.files.forget()
        self.answer = answer


def drawings(answer: Order) -> str:
    """Return the widest eave and the widest corner of a job, before and after, as HTML."""
    parts = []
    for kind in ("eave", "corner"):
        found = [a for a in answer.allowances if a.joint.kind == kind]
        if found:
            drawing = _drawing(answer, max(found, key=lambda allowance: allowance.needed))
            parts.append(captioned(kind, joint_svg.pictures(drawing), drawing.words))
    return "".join(parts)


def _drawing(answer: Order, worst: Allowance) -> joint_drawing.Drawing:
    frame = answer.frame
    if worst.joint.kind == "corner":
        return joint_drawing.corner(frame, worst, frame.job.units)
    wall = next(wall for wall in frame.job.wall if worst.joint.name == f"{wall.name}, top")
    return joint_drawing.eave(frame, wall, worst, frame.job.units)
