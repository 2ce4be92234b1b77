"""Names that would like to be something else: markup, formulas, paths, codes of a drawing."""

from __future__ import annotations

import copy
import csv
import tomllib
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from mutations import holder, places, to_toml

from shrinkage.__main__ import main
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import read_job
from shrinkage.tables import data_folder

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
HOSTILE = {
    "script": "<script>alert(1)</script>",
    "image": '"><img src=x onerror=alert(1)>',
    "formula": '=HYPERLINK("http://example.invalid")',
    "sum": "@SUM(1)",
    "minus": "-1+1|x",
    "path": "../../escaped",
    "letters": "%%c^J\\P{}$\\frac$&amp;|",
    "right to left": "\u202e<b>\u2066\u200f",
}
NAMES = ("title", "name", "source", "relaxation_source", "firm", "project", "client", "address",
         "call", "drawn_by", "checked_by", "revision", "note")  # fmt: skip
"""Keys whose value is free text; every other text of a job file has a form it is checked for."""


def hostile_job(text: str) -> dict[str, Any]:
    """Return the job with every table, each of its free texts (and its own wood) made hostile."""
    job = tomllib.loads((CORPUS / "every_section.toml").read_text(encoding="utf-8"))
    for key in ("calendar", "metered", "air"):
        job.pop(key)
    job["air"] = {"place": "Madison, WI"}
    job["spread"]["draws"] = 64
    wood = job["species"].pop("my larch")
    job = tomllib.loads(to_toml(job).replace('"my larch"', '"THEIRS"'))
    for number, path in enumerate([p for p in places(job) if p[-1] in NAMES]):
        if isinstance(holder(job, path)[path[-1]], str):
            # Walls must differ; what matters stands at the start.
            holder(job, path)[path[-1]] = f"{text} {number}"
    name = f"{text} wood"
    job["species"] = {name: wood | {"source": text}}
    for path in list(places(job)):
        if holder(job, path)[path[-1]] == "THEIRS":
            holder(job, path)[path[-1]] = name
    return job


class Seen(HTMLParser):
    """Gathers what a page is made of."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.links: set[str] = set()
        self.scripts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        self.links |= {value or "" for name, value in attrs if name in ("href", "src")}

    def handle_data(self, data: str) -> None:
        if self.lasttag == "script" and data.strip():
            self.scripts.append(data)


def seen(path: Path) -> Seen:
    page = Seen()
    page.feed(path.read_text(encoding="utf-8"))
    return page


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Return a function that writes everything for a text, once, and gives the folder."""
    done: dict[str, Path] = {}

    def write(text: str) -> Path:
        if text not in done:
            folder = tmp_path_factory.mktemp("site") / "a" / "b"
            folder.mkdir(parents=True)
            job = folder / "job.toml"
            job.write_text(to_toml(hostile_job(text)), encoding="utf-8")
            for command, out in (("order", "out"), ("page", "page.html"), ("sheets", "sheets")):
                assert main([command, str(job), "-o", str(folder / out)]) == 0
            done[text] = folder
        return done[text]

    return write


@pytest.mark.parametrize("kind", ["script", "image", "letters", "right to left"])
def test_page_is_made_of_the_same_elements(kind, written):
    plain, page = (seen(written(text) / "page.html") for text in ("plain", HOSTILE[kind]))
    assert page.tags == plain.tags and page.attributes == plain.attributes
    assert page.scripts == plain.scripts
    assert all(link.startswith("#") for link in page.links)
    assert "img" not in page.tags and not any(name.startswith("on") for name in page.attributes)


@pytest.mark.parametrize("kind", ["script", "image"])
def test_review_is_made_of_the_same_elements(kind, tmp_path):
    pages = []
    for number, text in enumerate(("plain", HOSTILE[kind])):
        job = tmp_path / f"job{number}.toml"
        job.write_text(to_toml(hostile_job(text)), encoding="utf-8")
        out = tmp_path / f"out{number}"
        assert main(["review", str(job), "--html", "-o", str(out)]) == 0
        pages.append(seen(out / "review.html"))
    assert pages[0].tags == pages[1].tags and not pages[1].scripts
    assert pages[0].attributes == pages[1].attributes


