"""The engineer's page: one eave, its stack line by line, how sure it is, and what to find out.

Every assumption can be edited; the answer is drawn again with tens of thousands of draws. Nothing
is computed here: the page edits a job, asks the order, the draws and the drivers, and shows them.
"""

from __future__ import annotations

import tomllib
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w
import numpy as np

from shrinkage import figures, svg_charts, units
from shrinkage import review_figures as rf
from shrinkage.allowance import Allowance
from shrinkage.blocks import from_markdown
from shrinkage.chance import Chance, chance
from shrinkage.drivers import Driver, from_draws
from shrinkage.errors import ShrinkageError
from shrinkage.foam_answer import JointFoam, foam_answer
from shrinkage.job import Job
from shrinkage.jobfile import Document, Source, check_job, read_job
from shrinkage.order import Order, order
from shrinkage.review import at_least, load_text, percent
from shrinkage.review_html import write_html
from shrinkage.sampled import plan, through_time
from shrinkage.section import HEART_KINDS
from shrinkage.spread import kept_points, spread_of
from shrinkage.stack_table import stack_html
from shrinkage.study import changed
from shrinkage.units import MM_PER_INCH, System
from shrinkage.widgets import AS_IN_JOB, LABELS, WIDE, beside, cautions, job_files, message
from shrinkage.worksheet import joint_sheet

DRAWS = 2**16
HEARTS = (AS_IN_JOB, *HEART_KINDS)
ROLES = ("plate", "rafter", "post")


KEYS = {
    "pitch": ("roof pitch", "10 in 12", "eave.pitch"),
    "above_seat": ("rafter above seat", "5 in", "eave.rafter_above_seat"),
    "housed": ("rafter housed", "1 in", "eave.rafter_housed"),
    "layout": ("plate laid out from", "centre", "eave.layout"),
    "room": ("room air", "most of the US", "air.room"),
    "squeeze_once": ("foam squeezed once", "50 %", "foam.squeeze_once"),
    "recovery": ("foam gives back", "50 %", "foam.recovery"),
    "works": ("foam follows", "10 %", "foam.works"),
    "tolerance": ("each tolerance", "1/8 in", "allow.cutting+allow.frame+allow.setting"),
    "keep_clear": ("kept clear", "1/8 in", "allow.keep_clear"),
}
"""Text controls: label, hint and the job's key; any other key goes through 'any other key'."""


def _lines(text: str) -> dict[str, str]:
    """Read settings by dotted key, one a line."""
    found = {}
    for line in filter(str.strip, text.splitlines()):
        key, sign, value = (part.strip() for part in line.partition("="))
        if not (sign and key and value) or key.partition(".")[0] not in Job.model_fields:
            raise ShrinkageError(
                f"any other key: cannot read {line!r}; accepted: a key of the job file and its "
                "value, such as eave.panel_top = square"
            )
        found[key] = value
    return found


