"""A page of ours in a browser, driven by its labels as a user would."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

SEEN = (
    "() => [...document.querySelectorAll('.widget-html-content > *')]"
    ".filter(e => !e.matches('style, .sk-note, .sk-wrong, .sk-entry, .sk-working, .sk-cautions'))"
    ".map(e => e.outerHTML).join('\\n')"
)
"""Every result on the page as HTML: not the messages, not the cautions."""
SETTLED = """() => new Promise(done => {
  let last = performance.now();
  const watch = new MutationObserver(() => { last = performance.now(); });
  watch.observe(document.body, {subtree: true, childList: true, attributes: true});
  const ask = () => {
    const busy = document.querySelector('.sk-working') || performance.now() - last < 400;
    if (busy) setTimeout(ask, 50); else { watch.disconnect(); done(true); }
  };
  ask();
})"""
"""Waits until nothing on the page has changed for a while and nothing is being worked out."""
TIMEOUT = 20_000


class Driven:
    """One page.

    Parameters
    ----------
    page : playwright Page
        Of the browser.
    """

    def __init__(self, page: Any) -> None:
        self.page = page
        self.wrong: list[str] = []
        page.on("pageerror", lambda error: self.wrong.append(str(error)))
        page.set_default_timeout(TIMEOUT)

    def open(self, address: str, notebook: str) -> None:
        """Open a notebook of the app, and wait for its first note."""
        self.page.goto(address.replace("start.ipynb", f"{notebook}.ipynb"),
                       wait_until="domcontentloaded", timeout=90_000)  # fmt: skip
        self.page.wait_for_selector(".sk-note", timeout=90_000)

    def open_in_lab(self, address: str, notebook: str) -> None:
        """Open a notebook in JupyterLab, run all of it, and wait for its first note."""
        page = self.page
        page.goto(address.replace("start.ipynb", f"{notebook}.ipynb") + "&reset",
                  wait_until="domcontentloaded", timeout=90_000)  # fmt: skip
        idle = ".jp-Notebook-ExecutionIndicator[data-status='idle']"
        page.wait_for_selector(idle, state="attached", timeout=90_000)
        came, tries = False, 0
        while not came:  # it says idle before its kernel takes work: then nothing has been run
            tries += 1
            assert tries <= 4, "JupyterLab runs nothing"
            page.locator(".lm-MenuBar-item", has_text="Run").click()
            page.locator(".lm-Menu-item[data-command='runmenu:run-all']").click()
            came = self.becomes("document.querySelector('.sk-note, .jp-Dialog')")
        asked = page.locator(".jp-Dialog button.jp-mod-accept")
        if asked.count():  # which kernel: the one offered
            asked.first.click()
        page.wait_for_selector(".sk-note", state="attached", timeout=90_000)
        page.wait_for_selector(idle, state="attached", timeout=90_000)

    def control(self, label: str, nth: int = 0) -> Any:
        """Return the widget with a label."""
        exact = re.compile(rf"^{re.escape(label)}$")
        own = self.page.locator("label.widget-label", has_text=exact)
        return self.page.locator(".jupyter-widgets", has=own).locator(
            "xpath=self::*[contains(@class,'widget-inline-hbox')]"
        ).nth(nth)  # fmt: skip

    def settle(self) -> None:
        """Wait until the page has come to rest."""
        self.page.evaluate(SETTLED)

    def is_old(self) -> bool:
        """Return whether results come to be marked as old, once the page is at rest."""
        came = self.becomes("document.querySelectorAll('.sk-old').length > 0")
        self.settle()
        return came

    def is_new(self) -> bool:
        """Return whether no result stays marked as old, once the page is at rest."""
        came = self.becomes("document.querySelectorAll('.sk-old').length === 0")
        self.settle()
        return came

    def seen(self) -> str:
        """Return every result on the page, once all of it has come."""
        self.settle()
        return str(self.page.evaluate(SEEN))

    def enter(self, label: str, value: str | int, nth: int = 0) -> None:
        """Put a value into a control: text, a choice of a list, or so many steps of a slider."""
        control = self.control(label, nth)
        kinds = control.get_attribute("class")
        if "widget-dropdown" in kinds:
            control.locator("select").select_option(label=str(value))
        elif "widget-select-multiple" in kinds or "widget-select" in kinds:
            control.locator("select").select_option(label=str(value))
        elif "slider" in kinds:
            key = "ArrowRight" if int(value) > 0 else "ArrowLeft"
            control.locator(".noUi-handle").focus()
            for _ in range(abs(int(value))):
                self.page.keyboard.press(key)
        else:
            box = control.locator("input, textarea").first
            box.fill(str(value))
            box.press("Tab")

    def changes(self, label: str, value: str | int) -> bool:
        """Enter a value; return whether any result changes."""
        before = self.seen()
        self.enter(label, value)
        return self.becomes(f"({SEEN})() !== before", before)

    def becomes(self, what: str, before: str = "") -> bool:
        """Wait until something holds in the page; return whether it came to."""
        from playwright.sync_api import TimeoutError as Late

        try:
            self.page.wait_for_function(f"before => {what}", arg=before)
        except Late:
            return False
        return True

    def text(self, selector: str) -> str:
        """Return the text of all that match a selector and can be seen."""
        found = self.page.locator(f"{selector}:visible").all_inner_texts()
        return "\n".join(found)

    def old(self) -> int:
        """Return how many results are marked as old."""
        return int(self.page.locator(".sk-old").count())

    def labels(self) -> list[str]:
        """Return the labels of all controls on the page."""
        found = self.page.locator(".widget-inline-hbox > label.widget-label").all_inner_texts()
        return [label for label in found if label.strip()]

    def press(self, button: str) -> None:
        """Press a button by what stands on it."""
        self.page.locator("button.jupyter-button", has_text=button).first.click()

    def assert_loaded(self) -> None:
        """Assert that a page has come whole: no error, a picture, cautions, nothing old."""
        assert self.wrong == []
        bad = "[data-mime-type*='error'], [data-mime-type*='stderr']"
        assert self.page.locator(bad).count() == 0
        assert self.page.locator("figure svg").count() >= 1
        assert "Before you use this" in self.text(".sk-cautions")
        assert self.old() == 0 and self.text(".sk-wrong") == ""


@contextmanager
def opened(browser: Any, address: str, notebook: str, width: int = 1280) -> Iterator[Driven]:
    """Open a notebook of the app in a page of its own."""
    page = browser.new_page(viewport={"width": width, "height": 1100})
    driven = Driven(page)
    driven.open(address, notebook)
    yield driven
    page.close()
