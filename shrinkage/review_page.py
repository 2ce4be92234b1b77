"""The engineer's page: one eave, its stack line by line, how sure it is, and what to find out.

Every assumption can be edited; the answer is drawn again with tens of thousands of draws. Nothing
is computed here: the page edits a job, asks the order, the draws and the drivers, and shows them.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w
import numpy as np

from shrinkage import joint_drawing, joint_svg, svg_charts, units
from shrinkage import review_figures as rf
from shrinkage.allowance import Allowance
from shrinkage.blocks import from_markdown
from shrinkage.chance import Chance, of_sample
from shrinkage.controls import AS_IN_JOB, TextBox, choice, job_box, slide
from shrinkage.downloads import Downloads
from shrinkage.drivers import Driver, from_draws
from shrinkage.errors import ShrinkageError
from shrinkage.export import Writer
from shrinkage.foam_answer import JointFoam, foam_answer
from shrinkage.job import Job
from shrinkage.jobfile import Document, Source, check_job, read_job
from shrinkage.order import Order, order
from shrinkage.pickers import JobChooser
from shrinkage.review import at_least, load_text, percent, review_writers
from shrinkage.review_html import write_html
from shrinkage.sampled import Sample, plan, sample, through_time
from shrinkage.section import HEART_KINDS
from shrinkage.spread import kept_points, spread_of
from shrinkage.stack_table import stack_html
from shrinkage.study import changed
from shrinkage.units import MM_PER_INCH, System
from shrinkage.widgets import LivePage, beside, captioned, cautions
from shrinkage.worksheet import joint_sheet

DRAWS = 2**16
HEARTS = (AS_IN_JOB, *HEART_KINDS)
PARTS = {"species": "", "section": "; 8 in x 10 in", "moisture": "; green, or 22 %"}
ROLES = {
    "plate": tuple(PARTS),
    "rafter": tuple(PARTS),
    "post": ("species", "moisture"),  # an eave feels a post along the grain only
}
FILES = ("review.html", "review.pdf")
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
                f"cannot read {line!r}; accepted: a key of the job file and its "
                "value, such as eave.panel_top = square"
            )
        found[key] = value
    return found


class ReviewPage(LivePage):
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
    panes : dict of str to ipywidgets.HTML
        'stack', 'picture', 'words', 'sheet': the stack's table, the drawings, limits and numbers,
        and the worksheet.
    answer : Order or None
        The last good answer; `found` its draws, `drivers` what its doubt is made of.
    """

    def __init__(self, job: str | Path | None = None, draws: int = DRAWS) -> None:
        super().__init__()
        self.draws = draws
        self.answer: Order | None = None
        self.eave: Allowance | None = None
        self.found: Chance | None = None
        self.drivers: list[Driver] = []
        self._known: tuple[Any, ...] | None = None
        self._hold = False
        self.chooser = JobChooser()
        if job is not None:
            self.chooser.path.value = str(job)
        self._take_job()
        self.controls = self._controls()
        self.panes = {name: w.HTML() for name in ("stack", "picture", "words", "sheet")}
        self.files = Downloads(FILES, self._makers)
        *results, sheet = self.panes.values()
        right = [*results, self.files, w.HTML(cautions())]
        left = [*self.controls.values(), self.note, self.sign]
        self.view = w.VBox([beside(left, right), sheet])
        self.follow(self._update, [name for name in self.controls if name != "gap"])
        self.follow(self._gap_moved, ["gap"], ["picture"])

    def _take_job(self) -> None:
        """Read the chosen job as a mapping, to be changed by the controls."""
        document = read_job(self.chooser.value)
        self.source, self.raw = document.source, tomllib.loads(document.source.text)
        self.taken = self.chooser.value

    def _eaves(self) -> list[str]:
        """Return the walls that end at an eave."""
        found = [wall["name"] for wall in self.raw["wall"] if wall.get("top") == "eave"]
        if not found:
            raise ShrinkageError(f"{self.source.name}: no wall ends at an eave; accepted: a job "
                                 "with one")  # fmt: skip
        return found

    def _controls(self) -> dict[str, w.Widget]:
        found: dict[str, w.Widget] = {
            "job": self.chooser,
            "wall": choice("eave of wall", self._eaves()),
        }
        for role, parts in ROLES.items():
            for part in parts:
                label, key = f"{role}: {part}", f"timber.{role}.{part}"
                found[f"{role}.{part}"] = job_box(label, key, hint=f"as in the job{PARTS[part]}")
            if "section" in parts:
                found[f"{role}.heart"] = choice(f"{role}: heart", HEARTS)
        for name, (label, hint, key) in KEYS.items():
            found[name] = job_box(label, key.partition("+")[0], hint=f"as in the job; {hint}",
                                  tip=f"{key} of the job file")  # fmt: skip
        return found | {
            "others": TextBox("any other key", _lines, lines=3,
                              hint="key = value, one a line, such as\neave.panel_top = square",
                              tip="any key of the job file"),
            "section_factor": slide("section factor", 1.0, 0.5, 1.0, 0.01,
                                    "share of the table's shrinkage a heavy section shows"),
            "species_spread": slide("scatter R, T, %", 15.0, 0, 40, 1.0, "one standard deviation"),
            "heart_spread": slide("pith, % of side", 10.0, 0, 40, 1.0, "one standard deviation"),
            "moisture_spread": slide("meter reading, %", 2.0, 0, 6, 0.25, "one standard deviation"),
            "certainty": slide("certainty, %", 95.0, 50, 99.9, 0.1, "that every limit is met"),
            "gap": slide(self._gap_label(), 24.0, 1, 96, 1.0,
                         "only looks: nothing is drawn again"),
        }  # fmt: skip

    def _makers(self) -> dict[str, Writer] | None:
        """Return what writes the report's files of the answer shown."""
        if self.answer is None:
            return None
        return review_writers(self.answer.frame.document)

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
        found |= self.controls["others"].result() or {}
        if get["section_factor"] < 1:
            found["timber.*.section_factor"] = round(get["section_factor"], 4)
        spreads = {"species": "species_spread", "heart": "heart_spread",
                   "moisture": "moisture_spread", "certainty": "certainty"}  # fmt: skip
        for key, name in spreads.items():
            found[f"spread.{key}"] = f"{get[name]:g} %"
        return found

    def _update(self) -> None:
        own = self._own_gap()
        if self.chooser.value != self.taken:
            self._take_job()
            self._another()
            own = False  # a gap tried for one job says nothing of another
        source = Source(self.source.name, folder=self.source.folder)
        document = check_job(changed(self.raw, self._values()), source)
        answer = order(document)
        eave = self._eave(answer)
        # What the certainty asked for does not change: the draws, and what is drawn of them.
        settled = {**self._values(), "spread.certainty": None, "wall": self.controls["wall"].value}
        known = (self.taken, settled)
        if known != self._known:
            self._known = None  # until all of it is there
        drawn = self._draws(answer, eave, document)
        self.found = of_sample(eave, drawn, answer.frame.filling)
        self.answer, self.eave = answer, eave
        if not own:
            self._hold = True
            try:
                self.controls["gap"].value = self._in_steps(eave.gap)
            finally:
                self._hold = False
        self._show(document, self.tried if own else eave.gap)
        self._known = known
        self.files.forget()

    def _draws(self, answer: Order, eave: Allowance, document: Document) -> Sample:
        """Return the joint's draws, those that are there if nothing has changed them."""
        spread = spread_of(document.job, document.source)
        made = plan(eave.joint, eave.foam, answer.frame.rules, spread)
        if self._known is not None and self.found is not None:
            return replace(self.found.sample, plan=made)
        points = kept_points(len(made.inputs), spread.seed, self.draws)
        return sample(made, points=points)

    def _another(self) -> None:
        """Fit the controls to another job."""
        self.controls["wall"].options = self._eaves()
        self.controls["gap"].description = self._gap_label()

    def _gap_label(self) -> str:
        return f"try a gap, {'1/32 in' if self._imperial else 'mm'}"

    def _in_steps(self, mm: float) -> float:
        gap = self.controls["gap"]
        steps = mm / (MM_PER_INCH / 32) if self._imperial else mm
        return float(np.clip(round(steps), gap.min, gap.max))

    def _eave(self, answer: Order) -> Allowance:
        name = f"{self.controls['wall'].value}, top"
        return next(a for a in answer.allowances if a.joint.name == name)

    def _own_gap(self) -> bool:
        """Return whether the user has moved the gap off the one that is ordered."""
        if self.eave is None:
            return False
        return bool(self.controls["gap"].value != self._in_steps(self.eave.gap))

    @property
    def tried(self) -> float:
        """The gap the slider stands at [mm]."""
        return float(self.controls["gap"].value) * (MM_PER_INCH / 32 if self._imperial else 1.0)

    def _gap_moved(self) -> None:
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
        self.parts["touching"] = captioned("touching", svg, words)
        self.panes["picture"].value = "".join(self.parts.values())

    def _show(self, document: Document, gap: float) -> None:
        """Fill every pane from the answer, the chance of touching at a gap [mm]."""
        answer, found, eave = self.answer, self.found, self.eave
        assert answer is not None and found is not None and eave is not None
        self.system: System = document.job.units
        if self._known is None:
            wall = next(x for x in document.job.wall if x.name == self.controls["wall"].value)
            drawing = joint_drawing.eave(answer.frame, wall, eave, self.system)
            eaves = captioned("eave", joint_svg.pictures(drawing), drawing.words)
            self.parts = {"eave": eaves, "time": self._through_time(), "touching": ""}
            self.panes["stack"].value = stack_html(eave, self.system)
            self.panes["sheet"].value = _sheet(joint_sheet(eave, self.system))
        self.parts["drivers"] = self._driver_bars()
        self._draw_touching(gap)
        self.panes["words"].value = self._said(self.system)

    def _through_time(self) -> str:
        """Return the gap through time with its band."""
        found, eave = self.found, self.eave
        assert found is not None and eave is not None
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
        return captioned("time", svg, words)

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
        return captioned("drivers", svg, words)

    def _said(self, system: Any) -> str:
        """Return the numbers in words: limits, three answers, the foam against what holds."""
        found, eave = self.found, self.eave
        assert found is not None and eave is not None and self.answer is not None
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
        assert self.found is not None and self.answer is not None and self.eave is not None
        name = self.eave.joint.name
        one: JointFoam = next(f for f in foam_answer(self.answer) if f.name == name)
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


def _sheet(text: str) -> str:
    """Return the joint's part of the worksheet as HTML."""
    page = write_html("", from_markdown(text, deeper=1))
    body = page[page.index("<body>") + 6 : page.index("</body>")]
    return f'<div class="sk-worksheet">{body}</div>'
