"""The watching page for notebooks: choose job and log; see readings, band and what is to come.

Nothing is computed here.
"""

from __future__ import annotations

from pathlib import Path

import ipywidgets as w

from shrinkage.blocks import Block, Bullets, Heading, Table, Text
from shrinkage.controls import TextBox, choice
from shrinkage.downloads import Downloads
from shrinkage.errors import ShrinkageError
from shrinkage.export import Writer
from shrinkage.jobfile import read_job
from shrinkage.order import order
from shrinkage.pickers import JobChooser
from shrinkage.review_html import elements
from shrinkage.site_log import log_path
from shrinkage.units import System
from shrinkage.watch import Watch, watch
from shrinkage.watch_command import read_entries
from shrinkage.watch_figures import gap_chart, gap_words
from shrinkage.watch_report import FILES, watch_writers
from shrinkage.watch_words import alarms, answers, known_table, readings_table
from shrinkage.widgets import LivePage, beside, captioned, cautions


class WatchPage(LivePage):
    """Readings of one job against its forecast.

    Parameters
    ----------
    path : str or Path, optional
        The job file; the first of the list otherwise.
    log : str or Path, optional
        Site log or CSV of readings; the log beside the job otherwise.
    system : {'imperial', 'metric'}, optional
        Of lengths; the job's own otherwise.

    Attributes
    ----------
    view : ipywidgets.Widget
        The page.
    controls : dict of str to ipywidgets.Widget
        'job', 'log', 'again' (raised by one to read the files again), 'gap'.
    panes : dict of str to ipywidgets.HTML
        'first', 'picture', 'readings', 'known'.
    answer : Watch or None
        The last good answer.
    """

    def __init__(
        self,
        path: str | Path | None = None,
        log: str | Path | None = None,
        system: System | None = None,
    ) -> None:
        super().__init__()
        self.answer: Watch | None = None
        self._system = system
        chooser = JobChooser()
        if path is not None:
            chooser.path.value = str(path)
        self.panes = {name: w.HTML() for name in ("first", "picture", "readings", "known")}
        self.controls = {
            "job": chooser,
            "log": TextBox("readings", value=str(log or ""), hint="the log beside the job",
                           tip="path of a site log, or of a CSV of readings with their dates"),
            "again": w.IntText(0),
            "gap": choice("gap shown", [], tip="gaps that were read come first"),
        }  # fmt: skip
        button = w.Button(description="read again", tooltip="after readings were added to the file")
        button.on_click(lambda _: self.read_again())
        self.files = Downloads(FILES, self._writers)
        self.follow(self._update, ("job", "log", "again"))
        self.follow(self._draw, ("gap",), ("picture",))
        shown = [self.controls[name] for name in ("job", "log")]
        left = [*shown, button, self.controls["gap"], self.note, self.sign, self.files]
        top = beside(left, list(self.panes.values()))
        self.view = w.VBox([top, w.HTML(cautions())])

    def _writers(self) -> dict[str, Writer] | None:
        return watch_writers(self.answer, self._system) if self.answer else None

    @property
    def system(self) -> System:
        """Units of lengths."""
        assert self.answer is not None
        return self._system or self.answer.order.frame.job.units

    def read_again(self) -> None:
        """Read job and log again: readings may have been added."""
        self.controls["again"].value += 1

    def _update(self) -> None:
        job, named = self.controls["job"].value, self.controls["log"].value.strip()
        asked = order(read_job(job))
        entries, problems = read_entries(
            Path(named).expanduser() if named else log_path(job), asked
        )
        self.answer = found = watch(asked, entries, problems=problems)
        self.files.forget()
        first = (*alarms(found, self.system), *found.problems)
        count, outside = len(found.seen), len(found.alarms)
        blocks: list[Block] = [
            Text(f"{count} readings, {outside} outside the 90 % band forecast before each.")
        ]
        if first:
            blocks += [Heading(4, "Look at these first"), Bullets(first)]
        blocks += [
            Heading(4, "What is to come"),
            Bullets(tuple(answers(found, self.system))),
        ]
        self.panes["first"].value = elements(blocks)
        self.panes["readings"].value = _shown(readings_table(found, self.system))
        self.panes["known"].value = _shown(known_table(found.known))
        self.controls["gap"].options = [gap.place for gap in found.gaps]
        self._draw()

    def _draw(self) -> None:
        if self.answer is None:
            raise ShrinkageError("no readings yet: choose a job with its dates, and its readings")
        place = self.controls["gap"].value
        gap = next((one for one in self.answer.gaps if one.place == place), self.answer.gaps[0])
        svg = gap_chart(self.answer, gap, self.system)
        words = gap_words(self.answer, gap, self.system)
        self.panes["picture"].value = captioned("watch", svg, words)


def _shown(table: Table) -> str:
    """Return a table in the look that all pages share."""
    return elements([table]).replace("<table>", '<table class="sk-watch">', 1)
