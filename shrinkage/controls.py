"""Controls with a label, a unit, help and their own message: what pages are put together from.

A text box is read by the same model that reads the job file, so that a page and a file accept the
same things within the same limits and say the same words where they do not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from html import escape
from typing import Any

import ipywidgets as w
import traitlets

from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import read_field

WIDE = w.Layout(width="27em", max_width="100%")
LABELS = {"description_width": "10.5em"}
AS_IN_JOB = "as in the job"

Reader = Callable[[str], Any]


def choice(label: str, options: Any, value: Any = None, tip: str = "") -> w.Dropdown:
    """Return a list to choose one from.

    Parameters
    ----------
    label : str
        What is chosen.
    options : sequence or sequence of (str, object)
        What there is.
    value : object, optional
        Where to start; the first otherwise.
    tip : str
        What it is for; shown when pointed at.
    """
    options = list(options)
    start = {} if value is None else {"value": value}
    return w.Dropdown(options=options, description=label, layout=WIDE, style=LABELS,
                      tooltip=tip or label, **start)  # fmt: skip


def several(label: str, options: Iterable[str], value: tuple[str, ...], tip: str,
            rows: int = 5) -> w.SelectMultiple:  # fmt: skip
    """Return a list to choose several from; the arguments are those of `choice`."""
    return w.SelectMultiple(options=list(options), value=value, description=label, rows=rows,
                            layout=WIDE, style=LABELS, tooltip=tip)  # fmt: skip


def slide(label: str, value: float, low: float, high: float, step: float = 1,
          tip: str = "") -> w.Widget:  # fmt: skip
    """Return a slider, of whole numbers where its step is one.

    Parameters
    ----------
    label : str
        What it sets, with its unit.
    value, low, high, step : float
        Start, limits and step, in that unit.
    tip : str
        What it is for.
    """
    how = {"description": label, "layout": WIDE, "style": LABELS, "tooltip": tip or label}
    if isinstance(step, int):
        return w.IntSlider(value, low, high, step, **how)
    return w.FloatSlider(value, min=low, max=high, step=step, readout_format=".3g", **how)


class Entry(w.VBox):
    """Something entered, with its own message beneath: a page asks no more of it than this.

    Parameters
    ----------
    label : str
        What is asked for.
    parts : sequence of ipywidgets.Widget
        What it is made of; the message comes under them.

    Attributes
    ----------
    value : str
        What is entered.
    wrong : str
        What is wrong with it; empty where nothing is.
    """

    value = traitlets.Unicode()
    wrong = traitlets.Unicode()

    def __init__(self, label: str, parts: Sequence[w.Widget]) -> None:
        self.label = label
        self.said = w.HTML(layout=w.Layout(display="none", max_width="27em"))
        super().__init__([*parts, self.said])

    def enter(self, value: str, wrong: str) -> None:
        """Take a value over; what is wrong is known before anybody hears of the new value."""
        self.wrong = wrong
        self.said.value = f'<div class="sk-entry" role="alert">{escape(wrong)}</div>' * bool(wrong)
        self.said.layout.display = None if wrong else "none"
        self.value = value


class TextBox(Entry):
    """A box for text that says at once, beneath itself, what is wrong with what stands in it.

    Parameters
    ----------
    label : str
        What is asked for.
    read : callable, optional
        Turns the text into a value or raises `ShrinkageError`; any text will do otherwise.
    value : str
        What stands in it at first.
    hint : str
        Shown while it is empty.
    tip : str
        What it is for; shown when pointed at.
    empty : bool
        Whether nothing at all is an answer too.
    lines : int
        Height; one line otherwise.
    """

    def __init__(
        self, label: str, read: Reader | None = None, value: str = "", hint: str = "",
        tip: str = "", empty: bool = True, lines: int = 1,
    ) -> None:  # fmt: skip
        self.read, self.empty = read, empty
        kind: Any = w.Text if lines == 1 else w.Textarea
        more = {} if lines == 1 else {"rows": lines}
        self.text = kind(value, description=label, placeholder=hint, layout=WIDE, style=LABELS,
                         tooltip=tip or hint or label, **more)  # fmt: skip
        super().__init__(label, [self.text])
        self.text.observe(lambda change: self._typed(change["new"]), names="value")
        self.observe(lambda change: setattr(self.text, "value", change["new"]), names="value")
        self._typed(value)

    def _typed(self, text: str) -> None:
        try:
            self.result(text)
        except ShrinkageError as error:
            self.enter(text, error.message)
        else:
            self.enter(text, "")

    def result(self, text: str | None = None) -> Any:
        """Return what the text stands for; None where it is empty and may be.

        Raises
        ------
        ShrinkageError
            If it cannot be read.
        """
        text = (self.value if text is None else text).strip()
        if not text and self.empty:
            return None
        if not text:
            raise ShrinkageError("nothing here yet")
        return self.read(text) if self.read else text


def job_box(label: str, key: str, value: str = "", hint: str = "", tip: str = "",
            empty: bool = True) -> TextBox:  # fmt: skip
    """Return a box for one key of the job file, read and limited as the job file is.

    Parameters
    ----------
    label, value, hint, tip, empty
        As `TextBox`.
    key : str
        Dotted key of the job file, such as 'eave.pitch'; a timber's role may be any.
    """
    return TextBox(label, lambda text: read_field(key, text), value, hint, tip, empty)


def length_box(label: str, value: str = "", hint: str = "", tip: str = "", zero: bool = False,
               empty: bool = False) -> TextBox:  # fmt: skip
    """Return a box for a length in tape-measure text, above zero, or from zero on.

    Parameters
    ----------
    label, value, hint, tip, empty
        As `TextBox`.
    zero : bool
        Whether nothing is a length too.
    """
    key = "allow.keep_clear" if zero else "panel.thickness"
    return job_box(label, key, value, hint or "such as 7' 11-5/8\" or 138 mm", tip, empty)


def section_box(label: str = "section", value: str = "", hint: str = "", tip: str = "",
                empty: bool = False) -> TextBox:  # fmt: skip
    """Return a box for a timber's section; the arguments are those of `TextBox`."""
    tip = tip or "width across, then depth up and down or square to the slope"
    return job_box(label, "timber.post.section", value, hint or "such as 8 in x 10 in", tip, empty)
