"""A report's blocks as PDF: page numbers, tables that fit, nothing cut. Needs reportlab."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from shrinkage.blocks import Block, Bullets, Heading, Landscape, Picture, Table, Text
from shrinkage.review_html import rich
from shrinkage.spread import need
from shrinkage.units import System

DPI = 220
MARGIN = 50.0
"""[pt]"""
FONTS = {"Sans": "DejaVuSans", "SansBold": "DejaVuSans-Bold", "Serif": "DejaVuSerif",
         "SerifBold": "DejaVuSerif-Bold", "Mono": "DejaVuSansMono"}  # fmt: skip
"""Those that come with matplotlib: embedded, so that Greek letters and any name can be printed."""
SANS, BOLD, SERIF, MONO = "Sans", "SansBold", "Serif", "Mono"
SIZES = (7.5, 7.0, 6.5, 6.0, 5.5, 5.0)
"""Of table text, the largest that fits [pt]."""


def write_pdf(path: Path, title: str, foot: str, blocks: Iterable[Block], system: System) -> None:
    """Write a report as PDF.

    Parameters
    ----------
    path : Path
        The file.
    title, foot : str
        At the top and the bottom of every page.
    blocks : iterable of Block
        Its contents.
    system : {'imperial', 'metric'}
        Letter or A4 paper.

    Raises
    ------
    ShrinkageError
        If reportlab is not installed.
    """
    try:
        from reportlab.lib.pagesizes import A4, LETTER, landscape
        from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate
    except ImportError:
        raise need("review", "reportlab") from None
    _fonts()
    paper = LETTER if system == "imperial" else A4
    document = BaseDocTemplate(str(path), pagesize=paper, title=title, invariant=1,
                               author="shrinkage")  # fmt: skip
    sizes = {"upright": paper, "lying": landscape(paper)}
    document.addPageTemplates([
        PageTemplate(
            name,
            [Frame(MARGIN, MARGIN, width - 2 * MARGIN, height - 2 * MARGIN, 0, 0, 0, 0)],
            pagesize=(width, height),
            onPage=lambda canvas, _: _edges(canvas, title, foot),
        )
        for name, (width, height) in sizes.items()
    ])  # fmt: skip
    story = _Story(sizes["upright"][0] - 2 * MARGIN, sizes["lying"][0] - 2 * MARGIN)
    document.build(story.of(blocks), canvasmaker=_numbered())


def _edges(canvas: Any, title: str, foot: str) -> None:
    """Draw the lines at the top and bottom of a page, without its number."""
    width, height = canvas._pagesize
    canvas.saveState()
    canvas.setFont(SANS, 7.5)
    canvas.drawString(MARGIN, height - 34, title)
    canvas.drawString(MARGIN, 30, foot)
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, height - 38, width - MARGIN, height - 38)
    canvas.line(MARGIN, 40, width - MARGIN, 40)
    canvas.restoreState()


def _numbered() -> Any:
    """Return a canvas that knows the number of pages."""
    from reportlab.pdfgen.canvas import Canvas

    class Numbered(Canvas):  # type: ignore[misc]
        """Keeps every page until the last, then writes 'Page n of N' on each."""

        def __init__(self, *args: Any, **kwargs: Any) -> None:
            super().__init__(*args, **kwargs)
            self._pages: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802  (reportlab's name)
            self._pages.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, page in enumerate(self._pages, start=1):
                self.__dict__.update(page)
                self.setFont(SANS, 7.5)
                right = self._pagesize[0] - MARGIN
                self.drawRightString(right, 30, f"Page {number} of {len(self._pages)}")
                super().showPage()
            super().save()

    return Numbered


def _fonts() -> None:
    """Make the fonts known to reportlab."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name, file in FONTS.items():
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{file}.ttf")))
    for name in (SANS, SERIF):
        pdfmetrics.registerFontFamily(name, name, f"{name}Bold", name, f"{name}Bold")


def _marked(text: str) -> str:
    """Return text as reportlab's paragraphs take it."""
    return re.sub(r"<(/?)code>", r"<\1font>", rich(text)).replace("<font>", f'<font face="{MONO}">')


