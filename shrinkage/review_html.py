"""A report's blocks as one HTML file that needs nothing beside it, on screen and on paper."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

from shrinkage.blocks import Block, Bullets, Heading, Landscape, Picture, Table, Text
from shrinkage.figures import as_svg

STYLE = """
:root { color-scheme: light }
body { font: 15px/1.5 Georgia, 'Times New Roman', serif; color: #111; background: #fff;
  max-width: 60rem; margin: 2rem auto; padding: 0 1rem }
h1, h2, h3, h4, th { font-family: 'Helvetica Neue', Arial, sans-serif; line-height: 1.25 }
h1 { font-size: 1.7rem; border-bottom: 2px solid #111; padding-bottom: .3rem; margin-top: 2.2rem }
h2 { font-size: 1.25rem; margin-top: 1.8rem } h3 { font-size: 1.05rem; margin-top: 1.4rem }
.wide { overflow-x: auto }
table { border-collapse: collapse; font-size: .84rem; margin: .6rem 0 1rem }
th, td { border-bottom: 1px solid #bbb; padding: .22rem .55rem; text-align: left;
  vertical-align: top }
th { border-bottom: 2px solid #111; font-size: .78rem }
td.n, th.n { text-align: right; font-variant-numeric: tabular-nums }
figure { margin: 1rem 0; break-inside: avoid } figcaption { font-size: .85rem; color: #333 }
svg { max-width: 100%; height: auto }
.equation { font-family: Consolas, 'DejaVu Sans Mono', monospace; font-size: .85rem;
  margin-left: 1.5rem }
.boxed { border: 1.5px solid #111; padding: .6rem .9rem }
@page { margin: 18mm 16mm; @bottom-center { content: counter(page) ' of ' counter(pages) } }
@media print { body { font-size: 10pt; max-width: none; margin: 0 } .wide { overflow: visible }
  table { font-size: 7.5pt } thead { display: table-header-group } tr { break-inside: avoid }
  h1 { break-before: page } h1:first-of-type { break-before: avoid }
  h1, h2, h3 { break-after: avoid } }
"""


def write_html(title: str, blocks: Iterable[Block]) -> str:
    """Return a report as HTML.

    Parameters
    ----------
    title : str
        Of the document.
    blocks : iterable of Block
        Its contents.
    """
    return document(title, elements(blocks))


def document(title: str, body: str) -> str:
    """Return elements as a page of their own in the look of a report.

    Parameters
    ----------
    title : str
        Of the document.
    body : str
        HTML.
    """
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}'
        '</title><meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<style>{STYLE}</style></head><body>\n{body}\n</body></html>\n"
    )


def elements(blocks: Iterable[Block]) -> str:
    """Return blocks as elements for inside a page."""
    return "\n".join(_block(block) for block in blocks)


def rich(text: str) -> str:
    """Return text for HTML, its ``**bold**`` as bold and ``code`` as code."""
    safe = re.sub(r"\*\*(.+?)\*\*", r"<b>\1</b>", escape(text, quote=False))
    return re.sub(r"`(.+?)`", r"<code>\1</code>", safe)


def _block(block: Block) -> str:
    if isinstance(block, Heading):
        level = min(block.level, 4)
        return f"<h{level}>{rich(block.text)}</h{level}>"
    if isinstance(block, Text):
        mark = f' class="{block.kind}"' if block.kind != "plain" else ""
        return f"<p{mark}>{rich(block.text)}</p>"
    if isinstance(block, Bullets):
        return "<ul>" + "".join(f"<li>{rich(item)}</li>" for item in block.items) + "</ul>"
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Picture):
        svg = as_svg(block.figure, block.words)
        return f"<figure>{svg}<figcaption>{rich(block.words)}</figcaption></figure>"
    assert isinstance(block, Landscape)
    return ""


def _table(table: Table) -> str:
    right = [table.is_number(column) for column in range(len(table.head))]

    def row(cells: Sequence[str], tag: str) -> str:
        parts = (
            f"<{tag}{' class=n' if number else ''}>{rich(cell)}</{tag}>"
            for cell, number in zip(cells, right, strict=True)
        )
        return f"<tr>{''.join(parts)}</tr>"

    body = "".join(row(cells, "td") for cells in table.rows)
    head = row(table.head, "th")
    return f'<div class="wide"><table><thead>{head}</thead><tbody>{body}</tbody></table></div>'
