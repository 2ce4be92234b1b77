"""One notebook in JupyterLab: all cells run, the page stands in it, a control moves it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from driven import Driven

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def test_notebook_runs_and_answers(browser: Browser, lab: str) -> None:
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    driven = Driven(page)
    driven.open_in_lab(lab, "panel_shortcuts")
    assert page.locator(".jp-RenderedText[data-mime-type='application/vnd.jupyter.error']"
                        ).count() == 0  # fmt: skip
    assert driven.changes("moisture on the day", "18 %")
    assert driven.text(".sk-wrong") == ""
    driven.enter("roof pitch", "steep")
    assert driven.is_old()
    assert driven.wrong == []
    page.close()
