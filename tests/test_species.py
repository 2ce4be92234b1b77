"""The catalogue of woods, the look-up that forgives, and the tables they are read from."""

from __future__ import annotations

import csv
import math

import pytest
from numpy.testing import assert_allclose

from shrinkage import species, tables
from shrinkage.errors import ShrinkageError
from shrinkage.species import Species, catalogue, find

WOODS = list(catalogue().values())
WETTER_THAN_FULL = ("redwood, old growth", 210.0)
"""Sapwood, Table 4-1: above the 198 % that fill its voids at the 0.38 of Table 5-3."""


def test_all_of_table_4_3():
    assert len(WOODS) == len(tables.rows("table_4_3")) == 116
    for row, wood in zip(tables.rows("table_4_3"), WOODS, strict=True):
        assert wood.name == row["species"]
        assert_allclose(wood.s_r * 100, float(row["radial"]), rtol=1e-12)
        if row["tangential"]:
            assert_allclose(wood.tangential * 100, float(row["tangential"]), rtol=1e-12)


@pytest.mark.parametrize("wood", WOODS, ids=lambda wood: wood.name)
def test_wood_is_a_wood(wood):
    """Tangential above radial, volume above tangential, densities and water of wood, a source."""
    if wood.s_t is not None:
        assert wood.s_r < wood.s_t
        assert wood.volumetric is None or wood.s_t < wood.volumetric < 0.2
    assert wood.s_l == species.LONGITUDINAL < wood.s_r / 5
    assert wood.gravity is None or 0.25 < wood.gravity < 0.85
    assert wood.fibre_saturation in (22.0, 30.0)
    assert "Table 4-3" in wood.source
    assert wood.basis in tables.BASES
    assert wood.group in ("hardwood", "softwood")
    for green in (wood.green_heart, wood.green_sap):
        full = (wood.name, green) == WETTER_THAN_FULL
        assert green is None or 25 < green < wood.most_moisture or full


def test_longitudinal_is_in_the_range_of_the_handbook():
    """GTR-190 ch. 4: 0.1 to 0.2 % for normal wood (basis: memory)."""
    assert 0.001 <= species.LONGITUDINAL <= 0.002


def test_eastern_white_pine_in_full():
    pine = find("eastern white pine")
    assert_allclose((pine.s_r, pine.s_t, pine.volumetric), (0.021, 0.061, 0.082), rtol=1e-12)
    assert (pine.group, pine.botanical, pine.fibre_saturation) == (
        "softwood",
        "Pinus strobus",
        30.0,
    )


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        ("eastern hemlock", "hemlock, eastern"),
        ("hemlock, eastern", "hemlock, eastern"),
        ("HEMLOCK EASTERN", "hemlock, eastern"),
        ("Tsuga canadensis", "hemlock, eastern"),
        ("EWP", "pine, eastern white"),
        ("ewp", "pine, eastern white"),
        ("Eastern White Pine", "pine, eastern white"),
        ("Pinus strobus", "pine, eastern white"),
        ("western red cedar", "cedar, western redcedar"),
        ("WRC", "cedar, western redcedar"),
        ("coast Douglas-fir", "douglas-fir, coast"),
        ("douglasfir coast", "douglas-fir, coast"),
        ("doug fir, coast", "douglas-fir, coast"),
        ("grey birch", "birch, gray"),
        ("black walnut", "walnut, black"),
        ("tulip poplar", "yellow-poplar"),
        ("redwood, second growth", "redwood, young growth"),
        ("  white   oak ", "oak, white"),
        ("quercus alba", "oak, white"),
        ("black oak", "oak, black"),
        ("shagbark", "hickory, shagbark"),
        ("hackmatack", "tamarack"),
    ],
)
def test_look_up_forgives(asked, name):
    assert find(asked).name == name


@pytest.mark.parametrize("name", list(catalogue()))
def test_every_name_finds_itself(name):
    assert find(name).name == name
    assert find(" ".join(reversed(name.replace(",", "").split()))).name == name


@pytest.mark.parametrize("row", tables.rows("botanical"), ids=lambda row: row["species"])
def test_every_botanical_and_other_name(row):
    assert row["species"] in catalogue()
    for name in (row["botanical"], *filter(None, row["other_names"].split(";"))):
        assert find(name).name == row["species"]


@pytest.mark.parametrize(
    ("asked", "some"),
    [
        ("oak", ["oak, white", "oak, northern red", "oak, live"]),
        ("red oak", ["oak, northern red", "oak, southern red"]),
        ("white pine", ["pine, eastern white", "pine, western white"]),
        ("hemlock", ["hemlock, eastern", "hemlock, western"]),
        ("Douglas fir", ["douglas-fir, coast", "douglas-fir, interior north"]),
        ("Quercus", ["oak, white", "oak, bur"]),
        ("redwood", ["redwood, old growth", "redwood, young growth"]),
    ],
)
def test_ambiguous_name_gives_the_list(asked, some):
    with pytest.raises(ShrinkageError, match=f"species '{asked}' could be several") as caught:
        find(asked)
    for name in some:
        assert name in caught.value.message


