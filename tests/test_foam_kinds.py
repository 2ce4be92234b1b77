"""Generic kinds, the job file's [foam], and that the default answer is what it was without them."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.filling import filling, foam_of, settings
from shrinkage.foam import ASSUMED, Foam
from shrinkage.foam_kinds import FoamKind, find_kind, kinds
from shrinkage.foam_stress import Cellular, Curve
from shrinkage.job import FoamSpec
from shrinkage.jobfile import check_job


def test_every_kind_makes_a_foam_and_a_curve():
    for name, kind in kinds().items():
        spec = FoamSpec(kind=name)
        made = foam_of(spec)
        assert_allclose(made.squeeze_once, kind.squeeze_once / 100)
        assert_allclose(made.stretches, kind.stretch / 100)
        fill = filling(spec, 165.0)
        assert_allclose(fill.material.stress(0.10), kind.stress_at_10)
        assert kind.basis in ("memory", "assumed") and kind.source
        assert kind.basis in fill.material_source


def test_default_kind_is_the_defaults():
    spec, kind = FoamSpec(), find_kind("gun foam")
    for key in FoamKind.SETTINGS - {"stretch"}:
        assert getattr(spec, key) == kind.setting(key), key
    made = foam_of(spec)
    assert made == Foam(stretch=0.10)
    assert made.source == ASSUMED


def test_what_is_given_goes_before_the_kind():
    spec = FoamSpec(kind="flexible gun foam", recovery="60 %")
    made = foam_of(spec)
    assert (made.squeeze_once, made.recovery) == (0.70, 0.60)
    found = {key: (value, origin) for key, value, origin in settings(spec, "imperial")}
    assert found["foam.recovery"] == ("60 %", "job file")
    assert found["foam.squeeze_once"] == ("70 %", "kind: flexible gun foam")
    assert found["foam.density"][0] == "1.1 lb/ft3 (18 kg/m3)"
    assert found["foam.waste"] == ("20 %", "default")
    assert "flexible gun foam, assumed" in made.source


def test_stretch_follows_works_where_only_that_is_given():
    assert foam_of(FoamSpec(works="15 %")).stretches == 0.15
    assert foam_of(FoamSpec(works="15 %", stretch="5 %")).stretches == 0.05


def test_own_curve_from_a_sheet():
    spec = FoamSpec(curve=[["5 %", "3 psi"], ["10 %", "25 kPa"]], source="an invented sheet")
    material = filling(spec, 165.0).material
    assert isinstance(material, Curve)
    assert_allclose(material.stresses, (3 * 6.894757293, 25.0))
    assert filling(spec, 165.0).material_source == "an invented sheet"
    assert isinstance(filling(FoamSpec(), 165.0).material, Cellular)


def test_units_both_ways():
    metric = FoamSpec(density="32.03692645 kg/m3", stress_at_10="172.3689323 kPa")
    imperial = FoamSpec(density="2 lb/ft3", stress_at_10="25 psi")
    assert_allclose(metric.density, imperial.density)
    assert_allclose(metric.stress_at_10, imperial.stress_at_10)


@pytest.mark.parametrize(
    ("given", "named"),
    [
        ({"kind": "gum foam"}, r"foam\.kind: .*'gum foam' is not known \(did you mean gun foam"),
        ({"density": "-2 lb/ft3"}, r"foam\.density: '-2 lb/ft3'; accepted: above 0"),
        ({"density": "2"}, "foam.density: '2' has no unit"),
        ({"density": 2}, "foam.density: 2 has no unit"),
        ({"density": "25 psi"}, "foam.density: .*cannot be used; accepted: a density"),
        ({"stress_at_10": "0 kPa"}, "foam.stress_at_10: '0 kPa'; accepted: above 0"),
        ({"curve": []}, "curve: empty"),
        ({"curve": [["10 %", "25 kPa"], ["5 %", "20 kPa"]]}, "curve: unsorted strains 10 %, 5 %"),
        ({"curve": [["10 %", "25 kPa"], ["100 %", "30 kPa"]]}, "rising strain below 100 %"),
        ({"curve": [["10 %"]]}, "curve: cannot read"),
        ({"curve": "soft"}, "curve: cannot read 'soft'"),
        ({"curve": [["10 %", 25]]}, "curve stress: 25 has no unit"),
        ({"relaxation": 0.5}, "relaxation 0.5 without relaxation_source"),
        ({"relaxation": 0.0}, "greater than 0"),
        ({"depth": "half"}, "'half'; accepted: 'full', 'core' or 'two beads'"),
        ({"depth": "core", "facing": "4 in"}, "foam: facing 101.6 mm twice leaves no core"),
        ({"litres_per_can": "0 L"}, "foam.litres_per_can: '0 L'; accepted: above 0"),
        ({"cure": "40 %"}, "foam.cure: '40 %'; accepted: -20 % to 20 %"),
        ({"cure": "-15 %"}, "foam cure -15 %: curing alone takes all"),
    ],
)
def test_bad_foam_is_named(raw, answered, given, named):
    raw["foam"] = given
    with pytest.raises(ShrinkageError, match=named):
        answered(raw)


def test_unknown_key_is_still_refused(raw):
    raw["foam"] = {"densty": "2 lb/ft3"}
    with pytest.raises(ShrinkageError, match="did you mean density"):
        check_job(raw)


def test_what_holds_changes_no_gap(raw, answered, workshop_order):
    raw["holddown"] = {"roof_load": "12 psf", "eave_share": "6 ft"}
    raw["foam"] = {"depth": "core", "hole": "1/2 in", "density": "30 kg/m3"}
    found = answered(raw)
    for mine, plain in zip(found.allowances, workshop_order.allowances, strict=True):
        assert (mine.gap, mine.off, mine.status) == (plain.gap, plain.off, plain.status)


def test_temperature_outside_the_kinds_range_is_said():
    assert filling(FoamSpec(temperature="20 F"), 165.0).note.startswith("Foamed at -7 C, outside")
    assert filling(FoamSpec(temperature="60 F"), 165.0).note.startswith("Litres a can")


def test_the_pages_table_is_the_data():
    page = (Path(__file__).resolve().parents[1] / "docs" / "foam.md").read_text(encoding="utf-8")
    for kind in kinds().values():
        cans = "" if kind.litres_per_can is None else f"{kind.litres_per_can:g}"
        cells = (
            kind.kind, f"{kind.density:g}", f"{kind.stress_at_10:g}", f"{kind.squeeze_once:g}",
            f"{kind.recovery:g}", f"{kind.works:g}", f"{kind.stretch:g}",
            f"{kind.least_width:g} to {kind.most_width:g}", cans, kind.basis,
        )  # fmt: skip
        assert "| " + " | ".join(cells).replace("|  |", "| |") + " |" in page, kind.kind


def test_the_pages_example_is_read(raw, answered):
    page = (Path(__file__).resolve().parents[1] / "docs" / "foam.md").read_text(encoding="utf-8")
    example = page.split("```toml")[1].split("```")[0]
    raw["foam"] = tomllib.loads(example)["foam"]
    assert all(answer.status in ("ok", "bearing") for answer in answered(raw).allowances)
