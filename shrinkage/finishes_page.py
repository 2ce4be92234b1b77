"""The page for finish work and joinery: choose a calculator, timbers and lengths; see it drawn.

Its boxes are the keys of the job file's `[[finish.*]]`, read and limited as the file is. Nothing
is computed here: the choices go into the job, and the job's own answer is shown.
"""

from __future__ import annotations

import re
import tomllib
from functools import partial
from html import escape
from pathlib import Path
from typing import Any, get_args

import ipywidgets as w
from pydantic.fields import FieldInfo

from shrinkage import units
from shrinkage.blocks import from_markdown
from shrinkage.controls import AS_IN_JOB, Entry, TextBox, choice, job_box
from shrinkage.downloads import Downloads
from shrinkage.export import Writer
from shrinkage.finding import Finding
from shrinkage.finish_answer import KINDS, findings
from shrinkage.finish_sheet import finish_writers
from shrinkage.finish_words import FINEST, finding_sheet, go_by
from shrinkage.frame import build
from shrinkage.job_finish import FinishSpec
from shrinkage.jobfile import Document, Source, check_job, read_field, read_job
from shrinkage.joinery_figures import draw
from shrinkage.pickers import JobChooser, TimberPicker
from shrinkage.review_html import elements
from shrinkage.section import HEART_KINDS
from shrinkage.shortcut_page import edited
from shrinkage.species import woods
from shrinkage.units import System
from shrinkage.widgets import LivePage, beside, captioned, cautions

TITLES = {
    "wallboard": "wallboard at a post",
    "trim": "trim at a timber's face",
    "boards": "tongue-and-groove boards",
    "shoulder": "shoulders of a girt",
    "brace": "brace",
    "tenon": "tenon in its mortise",
    "pegged": "beam held by pegs",
}
FILES = ("finishes.md", "finishes.html")
START = {
    "boards": {"species": "pine, eastern white", "width": "5-1/8 in", "moisture": "8 %",
               "run": "17 ft"},
    "shoulder": {"length": "11 ft"},
    "brace": {"species": "oak, white", "section": "3-1/2 in x 5-1/2 in", "leg": "30 in"},
    "pegged": {"pegs": "2 in, 5 in"},
}  # fmt: skip
"""Where the boxes that a job file must fill stand at first: an invented example."""
LABELS = {
    "side": "side that moves",
    "held": "held at",
    "since": "goes in",
    "moisture": "moisture then",
    "keep": "to stay covered",
    "board_moves": "board draws back",
    "trim_moves": "trim draws back",
    "gap": "gap left on the day",
    "room_at": "free to grow at",
    "share": "face to what stays",
    "brace.species": "brace's species",
    "brace.heart": "brace's heart",
    "brace.moisture": "brace's moisture",
    "boards.moisture": "moisture on the day",
    "post_share": "post: face to held",
    "beam_share": "beam: face to held",
    "post_peg": "post: face to peg",
    "beam_peg": "beam: face to peg",
    "into": "mortise across",
    "clearance": "mortise wider by",
    "end_clearance": "mortise longer by",
    "tolerable": "lift to tolerate",
}
"""What a box is called where its key alone says too little."""
PHONE = """<style>.sk-answer td:first-child { white-space: normal !important; line-height: 1.3; }
@media (max-width: 30em) { .sk-answer :is(td, th) { padding: .15em .25em !important; } }</style>"""
"""Names wrap, and on a phone the columns stand closer."""
HINTS = {
    "held": "centre; or a face, or a length from it",
    "moisture": "as the timber; or 20 %",
    "share": "half the post",
    "post_share": "half the post",
    "beam_share": "half the beam",
    "depth": "as the timber",
}
"""What an empty box stands for where its default is no length."""


