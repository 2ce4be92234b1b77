"""The page that is handed over: whole in itself, small, safe, and the schedule's own numbers."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser

import pytest

from shrinkage import handover_page
from shrinkage.__main__ import main
from shrinkage.crew_card import crew_card
from shrinkage.errors import ShrinkageError
from shrinkage.handover_page import LARGEST_BYTES, page_html, write_page
from shrinkage.schedule import CAUTIONS, panel_table
from shrinkage.worksheet import worksheet


class Reader(HTMLParser):
    """Keeps the tags that are open, every attribute, and the cells of the schedule."""

    void = ("meta", "input", "br")

    def __init__(self, text):
        super().__init__()
        self.open, self.attributes, self.rows = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.attributes += [(tag, *pair) for pair in attributes]
        if tag == "tr" and any(name == "data-s" for name, _ in attributes):
            self.rows.append([])
        if tag not in self.void:
            self.open.append((tag, dict(attributes)))

    def handle_startendtag(self, tag, attributes):
        self.attributes += [(tag, *pair) for pair in attributes]

    def handle_endtag(self, tag):
        assert self.open.pop()[0] == tag

    def handle_data(self, data):
        inside = [tag for tag, _ in self.open]
        if "tbody" in inside and any(a.get("class") == "schedule" for _, a in self.open):
            unit = next((a["class"] for t, a in reversed(self.open) if t == "span"), "both")
            self.rows[-1].append((unit, data))


@pytest.fixture(scope="module")
def page(workshop_order):
    return page_html(workshop_order)


def test_nothing_is_fetched(page):
    assert not re.search(r"https?:", page)
    assert not re.search(r"""url\((?!#)""", page)
    for tag, name, value in Reader(page).attributes:
        if name in ("src", "href", "action", "data", "srcset"):
            assert value.startswith("#"), (tag, name, value)
    assert "default-src 'none'" in page
    assert not re.search(r"@import|fetch\(|XMLHttpRequest|<link|<iframe|<img", page)


def test_small(page):
    assert len(page.encode()) < LARGEST_BYTES


def test_well_formed(page):
    reader = Reader(page)
    assert reader.open == []
    names = [value for _, name, value in reader.attributes if name == "id"]
    assert len(names) == len(set(names))
    for _, _, value in (a for a in reader.attributes if a[1] == "href"):
        assert value[1:] in names


@pytest.mark.parametrize(("system", "mark"), [("imperial", "i"), ("metric", "m")])
def test_schedule_is_the_schedule(page, workshop_order, system, mark):
    rows, table = Reader(page).rows, panel_table(workshop_order, system)
    assert len(rows) == len(table)
    for row, (_, expected) in zip(rows, table.iterrows(), strict=True):
        shown = [text for unit, text in row if unit in (mark, "both")]
        assert shown[0] == expected["panel"]
        columns = ("order_width", "order_height_left", "order_height_right", "order_peak",
                   "off_left", "off_top", "opening_width", "cut_outs")  # fmt: skip
        for column in columns:
            assert not expected[column] or expected[column] in shown


def test_crew_card_cautions_and_worksheet_are_on_it(page, workshop_order):
    text = unescape(re.sub(r"<[^>]+>", " ", page))
    flat = " ".join(text.split())
    for system in ("imperial", "metric"):
        for line in crew_card(workshop_order, system):
            assert f"not under {line.least}, not over {line.most}" in flat
    assert all(caution in flat for caution in CAUTIONS)
    assert "Closure along n:" in flat and "What this rests on" in flat
    assert page.count("<svg") == 2 * (2 + 6)  # eave and corner, walls and slopes, in both systems
    assert page.count('role="img" aria-label="') == page.count("<svg")
    assert all("open" not in part[:12] for part in page.split("<details")[1:])


def test_names_are_escaped(raw, answered):
    bad = "<script>alert('1')</script>"
    raw["title"] = f"</title>{bad} $x_"
    raw["wall"][0]["name"] = f'"{bad}&'
    raw["wall"][0]["opening"][0]["name"] = f"{bad}{bad}"
    raw["roof"][0]["name"] = "<img src=x onerror=y>"
    raw["sheet"] = {"firm": bad, "call": bad}
    raw["species"] = {bad: {"radial": "4 %", "tangential": "8 %", "source": bad}}
    raw["timber"]["post"]["species"] = bad
    found = page_html(answered(raw))
    assert "<script>alert" not in found and "<img" not in found
    assert found.count("<script>") == 1
    assert Reader(found).open == []
    assert "&lt;script&gt;alert(" in found


def test_units_shown_first(workshop_order):
    assert '<body class="metric">' in page_html(workshop_order, "metric")
    assert '<body class="imperial">' in page_html(workshop_order)


def test_a_large_page_leaves_out_elevations_and_says_so(workshop_order, page, monkeypatch):
    monkeypatch.setattr(handover_page, "LARGEST_BYTES", len(page.encode()) - 1)
    small = page_html(workshop_order)
    assert "Left out to keep this file small" in small and small.count("<svg") == 4
    monkeypatch.setattr(handover_page, "LARGEST_BYTES", 1000)
    with pytest.raises(ShrinkageError, match="the page would be"):
        page_html(workshop_order)


def test_write_page(workshop_order, tmp_path):
    path = write_page(workshop_order, tmp_path / "a" / "site")
    assert path.name == "site.html" and path.read_text("utf-8").startswith("<!doctype html>")
    with pytest.raises(ShrinkageError, match="already there"):
        write_page(workshop_order, path)
    assert write_page(workshop_order, path, force=True) == path
    with pytest.raises(ShrinkageError, match="names no file"):
        write_page(workshop_order, "..")


def test_commands(workshop_path, tmp_path, capsys):
    assert main(["page", str(workshop_path), "-o", str(tmp_path / "p.html")]) == 0
    assert f"Written: {tmp_path / 'p.html'}" in capsys.readouterr().out
    assert main(["page", str(workshop_path), "-o", str(tmp_path / "p.html")]) == 2
    assert "--force" in capsys.readouterr().err
    out = tmp_path / "sheets"
    assert main(["sheets", str(workshop_path), "-o", str(out), "--no-dxf"]) == 0
    assert sorted(p.name for p in out.iterdir()) == [
        "crew_card.pdf", "order_sheets.pdf", "pocket_table.pdf",
    ]  # fmt: skip


def test_worksheet_keeps_every_word(page, workshop_order):
    source = worksheet(workshop_order)
    found = re.search(r'<details><summary>Every step.*?<div class="i">(.*?)</div><div class="m">',
                      page, re.DOTALL)  # fmt: skip
    text = unescape(re.sub(r"<[^>]+>", " ", found[1]))
    words = re.findall(r"\w+", re.sub(r"^[|\s-]+$", "", source, flags=re.MULTILINE))
    assert re.findall(r"\w+", text) == words
