"""The foam page for notebooks: choose foam, depth and what holds; see curve, line loads, litres.

Nothing is computed here: the controls change the job, the job is worked out again.
"""

from __future__ import annotations

import tomllib
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from shrinkage import figures, foam_figures
from shrinkage.errors import ShrinkageError
from shrinkage.foam_answer import JointFoam, foam_answer, foam_remedies
from shrinkage.foam_kinds import kinds
from shrinkage.foam_words import ENGINEER_NOTE, remedy_lines
from shrinkage.jobfile import Source, check_job
from shrinkage.order import Order, order
from shrinkage.quantity import quantity_rows
from shrinkage.units import System
from shrinkage.widgets import LABELS, WIDE, beside, cautions, message

DEPTHS = ("full", "core", "two beads")
FASTENERS = ("none", "lag screw", "wood screw")
SCREWS: dict[str, dict[str, str]] = {
    "lag screw": {"diameter": "3/8 in"},
    "wood screw": {"diameter": "0.242 in"},
}
"""Common diameters to start from; a job file states its own."""


class FoamPage:
    """Foam as a material, on one job.

    Parameters
    ----------
    path : str or Path
        The job file.
    system : {'imperial', 'metric'}
        Of pictures and text.

    Attributes
    ----------
    view : ipywidgets.Widget
        The page.
    controls : dict of str to ipywidgets.Widget
        'joint', 'kind', 'depth', 'roof_load', 'share', 'fastener', 'thread', 'spacing'.
    panes : dict of str to ipywidgets.HTML
        'curve', 'along', 'litres', 'instead'.
    note : ipywidgets.HTML
        Message beside the controls.
    answer : Order
        The last good answer.
    """

    def __init__(self, path: str | Path, system: System = "imperial") -> None:
        self.system, text = system, Path(path).read_text(encoding="utf-8")
        self.raw = tomllib.loads(text)
        self.source = Source(str(path), "", Path(path).parent)
        self.answer: Order = order(check_job(self.raw, self.source))
        self.note = w.HTML()
        self.panes = {name: w.HTML() for name in ("curve", "along", "litres", "instead")}
        self.controls = self._controls()
        for control in self.controls.values():
            control.observe(self._changed, names="value")
        self._changed(None)
        results = [self.panes[name] for name in ("curve", "along", "litres", "instead")]
        top = beside([*self.controls.values(), self.note], results)
        self.view = w.VBox([top, w.HTML(cautions())])

    def _controls(self) -> dict[str, w.Widget]:
        moving = [one.name for one in foam_answer(self.answer) if one.life.answer.joint.layers]
        foam = self.answer.frame.job.foam

        def choice(label: str, options: Any, value: Any) -> w.Dropdown:
            return w.Dropdown(options=options, value=value, description=label, layout=WIDE,
                              style=LABELS)  # fmt: skip

        def text(label: str, value: str) -> w.Text:
            return w.Text(value, description=label, continuous_update=False, layout=WIDE,
                          style=LABELS)  # fmt: skip

        return {
            "joint": choice("joint", moving, moving[0] if moving else None),
            "kind": choice("kind of foam", list(kinds()), foam.kind),
            "depth": choice("foamed", DEPTHS, foam.depth),
            "roof_load": text("roof's dead load", "12 psf"),
            "share": text("of its slope", "6 ft"),
            "fastener": choice("held by", FASTENERS, "none"),
            "thread": text("thread in timber", "3 in"),
            "spacing": text("spacing", "2 ft"),
        }

    def mapping(self) -> dict[str, Any]:
        """Return the job's mapping with the page's choices put in."""
        value = {name: control.value for name, control in self.controls.items()}
        foam = self.raw.get("foam", {}) | {"kind": value["kind"], "depth": value["depth"]}
        holds = {key: value[key] for key in ("roof_load", "fastener")}
        holds |= {"eave_share": value["share"]}
        if value["fastener"] != "none":
            holds |= SCREWS[value["fastener"]]
            holds |= {key: value[key] for key in ("thread", "spacing")}
        return self.raw | {"foam": foam, "holddown": holds}

    def _changed(self, _event: Any) -> None:
        try:
            self.answer = order(check_job(self.mapping(), self.source))
        except ShrinkageError as error:
            old = " What is shown is the answer before that."
            self.note.value = message(error.message + old, good=False)
            return
        self._draw()
        self.note.value = message(ENGINEER_NOTE, good=True)

    def chosen(self) -> JointFoam | None:
        """Return the joint looked at, as it now is."""
        name = self.controls["joint"].value
        return next((one for one in foam_answer(self.answer) if one.name == name), None)

    def _draw(self) -> None:
        one = self.chosen()
        if one is not None:
            figure, ax = foam_figures.new_figure()
            filling = self.answer.frame.filling
            foam_figures.draw_stress_strain(ax, one, filling, self.system)
            self._show("curve", figure, foam_figures.describe(one, self.system))
        figure, ax = foam_figures.new_figure()
        foam_figures.draw_line_load(ax, self.answer, self.system)
        words = "Line loads along the tops of the walls, in the order of the job's walls."
        self._show("along", figure, words)
        self.panes["litres"].value = self._litres()
        self.panes["instead"].value = self._instead(one)

    def _show(self, name: str, figure: Any, words: str) -> None:
        svg, caption = figures.as_svg(figure, words), escape(words)
        html = f'<figure class="sk-{name}">{svg}<figcaption>{caption}</figcaption></figure>'
        self.panes[name].value = html

    def _litres(self) -> str:
        head = "<tr>" + "".join(f"<th>{h}</th>" for h in ("joints", "length", "foam", "cans"))
        rows = [
            "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row)
            for row in quantity_rows(self.answer, self.system)
        ]
        note = escape(self.answer.frame.filling.note)
        return f'<table class="sk-use">{head}{"".join(rows)}</table><p>{note}</p>'

    def _instead(self, one: JointFoam | None) -> str:
        if one is None:
            return ""
        found = foam_remedies(self.answer) | self.answer.remedies
        lines = remedy_lines(found.get(one.name, ()), self.system)
        if not lines:
            return ""
        items = "".join(f"<li>{escape(line)}</li>" for line in lines)
        return f"<b>What else would do, {escape(one.name)}</b><ol>{items}</ol>"