class FinishesPage(LivePage):
    """Finish work and joinery on a job's timbers.

    Parameters
    ----------
    folder : Path, optional
        Where job files are; the user's own and the example's otherwise.
    system : {'imperial', 'metric'}
        Of pictures and text.

    Attributes
    ----------
    view : ipywidgets.Widget
        The page.
    controls : dict of str to ipywidgets.Widget
        'job', 'kind', 'species', 'heart', and one by each kind's key, such as 'boards.width'.
    panes : dict of str to ipywidgets.HTML
        'picture', 'sheet', 'own'.
    files : Downloads
        The sheet of the answer shown.
    found : Finding or None
        The last good answer; `shown` the job it is the answer of.
    """

    def __init__(self, folder: Path | None = None, system: System = "imperial") -> None:
        super().__init__()
        self.system = system
        self.found: Finding | None = None
        self.shown: Document | None = None
        self.files = Downloads(FILES, self._writers)
        self.panes = {name: w.HTML() for name in ("picture", "sheet", "own")}
        timber = TimberPicker(in_job=True, label="frame timbers")
        self.common: dict[str, w.Widget] = {
            "job": JobChooser(folder),
            "kind": choice("calculator", [(TITLES[kind], kind) for kind in KINDS]),
            "species": timber.parts["species"],
            "heart": timber.parts["heart"],
        }
        self.boxes: dict[str, dict[str, w.Widget]] = {}
        self.keys = w.VBox()
        self.common["kind"].observe(self._turn, names="value")
        self._turn()
        results = [*self.panes.values(), self.files]
        top = beside([*self.common.values(), self.keys, self.note, self.sign], results)
        self.view = w.VBox([top, w.HTML(cautions())])

    def _writers(self) -> dict[str, Writer] | None:
        """Return what writes the sheet of the answer shown."""
        return finish_writers(self.shown, self.system) if self.shown else None

    @property
    def kind(self) -> str:
        """The calculator chosen."""
        return str(self.common["kind"].value)

    def _turn(self, _event: Any = None) -> None:
        """Show the boxes of the calculator chosen, made when it is first asked for."""
        for boxes in self.boxes.values():
            for box in boxes.values():  # what could not be read must not wait behind another kind
                if isinstance(box, Entry) and box.wrong:
                    box.value = ""
        kind = self.kind
        if kind not in self.boxes:
            self.boxes[kind] = _boxes(kind)
            named = {f"{kind}.{key}": box for key, box in self.boxes[kind].items()}
            self.controls = self.common | self.controls | named
            self.follow(partial(self._update, kind), [*self.common, *named])
        self.keys.children = list(self.boxes[kind].values())

    def entry(self) -> dict[str, Any]:
        """Return the calculator's boxes as a job file would hold them, empty ones left out."""
        found: dict[str, Any] = {"name": TITLES[self.kind]}
        for key, box in self.boxes[self.kind].items():
            if box.value not in ("", None):
                found[key] = _listed(box.value) if key == "pegs" else box.value
        return found

    def _update(self, kind: str) -> None:
        if kind != self.kind:
            return
        document = read_job(Path(self.common["job"].value).expanduser())
        raw = tomllib.loads(document.source.text)
        own = findings(build(document))
        asked = {key: _chosen(self.common[key]) for key in ("species", "heart")}
        changed = edited(raw, asked) | {"finish": {kind: [self.entry()]}}
        source = Source(document.source.name, folder=document.source.folder)
        shown = check_job(changed, source)
        self.found, self.shown = findings(build(shown))[0], shown
        self.files.forget()
        svg, words = draw(self.found, self.system)
        self.panes["picture"].value = captioned("finish", svg, words)
        self.panes["sheet"].value = _sheet(self.found, self.system)
        self.panes["own"].value = _own(own, self.system)


def _boxes(kind: str) -> dict[str, w.Widget]:
    """Return a control for every key of a calculator, as its model in the job file reads it."""
    spec = get_args(FinishSpec.model_fields[kind].annotation)[0]
    fields: dict[str, FieldInfo] = spec.model_fields
    return {key: _box(kind, key, field) for key, field in fields.items() if key != "name"}


def _box(kind: str, key: str, field: FieldInfo) -> w.Widget:
    start = START.get(kind, {}).get(key, "")
    label = LABELS.get(f"{kind}.{key}", LABELS.get(key, key.replace("_", " ")))
    options = get_args(field.annotation)
    if key == "species":
        names = [name for name, wood in woods().items() if wood.s_t is not None]
        return choice(label, names, start)
    if key == "heart":
        return choice(label, HEART_KINDS, "unknown")
    if options and all(isinstance(option, str) for option in options):
        return choice(label, options, field.default)
    if key == "pegs":
        return TextBox("pegs above seat", lambda text: read_field("finish.pegged.pegs",
                       _listed(text)), start, "such as 2 in, 5 in", empty=False)  # fmt: skip
    return job_box(label, f"finish.{kind}.{key}", start, _hint(kind, key, field),
                   empty=not field.is_required())  # fmt: skip


def _hint(kind: str, key: str, field: FieldInfo) -> str:
    """Return what an empty box stands for."""
    if key == "angle":
        return "45 deg"
    if kind == "brace" and key == "moisture":
        return "green; or 22 %"
    if isinstance(field.default, float):
        return units.tape(field.default, FINEST)
    return HINTS.get(key, "")


def _listed(text: str) -> list[str]:
    return [part.strip() for part in re.split(r"[,;]", text) if part.strip()]


def _chosen(control: w.Widget) -> str | None:
    return None if control.value == AS_IN_JOB else str(control.value)


def _sheet(found: Finding, system: System) -> str:
    """Return amounts, notes and the working, the working folded away."""
    text = finding_sheet(found, system)
    head, steps = text.split("By hand, in mm:")
    _, *blocks = from_markdown(head)
    table = elements(blocks).replace("<table>", '<table class="sk-finish">')
    working = elements(from_markdown(steps))
    folded = f"<details><summary>By hand, in mm</summary>{working}</details>"
    return f'{PHONE}<div class="sk-answer">{table}{folded}</div>'


def _own(found: tuple[Finding, ...], system: System) -> str:
    """Return what the job file itself asks for, to go by, in short."""
    if not found:
        return ""
    rows = "".join(
        f"<tr><td>{escape(one.name)}</td><td>{escape(amount.name)}</td>"
        f"<td>{escape(go_by(amount, system))}</td></tr>"
        for one in found
        for amount in one.amounts
        if amount.governing
    )
    head = "<tr><th>in the job file</th><th>what</th><th>go by</th></tr>"
    return f'<table class="sk-own">{head}{rows}</table>'
