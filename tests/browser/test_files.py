"""Files of an answer, saved from the page in a browser, and opened again."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING

import ezdxf
import openpyxl
import pandas as pd
import pypdf
import pytest
from driven import Driven, opened

from shrinkage.shortcut_page import FILES

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def page(browser: Browser, app: str) -> Iterator[Driven]:
    with opened(browser, app, "panel_shortcuts") as shown:
        yield shown


def save(page: Driven, name: str) -> bytes:
    """Press a file's button, then its link; return what the browser saved."""
    page.page.locator("button", has_text=name).click()
    link = page.page.locator(f"a[download='{name}']")
    link.wait_for()
    with page.page.expect_download() as waiting:
        link.click()
    saved = waiting.value
    assert saved.suggested_filename == name
    return saved.path().read_bytes()


def test_every_kind_is_offered(page: Driven) -> None:
    buttons = page.page.locator("button.jupyter-button").all_inner_texts()
    assert tuple(text for text in buttons if "." in text) == FILES


def test_schedule_opens_as_table_and_workbook(page: Driven) -> None:
    table = pd.read_csv(io.BytesIO(save(page, "schedule.csv")))
    book = openpyxl.load_workbook(io.BytesIO(save(page, "schedule.xlsx")))
    shown = page.page.locator("table.sk-schedule tbody tr").count()
    assert len(table) == shown > 10
    first = page.page.locator("table.sk-schedule tbody tr").first.locator("td").all_inner_texts()
    assert table["panel"][0] == first[0]
    cells = [str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row]
    assert set(table["panel"]) <= set(cells)


@pytest.mark.parametrize(
    ("name", "words"),
    [("order_sheets.pdf", "south"), ("crew_card.pdf", "These gaps are meant"),
     ("pocket_table.pdf", "SIXTEENTHS")],
)  # fmt: skip
def test_sheets_open_as_pdf(page: Driven, name: str, words: str) -> None:
    pdf = pypdf.PdfReader(io.BytesIO(save(page, name)))
    assert words in "".join(sheet.extract_text() for sheet in pdf.pages)


def test_outlines_open_as_drawing(page: Driven) -> None:
    text = save(page, "outlines.dxf").decode("utf-8")
    drawing = ezdxf.read(io.StringIO(text))
    panels = len(page.page.locator("table.sk-schedule tbody tr").all())
    outlines = drawing.modelspace().query('*[layer=="PANEL-OUTLINE"]')
    assert len(outlines) == panels
    assert drawing.header["$INSUNITS"] == 1  # inches: the example's own


def test_worksheet_and_page_are_text(page: Driven) -> None:
    assert "Gap needed =" in save(page, "worksheet.md").decode("utf-8")
    assert save(page, "page.html").decode("utf-8").startswith("<!doctype html>")


def test_links_go_when_the_answer_changes(page: Driven) -> None:
    save(page, "schedule.csv")
    page.enter("moisture on the day", "18 %")
    assert page.becomes("document.querySelector('a[download]') === null")


def test_report_of_the_engineer_opens(browser: Browser, app: str) -> None:
    with opened(browser, app, "roof_to_wall_gap") as shown:
        shown.settle()
        html = save(shown, "review.html").decode("utf-8")
        assert html.startswith("<!doctype html>") and "south" in html
        pdf = pypdf.PdfReader(io.BytesIO(save(shown, "review.pdf")))
        assert len(pdf.pages) > 5 and "south" in pdf.pages[0].extract_text()
