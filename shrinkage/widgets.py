"""The look and the way all pages share: controls on the left, the answer on the right.

Results are HTML widgets holding SVG and tables, so that a page redraws quickly, works in a served
notebook and can be tested without a browser. A wrong entry shows its message and keeps the last
good answer, marked as old. Nothing is computed here.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterable, Sequence
from html import escape

import ipywidgets as w

from shrinkage.controls import Entry
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.schedule import CAUTIONS

LOOK = """<style>
figure[class^="sk-"] { margin: .4em 0; }
figure[class^="sk-"] svg { max-width: 100%; height: auto; }
figure[class^="sk-"] figcaption { max-width: 46em; line-height: 1.35; }
table[class*="sk-"] { border-collapse: collapse; font-size: 90%; }
table[class*="sk-"] :is(td, th) {
  padding: .15em .6em; text-align: left; border-bottom: 1px solid #d0d0d0; white-space: nowrap; }
table[class*="sk-"] th { white-space: normal; vertical-align: bottom; }
.widget-html-content { min-width: 0; }
.widget-html-content .wide { overflow-x: auto; }
@media (max-width: 40em) {
  .widget-html-content table[class*="sk-"] { display: block; overflow-x: auto; }
  .widget-html-content table.sk-jobs :is(td, th) { white-space: normal; overflow-wrap: anywhere; }
}
.sk-wrong, .sk-entry { border-left: 4px solid #8a1c1c; padding: .3em .6em; background: #fbeeee;
  color: #4d0f0f; line-height: 1.35; white-space: normal; overflow-wrap: anywhere; }
.sk-old { border-left: 4px solid #8a1c1c; padding-left: .5em; }
.sk-old::before { content: "Old answer: the entries beside are not in it yet."; color: #8a1c1c;
  font-weight: bold; display: block; }
.sk-old > * { opacity: .6; }
.sk-working { visibility: hidden; animation: sk-late 0s .3s forwards; font-weight: bold; }
@keyframes sk-late { to { visibility: visible; } }
.sk-files a { display: inline-block; margin: .15em .8em .15em 0; }
:focus-visible { outline: 2px solid #1f4e79; outline-offset: 1px; }
</style>"""
"""One look for all pages: pictures that fit the screen, tables that can be read, old answers that
cannot be taken for new ones, and a sign that appears where an answer takes over 0.3 s."""

WORKING = '<div class="sk-working" role="status">Working: what is shown is the answer before</div>'
GOOD = "Answer for the settings above."


def beside(controls: Sequence[w.Widget], results: Sequence[w.Widget]) -> w.HBox:
    """Return controls with their results beside them, or under them on a narrow screen."""
    left = w.VBox(list(controls), layout=w.Layout(flex="0 1 28em", min_width="0"))
    right = w.VBox(list(results), layout=w.Layout(flex="1 1 34em", min_width="0", overflow="auto"))
    return w.HBox([w.HTML(LOOK), left, right], layout=w.Layout(flex_flow="row wrap"))


def message(text: str, good: bool) -> str:
    """Return a line of text for beside the controls: plain when good, framed when not."""
    if good:
        return f'<div class="sk-note">{escape(text)}</div>'
    lines = "<br>".join(escape(line) for line in text.splitlines())
    return f'<div class="sk-wrong" role="alert">{lines}</div>'


def cautions() -> str:
    """Return the cautions every page ends with, as HTML."""
    items = "".join(f"<li>{escape(text)}</li>" for text in CAUTIONS)
    return f'<div class="sk-cautions"><b>Before you use this</b><ul>{items}</ul></div>'


def captioned(name: str, svg: str, words: str) -> str:
    """Return a picture with its words under it, as HTML.

    Parameters
    ----------
    name : str
        Of the picture; its class is 'sk-' and this.
    svg : str
        The picture.
    words : str
        What it shows.
    """
    return f'<figure class="sk-{name}">{svg}<figcaption>{escape(words)}</figcaption></figure>'


class LivePage:
    """What every page does: follow its controls, say what is wrong, mark what is old.

    A page fills `controls` and `panes`, then says with `follow` what is worked out again when.

    Attributes
    ----------
    controls : dict of str to ipywidgets.Widget
        By name.
    panes : dict of str to ipywidgets.HTML
        Results, by name.
    note, sign : ipywidgets.HTML
        Message beside the controls, and the sign that an answer is being worked out.
    """

    good = GOOD

    def __init__(self) -> None:
        self.controls: dict[str, w.Widget] = {}
        self.panes: dict[str, w.HTML] = {}
        self.note, self.sign = w.HTML(), w.HTML()
        self._told: dict[Callable[[], None], str] = {}

    def follow(
        self,
        draw: Callable[[], None],
        names: Iterable[str] | None = None,
        panes: Iterable[str] | None = None,
    ) -> None:
        """Work something out now, and again whenever one of its controls changes.

        Parameters
        ----------
        draw : callable
            Fills panes from the controls; may raise `ShrinkageError`, before it fills any.
        names : iterable of str, optional
            The controls it hangs on; all of them otherwise.
        panes : iterable of str, optional
            The panes it fills; all of them otherwise.
        """
        watched = list(self.controls if names is None else names)
        filled = list(self.panes if panes is None else panes)

        def changed(_event: object = None) -> None:
            self._told[draw] = self._try(draw, watched)
            for name in filled:
                mark = self.panes[name].add_class if self._told[draw] else None
                (mark or self.panes[name].remove_class)("sk-old")
            wrong = [text for text in self._told.values() if text]
            text = "\n".join(dict.fromkeys(wrong)) if wrong else self.good
            self.note.value = message(text, good=not wrong)

        for name in watched:
            self.controls[name].observe(changed, names="value")
        changed()

    def _try(self, draw: Callable[[], None], watched: Sequence[str]) -> str:
        """Return what is wrong, empty where all went well."""
        boxes = [self.controls[name] for name in watched]
        marked = [box.label for box in boxes if isinstance(box, Entry) and box.wrong]
        if marked:
            return f"Not read yet: {', '.join(marked)}. What is shown is the answer before."
        self.sign.value = WORKING
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", RangeWarning)  # the pages say it in their words
                draw()
        except ShrinkageError as error:
            return error.message
        finally:
            self.sign.value = ""
        return ""
