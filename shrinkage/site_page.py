"""The page for gaps as they were found: choose a job, paste or load readings, see what to do.

Nothing is computed here. A single gap that is put in becomes a row of the readings, so that what
is answered, logged and written is always the text that is shown.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import ipywidgets as w

from shrinkage.blocks import Bullets, Heading
from shrinkage.controls import TextBox, choice, length_box
from shrinkage.downloads import Downloads
from shrinkage.errors import ShrinkageError
from shrinkage.export import Writer
from shrinkage.found import AsFound, as_found
from shrinkage.found_card import FILES, found_writers
from shrinkage.found_sheet import answers, by_hand
from shrinkage.job_fields import read_day
from shrinkage.jobfile import read_job
from shrinkage.measures import (
    HEADS,
    LARGEST_BYTES,
    gap_edges,
    mark_of,
    parse_measures,
    write_template,
)
from shrinkage.order import Order, order
from shrinkage.pickers import JobChooser
from shrinkage.review_html import elements
from shrinkage.site_log import Compared, append, compare, log_path
from shrinkage.units import System
from shrinkage.widgets import LivePage, beside, cautions, message

HEAD = "date,place,value"
TEMPLATE = "gaps.csv"
SPACED = (
    "<style>.sk-site :is(td, th) { padding: .1em .6em; text-align: left; white-space: nowrap; } "
    ".sk-site td:nth-child(2) { white-space: normal; }</style>"
)


class SitePage(LivePage):
    """Gaps of one job as they were measured on site.

    Parameters
    ----------
    path : str or Path, optional
        The job file; the first of the list otherwise.
    text : str
        Readings, as a CSV.
    day : str
        Of rows without a date, such as '2027-06-01'.
    log : str or Path, optional
        The site log; the one beside the job otherwise.
    system : {'imperial', 'metric'}, optional
        Of lengths; the job's own otherwise.

    Attributes
    ----------
    view : ipywidgets.Widget
        The page.
    controls : dict of str to ipywidgets.Widget
        'job', 'day', 'text', 'log'.
    edge, gap, upload : ipywidgets.Widget
        A single gap to put in, and the file to load.
    panes : dict of str to ipywidgets.HTML
        'answers', 'aside', 'sheet'.
    logged : ipywidgets.HTML
        What was added to the log.
    answer : AsFound or None
        The last good answer.
    """

    def __init__(
        self, path: str | Path | None = None, text: str = "", day: str = "",
        log: str | Path | None = None, system: System | None = None,
    ) -> None:  # fmt: skip
        super().__init__()
        self.order: Order | None = None
        self.answer: AsFound | None = None
        self.held: Compared | None = None
        self._system, self._path = system, ""
        chooser = JobChooser()
        if path is not None:
            chooser.path.value = str(path)
        tip = "a CSV: a row a reading, columns date, place, value and more"
        rows = TextBox("readings", value=text, hint=HEAD, tip=tip, lines=10)
        rows.text.continuous_update = False  # an answer takes a second: not at every letter
        self.panes = {name: w.HTML() for name in ("answers", "aside", "sheet")}
        self.controls = {
            "job": chooser,
            "day": TextBox("date", read_day, day, "2027-06-01", "of rows that give none"),
            "text": rows,
            "log": TextBox("log", value=str(log or ""), hint="the log beside the job"),
        }
        self.edge = choice("edge", [], tip="of a single gap")
        self.gap = length_box("gap found", hint="9/16 in", tip="of a single gap", zero=True,
                              empty=True)  # fmt: skip
        self.upload = w.FileUpload(accept=".csv,.txt", description="load a CSV")
        self.logged = w.HTML()
        self.files = Downloads((*FILES, TEMPLATE), self._writers)
        self.follow(self._choose, ("job",), ())
        self.follow(self._update)
        self.view = self._view()

    def _view(self) -> w.Widget:
        put = w.Button(description="add the gap", tooltip="puts it below the readings")
        put.on_click(lambda _: self.put())
        add = w.Button(description="add to the log", tooltip="the readings that are answered")
        add.on_click(lambda _: self.log())
        self.upload.observe(self._loaded, names="value")
        shown = self.controls
        left = [shown["job"], shown["day"], shown["text"], self.upload, self.edge, self.gap, put,
                self.note, self.sign, shown["log"], add, self.logged, self.files]  # fmt: skip
        return w.VBox([beside(left, list(self.panes.values())), w.HTML(cautions())])

    @property
    def log_file(self) -> Path:
        """Where readings are logged."""
        named = self.controls["log"].value.strip()
        return Path(named).expanduser() if named else log_path(self._path)

    def put(self) -> None:
        """Add the single gap to the readings, as a row with the columns they have."""
        written, box = self.gap.value.strip(), self.controls["text"]
        if self.gap.wrong or not written:
            return
        text = box.value.strip() or HEAD
        mark = mark_of(text.splitlines()[0])
        head = next(csv.reader([text.splitlines()[0]], delimiter=mark))
        values = {"date": self.controls["day"].value.strip(), "place": self.edge.value,
                  "what": "gap", "value": written}  # fmt: skip
        cells = {spelling: value for name, value in values.items() for spelling in HEADS[name]}
        row = io.StringIO()
        csv.writer(row, delimiter=mark, lineterminator="").writerow(
            [cells.get(name.strip().lower(), "") for name in head]
        )
        box.value = f"{text}\n{row.getvalue()}"

    def _loaded(self, _event: Any = None) -> None:
        if not self.upload.value:
            return
        content = bytes(self.upload.value[0]["content"])
        try:
            if len(content) > LARGEST_BYTES:
                raise ShrinkageError("over 2 MB; accepted: a CSV of measurements")
            self.controls["text"].value = content.decode("utf-8-sig")
        except (UnicodeDecodeError, ShrinkageError) as error:
            why = getattr(error, "message", "not UTF-8 text; accepted: a CSV of measurements")
            self.note.value = message(f"{self.upload.value[0]['name']}: {why}", good=False)

    def log(self) -> None:
        """Add the readings that are answered to the log."""
        try:
            if self.held is None:
                raise ShrinkageError("nothing to log yet")
            append(self.log_file, self.held.new)
            said = f"{len(self.held.new)} new reading(s) in {self.log_file}"
            self.held = compare((*self.held.again, *self.held.new), self.log_file)
        except ShrinkageError as error:
            self.logged.value = message(error.message, good=False)
        else:
            self.logged.value = message(said, good=True)

    def _writers(self) -> dict[str, Writer] | None:
        if self.order is None:
            return None
        asked = self.order
        made = found_writers(self.answer, self._system) if self.answer else {}
        return {
            **dict.fromkeys(FILES, _no_answer), **made,
            TEMPLATE: lambda path: write_template(asked, path),
        }  # fmt: skip

    def _choose(self) -> None:
        self.order = self.answer = self.held = None
        self._path = self.controls["job"].value
        self.order = order(read_job(self._path))
        self.edge.options = [edge.place for edge in gap_edges(self.order)]
        self.edge.index = 0 if self.edge.options else None

    def _update(self) -> None:
        if self.order is None:
            raise ShrinkageError("choose a job that can be worked out")
        text, self.held = self.controls["text"].value, None
        self.logged.value = ""
        if not text.strip():
            raise ShrinkageError("no readings yet: paste or load a CSV, or add a gap")
        entries, problems = parse_measures(
            text, self.order, "readings", self.controls["day"].result()
        )
        held = compare(entries, self.log_file)
        aside = (*problems, *held.problems)
        self.panes["aside"].value = elements(
            [Heading(4, "Not used, and why"), Bullets(aside)] if aside else []
        )
        self.answer = as_found(self.order, held.given, system=self._system)
        self.held = held
        self.files.forget()
        system = self._system or self.order.frame.job.units
        self.panes["answers"].value = _spaced(elements(answers(self.answer, system)))
        self.panes["sheet"].value = _spaced(elements(by_hand(self.answer, system)))


def _no_answer(_path: Path) -> None:
    raise ShrinkageError("no answer yet to make files of")


def _spaced(html: str) -> str:
    """Return a report's elements with room between the columns of its tables."""
    return f'<div class="sk-site">{SPACED}{html}</div>'
