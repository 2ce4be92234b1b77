"""The crew card: the gaps of the order, limits on the safe side, one page whatever the job."""

from __future__ import annotations

import re

import pypdf
import pytest
from numpy.testing import assert_allclose

from shrinkage.crew_card import (
    KINDS,
    MEANT,
    TOO_WIDE,
    crew_card,
    foam_line,
    write_crew_card,
)
from shrinkage.quantity import quantity_rows
from shrinkage.schedule import CAUTIONS
from shrinkage.units import length, show

SIXTEENTH = 25.4 / 16


def read(path):
    pages = pypdf.PdfReader(path).pages
    return len(pages), " ".join(pages[0].extract_text().split())


def by_name(order):
    return {a.joint.name: a for a in order.allowances}


def test_gaps_are_the_orders(workshop_order):
    answers, lines = by_name(workshop_order), crew_card(workshop_order)
    named = {"eave": ", top", "gable": ", top", "corner": ", end", "ridge": ", ridge",
             "spline": ", between panels", "opening": ""}  # fmt: skip
    told = {
        name + named[kind]: line
        for line in lines
        for kind, words in KINDS.items() if words == line.kind
        for name in line.places
    }  # fmt: skip
    assert set(told) == {n for n, a in answers.items() if a.status != "bearing"}
    for name, line in told.items():
        assert line.hold == show(answers[name].gap)


def test_limits_are_rounded_to_the_safe_side(workshop_order):
    for line in crew_card(workshop_order):
        for name in line.places:
            kind = next(k for k, words in KINDS.items() if words == line.kind)
            answer = next(
                a
                for a in workshop_order.allowances
                if a.joint.kind == kind and a.joint.name.startswith(name)
            )
            least, most = length(line.least), length(line.most)
            assert answer.gap_least - 1e-6 <= least <= answer.gap_least + SIXTEENTH
            assert answer.gap_most - SIXTEENTH <= most <= answer.gap_most + 1e-6
            assert least <= answer.gap + SIXTEENTH / 2 and most >= answer.gap - SIXTEENTH / 2


def test_found_at_its_limits_a_gap_still_holds(workshop_order):
    """By hand: the eave's governing limit, and the foam's own width."""
    eave = by_name(workshop_order)["south, top"]
    assert_allclose(eave.gap_least + eave.tolerance, eave.needed, rtol=1e-12)
    assert_allclose(eave.gap_most, 1.5 * 25.4, rtol=1e-9)  # nothing closes before, without dates
    assert_allclose(eave.gap_least, eave.closing / eave.foam.closes, rtol=1e-9)


def test_what_closes_before_the_foam_moves_the_widest(raw, answered):
    raw["calendar"] = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
                       "foamed": "2028-03-01", "heated": "2027-10-15"}  # fmt: skip
    eave = by_name(answered(raw))["south, top"]
    closes = float(eave.seasons.closing_before_foam().min())
    assert closes > 0.5
    assert_allclose(eave.gap_most, 1.5 * 25.4 + closes, rtol=1e-9)


def test_too_wide_is_told_and_gives_no_limits(raw, answered):
    raw["foam"] = {"most_width": "1 in"}
    wrong = [line for line in crew_card(answered(raw)) if line.warning]
    assert wrong and all(line.warning == TOO_WIDE and not line.most for line in wrong)


def test_bearing_is_no_gap_and_a_hung_wall_has_one(raw, answered):
    assert all(line.kind != KINDS["sill"] for line in crew_card(answered(raw)))
    raw["foot"] = {"panel_on": "hung"}
    assert any(line.kind == KINDS["sill"] for line in crew_card(answered(raw)))


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_one_page_with_everything_on_it(workshop_order, tmp_path, system):
    assert write_crew_card(workshop_order, tmp_path / "c.pdf", system) == 1
    count, text = read(tmp_path / "c.pdf")
    assert count == 1
    assert MEANT in text and all(caution in text for caution in CAUTIONS)
    for line in crew_card(workshop_order, system):
        assert line.kind in text and line.hold in text
        assert line.least in text and line.most in text
    assert re.search("not under.*not over.*found", text)


def test_whom_to_call(raw, answered, tmp_path):
    raw["sheet"] = {"call": "the office, 555 0100"}
    write_crew_card(answered(raw), tmp_path / "c.pdf")
    assert "CALL the office, 555 0100" in read(tmp_path / "c.pdf")[1]


@pytest.mark.filterwarnings("error")
def test_one_page_for_a_large_job_with_long_names(raw, answered, tmp_path):
    wall = raw["wall"][1]
    raw["title"] = "$ " + "W" * 70
    for number in range(40):
        tall = f"{8 + number / 3} ft"
        raw["wall"].append(wall | {"name": f"wall {number} " + "x" * 60, "height": tall})
    order = answered(raw)
    assert write_crew_card(order, tmp_path / "c.pdf") == 1
    count, text = read(tmp_path / "c.pdf")
    assert count == 1 and "different gaps" in text
    assert all(line.kind in text for line in crew_card(order))


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_no_text_runs_into_another(workshop_order, system):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    from shrinkage.crew_card import card_page
    from shrinkage.paper import plain_text

    with plain_text():
        figure = card_page(workshop_order, system)
        renderer = FigureCanvasAgg(figure).get_renderer()
        figure.draw(renderer)
        boxes = [t.get_window_extent(renderer) for t in figure.axes[0].texts]
    for number, box in enumerate(boxes):
        assert 0 <= box.x0 and box.x1 <= figure.bbox.width
        assert 0 <= box.y0 and box.y1 <= figure.bbox.height
        inner = box.expanded(1.06, 0.7)  # some air beside every number
        assert not any(inner.overlaps(other.shrunk(0.999, 0.7)) for other in boxes[:number])


def test_foam_to_have_on_site_is_the_orders(workshop_order, tmp_path):
    *kinds, everything = quantity_rows(workshop_order)
    said = foam_line(workshop_order)
    assert said.startswith(f"{everything[2]}, {everything[3]} cans in all")
    assert all(f"{kind} {litres}" in said for kind, _, litres, _ in kinds)
    write_crew_card(workshop_order, tmp_path / "card.pdf")
    assert "Foam to have on site" in pypdf.PdfReader(tmp_path / "card.pdf").pages[0].extract_text()
