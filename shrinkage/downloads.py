"""Files of a page's answer, made as the command line makes them, to be saved from a browser.

A file is made when its button is pressed, in a folder that is thrown away, and offered as a link
that carries it: nothing is left on the machine that serves the page.
"""

from __future__ import annotations

import base64
import tempfile
from collections.abc import Callable, Mapping
from html import escape
from pathlib import Path

import ipywidgets as w

from shrinkage.errors import ShrinkageError
from shrinkage.export import Writer, order_writers, write_all
from shrinkage.handover import sheet_writers
from shrinkage.handover_page import page_writer
from shrinkage.order import Order
from shrinkage.widgets import WORKING, message

KINDS = {
    ".csv": "text/csv",
    ".md": "text/markdown",
    ".html": "text/html",
    ".pdf": "application/pdf",
    ".dxf": "image/vnd.dxf",
    ".jsonl": "application/jsonl",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
"""Media types by ending, as IANA lists them."""

Makers = Callable[[], Mapping[str, Writer] | None]


def order_files(order: Order) -> dict[str, Writer]:
    """Return what an order can be handed over as: file name to what writes it.

    Parameters
    ----------
    order : Order
        The answer to a job.
    """
    return {
        **order_writers(order),
        **sheet_writers(order),
        "page.html": lambda path: page_writer(order)(path),  # drawn only when it is asked for
    }


def link(name: str, content: bytes) -> str:
    """Return a link that carries a file, as HTML.

    Parameters
    ----------
    name : str
        What the file will be called.
    content : bytes
        What is in it.
    """
    kind = KINDS.get(Path(name).suffix, "application/octet-stream")
    data = base64.b64encode(content).decode("ascii")
    size = f"{len(content) / 1000:.0f} kB" if len(content) >= 1000 else f"{len(content)} bytes"
    return (
        f'<a download="{escape(name)}" href="data:{kind};base64,{data}">Save {escape(name)}</a>'
        f" ({size})"
    )


class Downloads(w.VBox):
    """A button for each file of an answer, and the links to those that were made.

    Parameters
    ----------
    names : sequence of str
        File names to offer.
    makers : callable
        Returns what writes each file of the answer as it now stands; None where there is none.

    Attributes
    ----------
    buttons : dict of str to ipywidgets.Button
        By file name.
    links : ipywidgets.HTML
        Links to the files made, or what is wrong.
    """

    def __init__(self, names: tuple[str, ...], makers: Makers) -> None:
        self.makers = makers
        self.buttons = {name: self._button(name) for name in names}
        self.links = w.HTML()
        row = w.HBox(list(self.buttons.values()), layout=w.Layout(flex_flow="row wrap"))
        super().__init__([w.HTML("<b>Files of the answer shown</b>"), row, self.links])
        self.made: dict[str, str] = {}

    def _button(self, name: str) -> w.Button:
        button = w.Button(description=name, tooltip=f"make {name} and offer it for saving",
                          layout=w.Layout(width="auto"))  # fmt: skip
        button.on_click(lambda _: self.make(name))
        return button

    def make(self, name: str) -> None:
        """Make one file and offer it; say what is wrong where it cannot be made."""
        self.links.value = WORKING
        try:
            writers = self.makers()
            if writers is None:
                raise ShrinkageError("no answer yet to make files of")
            with tempfile.TemporaryDirectory() as folder:
                path = write_all(Path(folder) / "made", {name: writers[name]})[0]
                self.made[name] = link(name, path.read_bytes())
        except ShrinkageError as error:
            self.links.value = message(error.message, good=False)
        else:
            self.links.value = f'<div class="sk-files">{"<br>".join(self.made.values())}</div>'

    def forget(self) -> None:
        """Take the links back: the answer they were made of is not the one shown any more."""
        self.made.clear()
        self.links.value = ""