@pytest.mark.parametrize("kind", ["formula", "sum", "minus"])
def test_spreadsheets_hold_no_formula(kind, written):
    folder = written(HOSTILE[kind]) / "out"
    book = openpyxl.load_workbook(folder / "schedule.xlsx")
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [cell.value for cell in cells if cell.data_type == "f" or cell.hyperlink]
    texts = [cell.value for cell in cells if isinstance(cell.value, str)]
    assert any(text.startswith("'" + HOSTILE[kind]) for text in texts)
    for name in ("schedule.csv", "edges.csv"):
        with (folder / name).open(newline="", encoding="utf-8") as stream:
            for row in csv.reader(stream):
                risky = [cell for cell in row if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
                assert all(_is_number(cell) for cell in risky)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("kind", ["path", "letters", "script"])
def test_no_name_is_a_path_and_papers_open(kind, written):
    import ezdxf
    from pypdf import PdfReader

    folder = written(HOSTILE[kind])
    found = {str(p.relative_to(folder)) for p in folder.parent.parent.rglob("*") if p.is_file()}
    assert found == {
        "job.toml", "page.html", "out/schedule.csv", "out/edges.csv", "out/schedule.xlsx",
        "out/worksheet.md", "sheets/order_sheets.pdf", "sheets/crew_card.pdf",
        "sheets/pocket_table.pdf", "sheets/outlines.dxf",
    }  # fmt: skip
    drawing = ezdxf.readfile(folder / "sheets" / "outlines.dxf")
    assert not drawing.audit().errors
    for name in ("order_sheets", "crew_card", "pocket_table"):
        reader = PdfReader(folder / "sheets" / f"{name}.pdf")
        assert reader.pages and "/OpenAction" not in reader.trailer["/Root"]
        assert "/JavaScript" not in reader.trailer["/Root"].get("/Names", {})


ODD = ("nul\0", "tab\there", "a\rb", "line\nbreak", "\x1b[31mred", "\x9b31m")


@pytest.mark.parametrize("text", ODD, ids=repr)
def test_control_characters_are_refused_wherever_text_is_free(text, tmp_path):
    path = tmp_path / "job.toml"
    base = tomllib.loads((CORPUS / "every_section.toml").read_text(encoding="utf-8"))
    free = [p for p in places(base) if p[-1] in NAMES and isinstance(holder(base, p)[p[-1]], str)]
    assert len(free) > 15
    for place in (*free, ("air", "series")):
        job = copy.deepcopy(base)
        holder(job, place)[place[-1]] = text
        path.write_text(to_toml(job), encoding="utf-8")
        with pytest.raises(ShrinkageError, match="without control characters") as refused:
            read_job(path)
        assert not set(text) & set("\0\t\r\x1b\x9b") & set(refused.value.message)


def test_a_species_key_cannot_carry_control_characters(tmp_path):
    path = tmp_path / "job.toml"
    text = (data_folder() / "workshop.toml").read_text(encoding="utf-8")
    odd = '\n[species."red\\u001b[31m"]\nradial = "4 %"\ntangential = "8 %"\nsource = "x"\n'
    path.write_text(text + odd, encoding="utf-8")
    with pytest.raises(ShrinkageError, match="without control characters") as refused:
        read_job(path)
    assert "\x1b" not in refused.value.message


def test_a_study_s_table_holds_no_formula(tmp_path):
    (tmp_path / "job.toml").write_text(
        (data_folder() / "starter.toml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    (tmp_path / "s.toml").write_text(
        'job = "job.toml"\n[vary]\n"=1+1" = ["=2+2", "@x"]\n"title" = ["+3"]\n', encoding="utf-8"
    )
    assert main(["sweep", str(tmp_path / "s.toml"), "-o", str(tmp_path / "t.csv")]) == 0
    with (tmp_path / "t.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.reader(stream))
    assert len(rows) == 3 and rows[0][1] == "'=1+1"
    assert not [c for row in rows for c in row if c[:1] in ("=", "+", "@")]