class _Story:
    """Makes flowables of blocks, on upright pages and then on lying ones."""

    def __init__(self, upright: float, lying: float) -> None:
        from reportlab.lib.styles import ParagraphStyle

        self.width, self.lying = upright, lying
        base = ParagraphStyle("plain", fontName=SERIF, fontSize=9, leading=12.5, spaceAfter=6)
        self.styles = {
            "plain": base,
            "equation": ParagraphStyle("equation", base, fontName=MONO, fontSize=8, leading=11,
                                       leftIndent=14),
            "boxed": ParagraphStyle("boxed", base, borderWidth=1, borderColor="black",
                                    borderPadding=7, spaceBefore=18, spaceAfter=12),
            "small": ParagraphStyle("small", base, fontSize=8, leading=10.5),
        }  # fmt: skip
        for level, size in ((1, 15), (2, 12), (3, 10), (4, 9)):
            self.styles[f"h{level}"] = ParagraphStyle(
                f"h{level}", fontName=BOLD, fontSize=size, leading=size * 1.25,
                spaceBefore=size * 0.7, spaceAfter=size * 0.4,
            )  # fmt: skip

    def of(self, blocks: Iterable[Block]) -> list[Any]:
        """Return the flowables of a report."""
        from reportlab.platypus import NextPageTemplate, PageBreak

        story: list[Any] = []
        turned = False
        for block in blocks:
            if isinstance(block, Landscape):
                story.append(NextPageTemplate("lying"))
                self.width, turned = self.lying, True
            elif isinstance(block, Heading) and block.level == 1 and story:
                story.append(PageBreak())
                turned = False
                story += self._one(block)
            else:
                if turned:
                    story.append(PageBreak())
                    turned = False
                story += self._one(block)
        return story

    def _one(self, block: Block) -> list[Any]:
        from reportlab.platypus import (
            CondPageBreak,
            KeepTogether,
            ListFlowable,
            ListItem,
            Paragraph,
            Spacer,
        )

        if isinstance(block, Heading):
            # Room for a few lines under it; a table after it may still run over the page.
            style = self.styles[f"h{min(block.level, 4)}"]
            return [CondPageBreak(LINES_BELOW), Paragraph(_marked(block.text), style)]
        if isinstance(block, Text):
            return [Paragraph(_marked(block.text), self.styles[block.kind])]
        if isinstance(block, Bullets):
            items = [ListItem(Paragraph(_marked(i), self.styles["plain"])) for i in block.items]
            dots = ListFlowable(items, bulletType="bullet", start="•", leftIndent=12)
            return [dots, Spacer(1, 4)]
        if isinstance(block, Table):
            return [self._table(block), Spacer(1, 8)]
        assert isinstance(block, Picture)
        caption = Paragraph(_marked(block.words), self.styles["small"])
        return [KeepTogether([self._picture(block), caption, Spacer(1, 6)])]

    def _picture(self, block: Picture) -> Any:
        from reportlab.platypus import Image

        buffer = io.BytesIO()
        block.figure.savefig(buffer, format="png", dpi=DPI)
        buffer.seek(0)
        wide, high = block.figure.get_size_inches()
        return Image(buffer, width=self.width, height=self.width * high / wide)

    def _table(self, table: Table) -> Any:
        from reportlab.lib.styles import ParagraphStyle
        from reportlab.platypus import Paragraph
        from reportlab.platypus import Table as Grid

        size, widths = _fitted(table, self.width)
        cell = ParagraphStyle("cell", fontName=SANS, fontSize=size, leading=size * 1.22)
        right = ParagraphStyle("right", cell, alignment=2)
        bold = ParagraphStyle("bold", cell, fontName=BOLD)
        bold_right = ParagraphStyle("bold right", bold, alignment=2)
        numbers = [table.is_number(column) for column in range(len(table.head))]
        rows = [[
            Paragraph(_marked(name), bold_right if number else bold)
            for name, number in zip(table.head, numbers, strict=True)
        ]]  # fmt: skip
        for row in table.rows:
            rows.append([
                Paragraph(_marked(text), right if number else cell)
                for text, number in zip(row, numbers, strict=True)
            ])  # fmt: skip
        grid = Grid(rows, colWidths=widths, repeatRows=1, hAlign="LEFT")
        grid.setStyle([
            ("LINEBELOW", (0, 0), (-1, 0), 1, "black"),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, "#999999"),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 3), ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ])  # fmt: skip
        return grid


PAD = 8.0
LINES_BELOW = 110.0
"""[pt]"""


def _fitted(table: Table, width: float) -> tuple[float, list[float]]:
    """Return a text size and column widths with which no word is cut.

    A column asks for its longest word at least and its longest cell at most; what is left over is
    shared by what each would still use.
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    columns = [[name, *(row[at] for row in table.rows)] for at, name in enumerate(table.head)]
    for size in SIZES:

        def measured(text: str, size: float = size) -> float:
            return float(stringWidth(text.strip("*"), BOLD, size))

        least = [max(measured(w) for c in column for w in (c.split() or [""])) + PAD
                 for column in columns]  # fmt: skip
        most = [max(max(map(measured, column)) + PAD, low)
                for column, low in zip(columns, least, strict=True)]  # fmt: skip
        if sum(most) <= width:
            return size, most
        if sum(least) <= width:
            spare, wish = width - sum(least), [m - x for m, x in zip(most, least, strict=True)]
            share = spare / sum(wish)
            return size, [x + share * w for x, w in zip(least, wish, strict=True)]
    scale = width / sum(least)
    return SIZES[-1], [x * scale for x in least]