class ReviewPage:
    """One eave of a job, for the engineer.

    Parameters
    ----------
    job : str or Path, optional
        The job file; the package's example otherwise.
    draws : int
        How many, a power of two.

    Attributes
    ----------
    view : ipywidgets.Widget
        What a notebook shows.
    controls : dict of str to ipywidgets.Widget
        By name; text left empty leaves the job's own.
    note, stack, picture, words, sheet : ipywidgets.HTML
        Message, the stack's table, the drawings, limits and numbers, and the worksheet.
    answer : Order or None
        The last good answer; `found` its draws, `drivers` what its doubt is made of.
    """

    def __init__(self, job: str | Path | None = None, draws: int = DRAWS) -> None:
        self.path = Path(job or next(iter(job_files().values())))
        self.draws = draws
        self.answer: Order | None = None
        self.found: Chance | None = None
        self.drivers: list[Driver] = []
        self._hold = False
        self.raw = _read(self.path)
        self.figure, self.section, self.joint = figures.new_figure()
        self.controls = self._controls()
        self.note, self.stack, self.picture, self.words, self.sheet = (w.HTML() for _ in range(5))
        for name, control in self.controls.items():
            control.observe(self._gap_moved if name == "gap" else self._changed, names="value")
        results = [self.stack, self.picture, self.words, w.HTML(cautions())]
        self.view = w.VBox([beside([*self.controls.values(), self.note], results), self.sheet])
        self._changed(None)

    def _controls(self) -> dict[str, w.Widget]:
        def text(label: str, hint: str) -> w.Text:
            return w.Text("", description=label, placeholder=hint, layout=WIDE, style=LABELS,
                          continuous_update=False)  # fmt: skip

        def choice(label: str, options: Any) -> w.Dropdown:
            return w.Dropdown(options=options, description=label, layout=WIDE, style=LABELS)

        def slide(label: str, value: float, low: float, high: float, step: float) -> w.FloatSlider:
            return w.FloatSlider(value, min=low, max=high, step=step, description=label,
                                 layout=WIDE, style=LABELS, readout_format=".3g")  # fmt: skip

        eaves = [wall["name"] for wall in self.raw.get("wall", []) if wall.get("top") == "eave"]
        found: dict[str, w.Widget] = {"wall": choice("eave of wall", eaves)}
        for role in ROLES:
            found[f"{role}.species"] = text(f"{role}: species", "as in the job")
            found[f"{role}.section"] = text(f"{role}: section", "as in the job; 8 in x 10 in")
            found[f"{role}.heart"] = choice(f"{role}: heart", HEARTS)
            found[f"{role}.moisture"] = text(f"{role}: moisture", "as in the job; green, or 22 %")
        found |= {
            name: text(label, f"as in the job; {hint}") for name, (label, hint, _) in KEYS.items()
        }
        found |= {
            "others": w.Textarea("", description="any other key", layout=WIDE, style=LABELS, rows=3,
                                 placeholder="key = value, one a line, such as\n"
                                 "eave.panel_top = square", continuous_update=False),
            "section_factor": slide("section factor", 1.0, 0.5, 1.0, 0.01),
            "species_spread": slide("scatter R, T, %", 15, 0, 40, 1),
            "heart_spread": slide("pith, % of side", 10, 0, 40, 1),
            "moisture_spread": slide("meter reading, %", 2, 0, 6, 0.25),
            "certainty": slide("certainty, %", 95, 50, 99.9, 0.1),
            "gap": slide("try a gap, 1/32 in" if self._imperial else "try a gap, mm", 24, 1, 96, 1),
        }
        return found

    @property
    def _imperial(self) -> bool:
        return bool(self.raw.get("units", "imperial") == "imperial")

    def _values(self) -> dict[str, Any]:
        """Return what the controls change in the job, by dotted key."""
        get = {name: control.value for name, control in self.controls.items()}
        found: dict[str, Any] = {}
        for name, value in get.items():
            role, _, key = name.partition(".")
            if key and value not in ("", AS_IN_JOB):
                found[f"timber.{role}.{key}"] = value
        found |= {key: get[name] for name, (_, _, key) in KEYS.items() if get[name].strip()}
        found |= _lines(get["others"])
        if get["section_factor"] < 1:
            found["timber.*.section_factor"] = round(get["section_factor"], 4)
        spreads = {"species": "species_spread", "heart": "heart_spread",
                   "moisture": "moisture_spread", "certainty": "certainty"}  # fmt: skip
        for key, name in spreads.items():
            found[f"spread.{key}"] = f"{get[name]:g} %"
        return found

    def _changed(self, _event: Any) -> None:
        if self._hold:
            return
        try:
            self._update()
        except ShrinkageError as error:
            self.note.value = message(error.message, good=False)
            self.picture.layout.border_left = "4px solid #8a1c1c"  # the answer shown is the old one
        else:
            self.note.value = message("Answer for the settings above.", good=True)
            self.picture.layout.border_left = None

    def _update(self) -> None:
        document = check_job(changed(self.raw, self._values()),
                             Source(self.path.name, folder=self.path.parent))  # fmt: skip
        answer = order(document)
        eave = self._eave(answer)
        spread = spread_of(document.job, document.source)
        made = plan(eave.joint, eave.foam, answer.frame.rules, spread)
        points = kept_points(len(made.inputs), spread.seed, self.draws)
        self.found = chance(eave, answer.frame.rules, spread, points=points,
                            filling=answer.frame.filling)  # fmt: skip
        self.answer, self.eave = answer, eave
        self._hold = True
        try:
            self.controls["gap"].value = round(self._in_steps(eave.gap))
        finally:
            self._hold = False
        self._show(document)

    def _in_steps(self, mm: float) -> float:
        gap = self.controls["gap"]
        steps = mm / (MM_PER_INCH / 32) if self._imperial else mm
        return float(np.clip(steps, gap.min, gap.max))

    def _eave(self, answer: Order) -> Allowance:
        name = f"{self.controls['wall'].value}, top"
        return next(a for a in answer.allowances if a.joint.name == name)

    @property
    def tried(self) -> float:
        """The gap the slider stands at [mm]."""
        return float(self.controls["gap"].value) * (MM_PER_INCH / 32 if self._imperial else 1.0)

    def _gap_moved(self, _event: Any) -> None:
        """Try another gap: the draws are there already."""
        if self.found is not None and not self._hold:
            self._draw_touching(self.tried)

    def _draw_touching(self, gap: float) -> None:
        """Draw the histogram against a gap; nothing is drawn again for it."""
        found = self.found
        assert found is not None
        per, unit = rf.scale(self.system)
        share = float(np.mean(found.sample.reach >= gap))
        marks = {
            f"gap {units.show(gap, self.system, 32)}": gap / per,
            f"clear in {found.certainty:g} %: {units.show(found.gap_clear, self.system, 32)}":
                found.gap_clear / per,
        }  # fmt: skip
        words = (
            f"Wood comes {units.show(found.closure.low, self.system, 32)} to "
            f"{units.show(found.closure.high, self.system, 32)} closer in nine draws of ten; with "
            f"a gap of {units.show(gap, self.system, 32)} it touches panel in {percent(share)} of "
            f"{found.sample.draws} draws."
        )
        svg = svg_charts.histogram(
            found.sample.reach / per, gap / per, marks,
            f"how far the wood comes, errors included, {unit}", "Chance of touching", words,
        )  # fmt: skip
        self.parts["touching"] = _pane("touching", svg, words)
        self.picture.value = "".join(self.parts.values())

    def _show(self, document: Document) -> None:
        """Fill every pane from the answer."""
        answer, found, eave = self.answer, self.found, self.eave
        assert answer is not None and found is not None
        self.system: System = document.job.units
        wall = next(x for x in document.job.wall if x.name == self.controls["wall"].value)
        words = figures.eave_section(
            self.section, self.joint, answer.frame, wall, eave, self.system
        )
        self.parts = {"eave": _pane("eave", figures.as_svg(self.figure, words), words)}
        self.parts["time"] = self._through_time()
        self.parts["touching"] = ""
        self.parts["drivers"] = self._driver_bars()
        self._draw_touching(eave.gap)
        self.stack.value = stack_html(eave, self.system)
        self.words.value = self._said(self.system)
        self.sheet.value = _sheet(joint_sheet(eave, self.system))

    def _through_time(self) -> str:
        """Return the gap through time with its band."""
        found, eave = self.found, self.eave
        assert found is not None
        made, (per, unit) = found.sample.plan, rf.scale(self.system)
        followed = plan(made.joint, made.foam, made.rules, made.spread, all_times=True)
        low, middle, high = (eave.gap - through_time(followed, (0.95, 0.5, 0.05), 512)) / per
        line = made.seasons.line
        names: dict[float, str] = {}
        if line.sawn is None:
            at = line.days
            names = dict(enumerate(("panels on", "driest", "usual", "wettest")))
        else:
            at = (line.days - line.days[0]) / 365.0
        title = "Gap in service" if names else "Gap by year since the panels went on"
        least = (units.show(float(v.min()) * per, self.system, 32) for v in (middle, low))
        words = "{}: at its least {}, {} in one draw of twenty.".format(title, *least)
        svg = svg_charts.band(at, low, middle, high, names, f"gap, {unit}",
                              f"{title} (band: nine draws of ten)", words)  # fmt: skip
        return _pane("time", svg, words)

    def _driver_bars(self) -> str:
        """Return what the doubt is made of, from the draws that are there."""
        assert self.found is not None
        drawn = self.found.sample
        points = kept_points(len(drawn.plan.inputs), drawn.plan.spread.seed, self.draws)
        self.drivers = from_draws(drawn, points)
        rows = [
            (d.group, d.first, f"{100 * d.first:.0f} %"
             + (f", saves {rf.saving(d.saves, self.system)}" if d.saves > rf.NOTHING else ""))
            for d in self.drivers[:8]
        ]  # fmt: skip
        words = "Nothing spreads."
        if self.drivers:
            best = max(self.drivers, key=lambda driver: driver.saves)
            words = (
                f"Most of the doubt about the gap: {self.drivers[0].group}. Best worth knowing: "
                f"{best.group}, which lets the gap come down by "
                f"{rf.saving(best.saves, self.system)} on average."
            )
        svg = svg_charts.bars(rows, "What the doubt about the gap is made of (alone)", words)
        return _pane("drivers", svg, words)

    def _said(self, system: Any) -> str:
        """Return the numbers in words: limits, three answers, the foam against what holds."""
        found, eave = self.found, self.eave
        assert found is not None and self.answer is not None
        rows = "".join(
            f"<tr><td>{escape(limit.name)}</td><td>{escape(limit.formula)}</td>"
            f'<td style="text-align:right">{limit.needed:.2f}</td>'
            f'<td style="text-align:right">{percent(found.governs[limit.name])}</td>'
            f"<td>{'<b>governs</b>' if limit is eave.governs else ''}</td></tr>"
            for limit in eave.limits
        )
        table = (
            '<table class="sk-limits"><tr><th>limit</th><th>how, mm</th><th>asks for, mm</th>'
            f"<th>governs in draws</th><th></th></tr>{rows}</table>"
        )
        three = (
            f"Ordered gap {units.show(eave.gap, system, 32)}. Needed: worst case "
            f"{at_least(found.worst, system)}, root-sum-square {at_least(found.square, system)}, "
            f"sampled {at_least(found.gap, system)} for {found.certainty:g} %. Wood touches panel "
            f"in {percent(found.touching)} of draws, some limit is missed in "
            f"{percent(found.short)}."
        )
        lines = [three, self._foam(system), *found.cautions]
        return table + "".join(f'<p class="sk-words">{escape(line)}</p>' for line in lines)

    def _foam(self, system: Any) -> str:
        """Say what the foam pushes with and what holds against it."""
        assert self.found is not None and self.answer is not None
        one: JointFoam = next(
            f for f in foam_answer(self.answer) if f.name == self.eave.joint.name
        )
        load = self.found.load
        if load is None:
            return "No wood moves here: the foam pushes with nothing."
        low, middle, high = (load_text(n, system) for n in (load.low, load.median, load.high))
        text = (
            f"Foam pushes with {low} to {high} along the eave (median {middle}, nine draws of ten)"
        )
        if one.holds is None:
            return text + "; the job has no [holddown] to set against it: for the engineer."
        return text + (
            f" against {load_text(one.holds, system)} of dead load and fasteners: for the engineer."
        )


def _read(path: Path) -> dict[str, Any]:
    """Return a job's mapping, after naming whatever is wrong in the file with its line."""
    document = read_job(path)
    return tomllib.loads(document.source.text)


def _pane(name: str, svg: str, words: str) -> str:
    return f'<figure class="sk-{name}">{svg}<figcaption>{escape(words)}</figcaption></figure>'


def _sheet(text: str) -> str:
    """Return the joint's part of the worksheet as HTML."""
    page = write_html("", from_markdown(text, deeper=1))
    body = page[page.index("<body>") + 6 : page.index("</body>")]
    return f'<div class="sk-worksheet">{body}</div>'
