"""How the documentation site is built: ``python -m sphinx -W -b html docs OUT``.

The pages are Markdown that also reads as it stands. Every example in them is run before a page is
written, so that a build fails where a page no longer says what the package does. Nothing in the
built pages is fetched from elsewhere: formulas become MathML, which browsers draw themselves.
"""

from __future__ import annotations

import html
import sys
import tomllib
from pathlib import Path
from typing import Any

from latex2mathml.converter import convert

DOCS = Path(__file__).resolve().parent
sys.path.insert(0, str(DOCS))

project = "shrinkage"
author = "the shrinkage authors"
copyright = "the shrinkage authors"
release = tomllib.loads((DOCS.parent / "pyproject.toml").read_text("utf-8"))["project"]["version"]

extensions = ["myst_parser"]
myst_enable_extensions = ["dollarmath"]
myst_heading_anchors = 4
root_doc = "index"
exclude_patterns = ["build"]

html_theme = "furo"
html_title = "shrinkage"
html_static_path = ["static"]
html_css_files = ["site.css"]
html_copy_source = False
html_show_sphinx = False
html_show_copyright = False
html_math_renderer = "mathml"
pygments_style = "friendly"


def _inline(writer: Any, node: Any) -> None:
    from docutils.nodes import SkipNode

    writer.body.append(convert(node.astext()))
    raise SkipNode


def _display(writer: Any, node: Any) -> None:
    from docutils.nodes import SkipNode

    drawn = convert(node.astext(), display="block")
    label = html.escape(" ".join(node.astext().split()), quote=True)
    writer.body.append(f'<div class="math" role="math" aria-label="{label}">{drawn}</div>\n')
    raise SkipNode


def _run_examples(app: Any) -> None:
    import examples

    if app.config.run_examples:
        examples.run_all()


def setup(app: Any) -> None:
    """Draw formulas as MathML and run the examples first; ``-D run_examples=0`` leaves them out."""
    app.add_config_value("run_examples", True, "")
    app.add_html_math_renderer("mathml", (_inline, None), (_display, None))
    app.connect("builder-inited", _run_examples)
