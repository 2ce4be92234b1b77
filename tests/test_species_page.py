"""The student's page without a browser: what each control reaches, and what is said in words."""

from __future__ import annotations

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.climate import emc, outdoors, room_derived
from shrinkage.species import catalogue, find, imported, woods
from shrinkage.species_page import MEASURES, MOVEMENT, SpeciesPage, use_rows


@pytest.fixture
def page() -> SpeciesPage:
    return SpeciesPage()


def words(html: str) -> str:
    return re.sub(r"<[^>]+>", " ", html.split("<figcaption>")[-1])


def test_all_panes_start_filled(page: SpeciesPage) -> None:
    assert all(pane.value for pane in page.panes.values())
    assert "sk-note" in page.note.value
    for name in ("ranking", "scatter", "air", "section"):
        assert 'role="img" aria-label=' in page.panes[name].value  # words for those who cannot see


@pytest.mark.parametrize(
    ("control", "value", "pane"),
    [
        ("measure", "tangential / radial", "ranking"),
        ("group", "softwood", "ranking"),
        ("group", "all", "scatter"),
        ("chosen", ("larch, western",), "scatter"),
        ("from_temp", 5, "air"),
        ("from_rh", 90, "air"),
        ("to_temp", 35, "air"),
        ("to_rh", 50, "air"),
        ("to_rh", 50, "ranking"),
        ("to_rh", 50, "section"),
        ("wood", "larch, western", "section"),
        ("section", "6 x 10 in", "section"),
        ("pith_x", 15, "section"),
        ("pith_y", 3, "section"),
        ("use", "sill", "use"),
        ("place", "Fargo, ND", "use"),
    ],
)
def test_each_control_moves_its_picture(
    page: SpeciesPage, control: str, value: object, pane: str
) -> None:
    before = page.panes[pane].value
    page.controls[control].value = value
    assert page.panes[pane].value != before
    assert "sk-note" in page.note.value


def test_wrong_size_is_said_and_the_last_picture_kept(page: SpeciesPage) -> None:
    before = page.panes["section"].value
    page.controls["section"].value = "eight by eight"
    assert "cannot read" in page.controls["section"].said.value
    assert 'role="alert"' in page.note.value and "size" in page.note.value
    assert page.panes["section"].value == before
    page.controls["section"].value = "8 x 10 in"
    assert "sk-note" in page.note.value


def test_air_is_the_handbooks_equation(page: SpeciesPage) -> None:
    # GTR-190 Table 4-2 (page): 70 F and 50 % gives 9.2 %.
    page.controls["from_temp"].value, page.controls["from_rh"].value = 21, 50
    before, _ = page.moistures()
    assert_allclose(before, float(emc(21, 50)))
    assert f"from {before:.1f}" in words(page.panes["air"].value)


def test_movement_by_hand(page: SpeciesPage) -> None:
    # Eastern white pine, R 2.1 and T 6.1 % (Table 4-3, memory), between the page's two airs.
    page.controls["measure"].value = MOVEMENT
    m1, m2 = page.moistures()
    s1, s2 = (0.041 * (30 - m) / 30 for m in (m1, m2))
    assert_allclose(page.values()["pine, eastern white"], 100 * abs((s2 - s1) / (1 - s1)))


@pytest.mark.parametrize("measure", list(MEASURES))
def test_every_measure_ranks_the_woods_that_have_it(page: SpeciesPage, measure: str) -> None:
    page.controls["group"].value = "all"
    page.controls["measure"].value = measure
    values = page.values()
    assert len(values) > 90 and all(np.isfinite(v) and v >= 0 for v in values.values())


def test_use_table_by_hand_and_in_inches() -> None:
    air = room_derived(outdoors("Madison, WI"))
    rows = {row[0]: row for row in use_rows(air, "imperial")}
    loses = 190.5 * 0.041 * (30 - air.low) / 30  # eastern white pine, boxed square
    assert_allclose(float(rows["pine, eastern white"][-1]), loses, atol=1e-6)
    assert rows["pine, eastern white"][1] == '1/4"'
    assert rows["pine, eastern white"][3] == "2.9"


def test_use_table_says_what_it_leaves_out(page: SpeciesPage) -> None:
    assert "ask the engineer" in page.panes["use"].value


def test_imported_woods_name_source_and_basis() -> None:
    assert not set(imported()) & set(catalogue())
    for wood in imported().values():
        assert wood.source and wood.basis == "memory"
        assert 0 < wood.s_r < wood.tangential < 0.15
        # Volume from R and T, as for the domestic table, within its spread there.
        volume = 1 - (1 - wood.s_r) * (1 - wood.tangential)
        assert abs(volume - (wood.volumetric or 0)) < 0.03
    assert len(woods()) == len(catalogue()) + len(imported())


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("European oak", "oak, european"),
        ("Quercus robur and petraea", "oak, european"),
        ("Larix decidua", "larch, european"),
        ("Douglas-fir grown in Europe", "douglas-fir, grown in europe"),
        ("scots pine", "pine, scots"),
    ],
)
def test_imported_woods_are_found(asked: str, found: str) -> None:
    assert find(asked).name == found