@pytest.mark.parametrize(
    ("asked", "near"),
    [
        ("eastern hemlok", "hemlock, eastern"),
        ("hemlok eastern", "hemlock, eastern"),
        ("tamarak", "tamarack"),
        ("pinus strobbus", "pine, eastern white"),
        ("", "cedar"),
        ("concrete", ";"),
    ],
)
def test_unknown_name_gives_the_nearest(asked, near):
    with pytest.raises(ShrinkageError, match=f"species '{asked}' is not known; nearest: .*{near}"):
        find(asked)


def test_own_species_comes_first():
    own = {"oak": Species("oak", 0.04, 0.08), "tamarack": Species("tamarack", 0.03, 0.07)}
    assert find("oak", own) is own["oak"]
    assert find("tamarack", own).s_r == 0.03
    assert_allclose(find("tamarack").s_r, 0.037, rtol=1e-12)
    with pytest.raises(ShrinkageError, match="nearest: oak"):
        find("oka", {"oak x": Species("oak x", 0.04, 0.08)} | own)


def test_missing_tangential_is_an_error_when_asked_for():
    """Gray birch has an empty cell in Table 4-3."""
    gray = find("gray birch")
    assert gray.s_t is None
    with pytest.raises(ShrinkageError, match=r"'birch, gray': .*no tangential shrinkage"):
        gray.tangential  # noqa: B018


@pytest.mark.parametrize("number", [-0.01, 0.5, 4.4, math.nan, math.inf])
@pytest.mark.parametrize("key", ["s_r", "s_t", "s_l"])
def test_impossible_shrinkage(key, number):
    sizes = {"s_r": 0.04, "s_t": 0.08, key: number}
    with pytest.raises(ShrinkageError, match=f"'x': {key} is .*accepted: a fraction from 0 to 0.5"):
        Species("x", **sizes)


def test_radial_cannot_be_missing():
    with pytest.raises(ShrinkageError, match="s_r is None"):
        Species("x", None, 0.08)


@pytest.mark.parametrize("gravity", [0.0, -0.4, 1.5, 450.0, math.nan])
def test_impossible_gravity(gravity):
    with pytest.raises(ShrinkageError, match=r"specific gravity is .*accepted: from 0.05 to 1.3"):
        Species("x", 0.04, 0.08, gravity=gravity)


@pytest.mark.parametrize("saturation", [0.0, -30.0, 0.3, 300.0, math.nan])
def test_impossible_fibre_saturation(saturation):
    with pytest.raises(ShrinkageError, match=r"fibre saturation is .*accepted: from 10 to 50 %"):
        Species("x", 0.04, 0.08, fibre_saturation=saturation)


@pytest.mark.parametrize(("gravity", "most"), [(0.50, 135.1), (0.34, 229.2), (0.60, 101.7)])
def test_most_moisture(gravity, most):
    """GTR-190 Eq. 4-1 `100 (1.54 - G) / (1.54 G)`, by hand (basis: memory)."""
    wood = Species("x", 0.04, 0.08, gravity=gravity)
    assert_allclose(wood.most_moisture, most, atol=0.05)


def test_most_moisture_without_gravity_is_the_lightest_woods():
    lightest = min(wood.gravity for wood in WOODS if wood.gravity is not None)
    assert lightest == 0.29
    assert_allclose(Species("x", 0.04, 0.08).most_moisture, 279.9, atol=0.05)


@pytest.mark.parametrize("table", list(tables.SOURCES))
def test_every_row_says_how_it_was_read(table):
    assert tables.rows(table)
    assert all(row["basis"] in tables.BASES for row in tables.rows(table))


@pytest.mark.parametrize("table", ["table_4_1", "specific_gravity", "table_4_3", "table_13_5"])
def test_no_species_stands_twice(table):
    names = [row["species"] for row in tables.rows(table)]
    assert len(names) == len(set(names))


def test_specific_gravity_grows_on_drying():
    for row in tables.rows("specific_gravity"):
        green, dry = tables.value(row["green"]), tables.value(row["sg12"])
        assert green is None or dry is None or green < dry


@pytest.mark.parametrize("basis", ["", "hearsay"])
def test_row_without_a_basis_is_refused(tmp_path, monkeypatch, basis):
    name = f"doubtful{basis}"
    with (tmp_path / f"{name}.csv").open("w", newline="") as stream:
        csv.writer(stream).writerows([["species", "basis"], ["x", "page"], ["y", basis]])
    monkeypatch.setattr(tables, "data_folder", lambda: tmp_path)
    with pytest.raises(ShrinkageError, match=f"{name}.csv line 3: basis '{basis}'; accepted: page"):
        tables.rows(name)


def test_missing_data_files_are_named(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "files", lambda package: tmp_path / "nowhere")
    monkeypatch.setattr(tables, "__file__", str(tmp_path / "a" / "b" / "tables.py"))
    with pytest.raises(ShrinkageError, match="data files not found"):
        tables.data_folder()


def test_empty_cell():
    assert tables.value(" ") is None
    assert tables.value("4.4") == 4.4
