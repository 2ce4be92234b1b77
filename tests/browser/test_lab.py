"""One notebook in JupyterLab: all cells run, the page stands in it, a control moves it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from driven import Driven

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def test_notebook_runs_and_answers(browser: Browser, lab: str) -> None:
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    driven = Driven(page)
    page.goto(lab.replace("start.ipynb", "panel_shortcuts.ipynb") + "&reset",
              wait_until="domcontentloaded", timeout=90_000)  # fmt: skip
    idle = ".jp-Notebook-ExecutionIndicator[data-status='idle']"
    page.wait_for_selector(idle, state="attached", timeout=90_000)
    page.locator(".lm-MenuBar-item", has_text="Run").click()
    page.locator(".lm-Menu-item[data-command='runmenu:run-all']").click()
    asked = page.locator(".jp-Dialog button.jp-mod-accept")
    page.wait_for_selector(".sk-note, .jp-Dialog", state="attached", timeout=90_000)
    if asked.count():  # which kernel: the one offered
        asked.first.click()
    page.wait_for_selector(".sk-note", state="attached", timeout=90_000)
    page.wait_for_selector(idle, state="attached", timeout=90_000)
    assert page.locator(".jp-RenderedText[data-mime-type='application/vnd.jupyter.error']"
                        ).count() == 0  # fmt: skip
    assert driven.changes("moisture on the day", "18 %")
    assert driven.text(".sk-wrong") == ""
    driven.enter("roof pitch", "steep")
    assert driven.becomes("document.querySelectorAll('.sk-old').length > 0")
    assert driven.wrong == []
    page.close()
