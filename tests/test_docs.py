"""The pages say what the package does: examples run, links lead somewhere, made pages are current.

The runner of the examples, `docs/examples.py`, is tried itself on pages that do not tell the truth.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
DOCS = ROOT / "docs"
sys.path[:0] = [str(DOCS), str(ROOT / "benchmarks")]
import examples  # noqa: E402

PAGES = sorted(DOCS.glob("*.md"))
SHOWN = [*PAGES, ROOT / "README.md", ROOT / "DEVELOPERS.md"]
LINK = re.compile(r"\]\(([^)\s]+)\)")
CODE = re.compile(r"^```.*?^```|^    .*?$|`[^`\n]*`", re.MULTILINE | re.DOTALL)
HOWTO = 3


def anchors(path: Path) -> set[str]:
    """Return what a link to a heading of the page may say, as hosts of Markdown make it."""
    headings = re.findall(r"^#+ (.+)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    kept = [re.sub(r"[^\w\- ]", "", heading.lower()) for heading in headings]
    return {heading.strip().replace(" ", "-") for heading in kept}


@pytest.mark.parametrize("path", [p for p in PAGES if examples.blocks(p)], ids=lambda p: p.stem)
def test_examples_of_a_page(path):
    assert examples.run(path) > 0


def test_every_user_has_a_page_with_examples():
    found = sorted(DOCS.glob("howto_*.md"))
    assert len(found) == HOWTO
    assert all(len(examples.blocks(path)) >= 3 for path in found)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("```python\nprint(1 + 1)\n```\n\n```text\n3\n```\n", "prints\n2"),
        ("```python\nprint(1)\n```\n", "prints\n1"),
        ("```console\n$ python -m shrinkage check data/starter.toml\nunsound\n```\n", "sound"),
        ("```console\n$ ls\n```\n", "not a command"),
        ('```toml\n[allow]\nkeep_clear = "1/8"\n```\n', "no unit"),
        ("```python\nraise ValueError('seen')\n```\n", "seen"),
    ],
)
def test_runner_sees_a_page_that_is_wrong(text, match, tmp_path):
    page = tmp_path / "page.md"
    page.write_text(f"# Page\n\n{text}", encoding="utf-8")
    with pytest.raises(Exception, match=match):
        examples.run(page)


@pytest.mark.parametrize(
    ("shown", "printed", "same"),
    [
        ("a\nb", "a\nb\n", True),
        ("a\n...\nd", "a\nb\nc\nd", True),
        ("...", "anything\nat all", True),
        ("a\n...\nd", "a\nb\nc", False),
        ("a", "a\nb", False),
        ("a.c", "abc", False),
    ],
)
def test_lines_left_out(shown, printed, same):
    assert examples.matches(shown, printed) is same


def test_a_file_of_an_example_is_there_for_the_next(tmp_path):
    page = tmp_path / "page.md"
    page.write_text(
        '```toml\n# some.toml\ntitle = "x"\n```\n\n'
        '```python\nprint(open("some.toml").read().count("title"))\n```\n\n```text\n1\n```\n',
        encoding="utf-8",
    )
    assert examples.run(page) == 2


@pytest.mark.parametrize("path", SHOWN, ids=lambda p: p.stem)
def test_links_lead_somewhere(path):
    text = CODE.sub("", path.read_text(encoding="utf-8"))
    for target in LINK.findall(text):
        if re.match(r"https?://|mailto:", target):
            continue
        name, _, part = target.partition("#")
        other = (path.parent / name).resolve() if name else path
        assert other.exists(), f"{path.name}: {target}"
        if part:
            assert part in anchors(other), f"{path.name}: {target}: no such heading"


@pytest.mark.parametrize("path", SHOWN, ids=lambda p: p.stem)
def test_pictures_are_there_and_say_what_they_show(path):
    for alt, target in re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", path.read_text(encoding="utf-8")):
        assert (path.parent / target).is_file(), target
        assert len(alt) > 10, f"{target} has no words for those who do not see it"


def test_picture_of_the_first_page_says_what_is_drawn():
    import index_figure

    _, words = index_figure.eave()
    assert f"![{words}](figures/eave.svg)" in (DOCS / "index.md").read_text(encoding="utf-8")


def test_every_page_is_in_the_contents():
    contents = (DOCS / "index.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"^(\w+)$", contents, re.MULTILINE))
    assert listed == {path.stem for path in PAGES} - {"index"}


def test_provenance_is_what_tables_and_code_give():
    import provenance

    assert provenance.PAGE.read_text(encoding="utf-8") == provenance.page(), (
        "out of date: python docs/provenance.py"
    )


def test_provenance_counts_every_row():
    import provenance

    rows = sum(
        len(path.read_text(encoding="utf-8").splitlines()) - 1
        for path in (ROOT / "data").glob("*.csv")
    )
    assert f"| all | **{rows}** |" in provenance.page()


def test_tables_of_speed_are_what_was_measured():
    import speed_page as page

    assert page.PAGE.read_text(encoding="utf-8") == page.filled(page.PAGE.read_text("utf-8"))


def test_measured_rows_say_when_and_on_what():
    rows = json.loads((DOCS / "benchmarks.json").read_text(encoding="utf-8"))["rows"]
    for row in rows:
        assert re.fullmatch(r"\d{4}-\d{2}-\d{2}", row["date"]), row
        assert row["machine"] and row["name"] and row["ours"], row


def test_a_benchmark_keeps_its_rows_and_no_one_elses(tmp_path, monkeypatch):
    import speed_page

    kept = tmp_path / "kept.json"
    monkeypatch.setattr(speed_page, "KEPT", kept)
    speed_page.write([{"bench": "other", "name": "a", "ours": "1 s"},
                      {"bench": "mine", "name": "old", "ours": "9 s"}])  # fmt: skip
    sheet = speed_page.Sheet("mine")
    sheet.add("new", "2 s", limit="3 s")
    sheet.keep(asked=False)
    assert "old" in kept.read_text(encoding="utf-8")
    sheet.keep(asked=True)
    rows = json.loads(kept.read_text(encoding="utf-8"))["rows"]
    assert [(row["bench"], row["name"]) for row in rows] == [("other", "a"), ("mine", "new")]
    assert rows[1]["date"] and rows[1]["machine"]
    filled = speed_page.filled("<!-- measured: mine -->\nstale\n<!-- end -->")
    assert "| new | 2 s | 3 s |" in filled and "stale" not in filled
    with pytest.raises(KeyError, match="unmeasured"):
        speed_page.filled("<!-- measured: unmeasured -->\n<!-- end -->")


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Path:
    """Build the site as a reader would, warnings being errors; the examples have tests above."""
    for name in ("sphinx", "myst_parser", "furo", "latex2mathml"):
        pytest.importorskip(name)
    out = tmp_path_factory.mktemp("site")
    words = ("-m", "sphinx", "-W", "-q", "-D", "run_examples=0", "-b", "html",
             "-d", out / "trees", DOCS, out / "html")  # fmt: skip
    found = subprocess.run(
        [sys.executable, *map(str, words)], capture_output=True, text=True, timeout=120
    )
    assert found.returncode == 0, found.stdout + found.stderr
    return out / "html"


def test_site_has_every_page(site):
    assert {path.stem for path in PAGES} <= {path.stem for path in site.glob("*.html")}


def test_site_fetches_nothing(site):
    """No script, style, picture or font comes from elsewhere; links a reader follows may."""
    for path in site.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        fetched = re.findall(r"<(?:script|img|iframe|source)\b[^>]*\bsrc=\"([^\"]+)\"", text)
        fetched += re.findall(r"<link\b[^>]*\bhref=\"([^\"]+)\"", text)
        assert fetched
        assert not [url for url in fetched if re.match(r"(https?:)?//", url)], path.name
    for path in [*site.rglob("*.css")]:
        text = path.read_text(encoding="utf-8")
        assert not re.findall(r"url\(['\"]?(?:https?:)?//|@import\s+['\"]?http", text), path.name


def test_formulas_are_drawn_by_the_browser_itself(site):
    text = (site / "theory.html").read_text(encoding="utf-8")
    formulas = (DOCS / "theory.md").read_text(encoding="utf-8").count("$$") // 2
    assert (
        text.count('<math xmlns="http://www.w3.org/1998/Math/MathML" display="block"') == formulas
    )
    assert "$" not in re.sub(r"<script.*?</script>|<pre.*?</pre>|aria-label=\"[^\"]*\"", "", text,
                             flags=re.DOTALL)  # fmt: skip
