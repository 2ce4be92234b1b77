"""The pocket table: numbers by hand, laws they must keep, and one page."""

from __future__ import annotations

import numpy as np
import pypdf
import pytest
from numpy.testing import assert_allclose

from shrinkage.movement import change
from shrinkage.pocket_table import HEARTS, movement_text, pocket_tables, write_pocket_table

HAND = 0.02
"""[mm] Left over from numbers read to four places."""


def of(order, role, system=None):
    return next(p for p in pocket_tables(order, system) if role in p.roles)


def test_by_hand(workshop_order):
    """Flat-sawn 10 in of eastern white pine, green (30 %) to the driest month: T = 6.1 %.

    Wood Handbook table 4-3; s = 0.061 (30 - M) / 30, and nothing is lost yet when green.
    """
    pine = of(workshop_order, "plate")
    low = workshop_order.frame.room.low
    at = pine.sizes.index(254.0)
    flat = [kind for kind, _ in HEARTS].index("flat")
    assert_allclose(pine.lost[flat, at, 0], 254 * 0.061 * (30 - low) / 30, rtol=0, atol=HAND)
    quarter = [kind for kind, _ in HEARTS].index("quarter")
    assert_allclose(pine.lost[quarter, at, 0], 254 * 0.021 * (30 - low) / 30, rtol=0, atol=HAND)


def test_from_a_meter_reading_it_is_movement_change(workshop_order):
    oak = of(workshop_order, "sill")
    column = oak.moistures.index(20.0)
    boxed = (oak.species.s_r + oak.species.tangential) / 2
    for row, mm in enumerate(oak.sizes):
        expected = mm * change(boxed, 20.0, oak.air.low)
        assert_allclose(oak.lost[0, row, column], expected, rtol=1e-12)


def test_laws(workshop_order):
    for pocket in pocket_tables(workshop_order):
        assert (np.diff(pocket.lost, axis=2) < 0).all()  # drier now: less still to lose
        assert (np.diff(pocket.lost, axis=1) > 0).all()  # larger: more
        boxed, quarter, flat = pocket.lost
        assert (quarter < boxed).all() and (boxed < flat).all()
        assert (pocket.swing > 0).all()
        assert all(m > pocket.air.low for m in pocket.moistures)
        sizes = np.array(pocket.sizes)
        assert_allclose(pocket.lost / sizes[:, None], (pocket.lost / sizes[:, None])[:, :1]
                        * np.ones((1, len(sizes), 1)), rtol=1e-12)  # fmt: skip


def test_one_block_a_species_with_the_jobs_own_sizes(workshop_order):
    found = pocket_tables(workshop_order)
    assert [p.roles for p in found] == [("sill",), ("post",), ("plate", "rafter", "girt")]
    assert {139.7, 190.5} <= set(found[2].sizes)


def test_a_timber_outdoors_has_a_block_of_its_own(raw, answered):
    raw["timber"]["sill"]["air"] = "outdoors"
    raw["timber"]["sill"]["species"] = "eastern white pine"
    order = answered(raw)
    sill, plate = of(order, "sill"), of(order, "plate")
    assert sill.species == plate.species and sill.air != plate.air
    assert 12.0 not in sill.moistures or sill.air.low < 12.0


@pytest.mark.parametrize(
    ("mm", "system", "text"),
    [(25.4 / 16, "imperial", "1"), (0, "imperial", "0"), (25.4 / 32, "imperial", "½"),
     (25.4 / 16 * 4.5, "imperial", "4½"), (25.4 / 16 * 4.7, "imperial", "4½"),
     (25.4 / 16 * 4.8, "imperial", "5"), (3.14159, "metric", "3.1"), (15.6, "metric", "16")],
)  # fmt: skip
def test_movement_text(mm, system, text):
    assert movement_text(mm, system) == text


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_one_page_that_holds_the_numbers(workshop_order, tmp_path, system):
    assert write_pocket_table(workshop_order, tmp_path / "p.pdf", system) == 1
    pages = pypdf.PdfReader(tmp_path / "p.pdf").pages
    text = pages[0].extract_text()
    assert len(pages) == 1
    for pocket in pocket_tables(workshop_order, system):
        assert pocket.species.name in text
        assert movement_text(pocket.lost[2, -1, 0], system) in text
    assert "MILLIMETRES" in text if system == "metric" else "SIXTEENTHS" in text


@pytest.mark.filterwarnings("error")
def test_seven_species_and_odd_names_still_make_one_page(raw, answered, tmp_path):
    raw["species"] = {
        f"$w_{{{n} " + "x" * 70: {"radial": "4 %", "tangential": f"{8 + n} %", "source": "s" * 80}
        for n in range(7)
    }
    base = raw["timber"]["girt"]
    roles = ("post", "plate", "rafter", "girt", "sill", "tie", "purlin")
    for role, name in zip(roles, raw["species"], strict=True):
        raw["timber"][role] = base | {"species": name, "section": f"{5 + len(role)} x 7 in"}
    order = answered(raw)
    assert len(pocket_tables(order)) == 7
    assert write_pocket_table(order, tmp_path / "p.pdf") == 1
    assert "$w_{6" in pypdf.PdfReader(tmp_path / "p.pdf").pages[0].extract_text()
