"""The drying page without a browser: what each control reaches, and what the words say."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage import drying, drying_page
from shrinkage.calendar import BANDS, USUAL
from shrinkage.drying_page import BOARD_MM, DryingPage
from shrinkage.species import catalogue


@pytest.fixture
def page() -> DryingPage:
    return DryingPage()


@pytest.mark.parametrize(
    ("control", "value"),
    [
        ("species", "oak, white"),
        ("section", "6 x 10 in"),
        ("covered", ("left", "right")),
        ("green", 120),
        ("place", "Denver, CO"),
        ("yard", 0),
        ("years", 3),
        ("month", 30),
    ],
)
def test_each_control_moves_the_picture(page: DryingPage, control: str, value: object) -> None:
    before = page.panes["picture"].value
    page.controls[control].value = value
    assert page.panes["picture"].value != before
    assert "sk-note" in page.note.value


def test_month_only_looks(page: DryingPage) -> None:
    dried = page.dried
    page.controls["month"].value = 40
    assert page.dried is dried


def test_years_shown_dry_nothing_again_and_answer_as_afresh(
    page: DryingPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    monkeypatch.setattr(drying_page, "_dry", lambda *_args: asked.append(_args))
    page.controls["years"].value = 3
    assert not asked and page.dried is not None
    monkeypatch.undo()
    assert len(page.dried.days) == 37 and page.dried.days[-1] == pytest.approx(3 * 365)
    yard = 6 * drying_page.MONTH
    wood, (out, room) = catalogue()["pine, eastern white"], page.air.years()
    alone = drying_page._dry(
        wood, (203.2, 203.2), 80.0, ["left", "bottom", "top"], page.dried.days, yard, (out, room)
    )
    for name in drying_page.SERIES:
        assert_allclose(getattr(page.dried, name), getattr(alone, name), rtol=1e-12, atol=1e-12)
    assert_allclose(page.dried.state.moisture, alone.state.moisture, rtol=1e-12)


@pytest.mark.parametrize(
    ("control", "value"),
    [("species", "oak, white"), ("section", "6 x 10 in"), ("covered", ()), ("green", 120),
     ("place", "Denver, CO"), ("yard", 0), ("years", 7)],
)  # fmt: skip
def test_what_changes_the_drying_dries_again(page: DryingPage, control: str, value: object) -> None:
    before = page.dried
    page.controls[control].value = value
    assert page.dried is not None and before is not None
    assert not np.array_equal(page.dried.mean[:, :70], before.mean[:, :70]) or control == "years"
    assert len(page.dried.days) == 12 * page.controls["years"].value + 1


def test_wrong_section_keeps_the_last_answer(page: DryingPage) -> None:
    dried, picture = page.dried, page.panes["picture"].value
    page.controls["section"].value = "8 by 8"
    assert (
        "cannot read" in page.controls["section"].wrong
        and "Not read yet: section" in page.note.value
    )
    assert page.dried is dried and page.panes["picture"].value == picture
    assert "sk-old" in page.panes["picture"]._dom_classes
    page.controls["section"].value = "8 x 8 in"
    assert "sk-old" not in page.panes["picture"]._dom_classes


def test_month_stays_within_the_years_shown(page: DryingPage) -> None:
    page.controls["month"].value = 70
    page.controls["years"].value = 2
    assert page.controls["month"].value == page.controls["month"].max == 24


def test_lost_is_the_local_integral_on_the_size(page: DryingPage) -> None:
    dried, wood = page.dried, catalogue()["pine, eastern white"]
    assert dried is not None
    width, _ = page.lost()["width"]
    radial, tangential = (x[: len(BANDS)] for x in (dried.radial, dried.tangential))
    assert_allclose(width, 203.2 * (wood.s_r * radial + wood.tangential * tangential))
    board, _ = page.lost()["board's width"]
    flat = wood.tangential * dried.tangential[len(BANDS)]
    assert_allclose(board[0], BOARD_MM[0] * flat, rtol=1e-6)  # pith far below: width tangential


def test_board_follows_the_air_and_the_timber_lags(page: DryingPage) -> None:
    dried = page.dried
    assert dried is not None
    last = dried.days > dried.days[-1] - 370
    swings = np.ptp(dried.mean[:, last], axis=1)
    assert swings[len(BANDS)] > 2 * swings[USUAL]


def test_words_give_the_numbers_of_the_picture(page: DryingPage) -> None:
    dried = page.dried
    assert dried is not None
    page.controls["month"].value = 24
    said = re.sub(r"<[^>]+>", "", page.panes["picture"].value)
    assert f"mean moisture {dried.mean[USUAL, 24]:.0f} %" in said
    assert "2.0 years after sawing" in said
    assert 'role="img" aria-label=' in page.panes["picture"].value


def test_never_heated_within_the_years_shown(page: DryingPage) -> None:
    page.controls["years"].value = 1
    page.controls["yard"].value = 36
    assert page.dried is not None
    assert len(page.dried.days) == 13 and (np.diff(page.dried.days) > 0).all()


def test_coarse_steps_of_the_page_are_near_the_default_ones(page: DryingPage) -> None:
    # The least kind of the three cases behind the words at PAGE: no yard, so a sudden change of
    # air. The finer answer is the solver's own, itself checked against Crank's series.
    wood, airs = catalogue()["oak, white"], page.air.years()
    days = np.arange(25) * drying_page.MONTH
    args = (wood, (203.2, 254.0), 78.0, ["bottom", "top"], days, 0.0, airs)
    coarse = drying_page._dry(*args)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drying_page, "PAGE", replace(drying.DEFAULT, max_step=5.0))
        fine = drying_page._dry(*args)
    assert_allclose(coarse.mean, fine.mean, atol=0.5)
    most = fine.dried.max(axis=1, keepdims=True)
    assert np.abs((coarse.dried - fine.dried) / most).max() < 0.02
