"""What else would do: each way tried in its order and worked again, none made up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.allowance import Rules, allow
from shrinkage.climate import AirYear
from shrinkage.filling import filling, of_kind
from shrinkage.foam import Foam
from shrinkage.foam_kinds import find_kind
from shrinkage.foam_life import life
from shrinkage.job_foam import FoamSpec
from shrinkage.joint import Joint, Layer, Seasons
from shrinkage.remedies import SEALANT_CLASSES, STRIP, remedies, sealed, wider, with_gap
from shrinkage.section import Heart
from shrinkage.species import find
from shrinkage.timber import Sheet, Timber, Timeline

OUT = (1.0, 0.0)
EIGHTH = 3.175
EXACT = 1e-9
"""[mm] The same sum in another order: rounding only."""
FILL = filling(FoamSpec(), 165.1)


def wooden(moisture: float = 60.0) -> Joint:
    air = AirYear("steady", np.full(12, 8.0), "this test")
    post = Timber("post", find("white oak"), 300, 300, Heart("boxed"), moisture, air)
    return Joint("corner", "end", (Layer("post", post, "width", 300.0, OUT),), OUT)


def sheet(closing: float, kind="eave") -> Joint:
    layer = Layer("layer", Sheet("layer", closing / 100.0), "depth", 100.0, OUT)
    return Joint(kind, "joint", (layer,), OUT)


def by_start(found, start: str):
    return next(remedy for remedy in found if remedy.what.startswith(start))


def test_remedies_are_worked_again():
    before = allow(wooden(), Foam(), Rules())
    assert before.status == "too wide to foam"
    found = remedies(wooden(), Foam(), Rules())
    softer, at_19 = by_start(found, "softer foam"), by_start(found, "timbers at 19 %")
    at_15 = by_start(found, "timbers at 15 %")
    assert before.gap > at_19.gap > at_15.gap > 0
    assert softer.gap < before.gap
    assert_allclose(at_19.gap, allow(wooden(19.0), Foam(), Rules()).gap)
    assert at_15.status == "ok"
    assert "70 %" in softer.what
    flexible = of_kind(find_kind("flexible gun foam"), Foam())
    assert_allclose(softer.gap, allow(wooden(), flexible, Rules()).gap)


def test_order_of_remedies():
    later = wooden(40.0)
    found = remedies(wooden(12.0), Foam(), Rules(), FILL, later)
    starts = ["wider gap", "softer foam", "foamed at the end", "timbers at 19", "timbers at 15",
              "backer and sealant", "backer and sealant", STRIP]  # fmt: skip
    assert len(found) == len(starts)
    for remedy, start in zip(found, starts, strict=True):
        assert remedy.what.startswith(start)
    assert_allclose(found[2].gap, allow(later, Foam(), Rules()).gap)


def test_timber_already_drier_keeps_its_moisture():
    found = remedies(wooden(12.0), Foam(), Rules())
    dry = allow(wooden(12.0), Foam(), Rules()).gap
    assert_allclose([r.gap for r in found if r.what.startswith("timbers")], dry)


def test_no_softer_foam_than_soft():
    found = remedies(wooden(), Foam(squeeze_once=0.7), Rules())
    assert not any(remedy.what.startswith("softer") for remedy in found)


def test_wider_gap_is_the_narrowest_that_carries_no_more():
    now = allow(sheet(8.0), Foam(squeeze_once=0.9), Rules())
    curved = FoamSpec(curve=[["10 %", "10 kPa"], ["90 %", "90 kPa"]])
    fill = filling(curved, 100.0)
    load = life(now, fill).line_load
    found = wider(now, fill, Rules(), 0.8 * load)
    assert life(found, fill).line_load <= 0.8 * load
    one_less = with_gap(found, found.gap - EIGHTH)
    assert life(one_less, fill).line_load > 0.8 * load
    assert wider(now, fill, Rules(), 0.01 * load) is None
    next_step = with_gap(now, now.gap + EIGHTH)
    nearly = life(next_step, fill).line_load + EXACT
    assert_allclose(wider(now, fill, Rules(), nearly).gap, next_step.gap)


def test_wider_gap_takes_off_what_the_joint_measures():
    ridge = replace(sheet(8.0, "ridge"), measure=1.3)
    now = allow(ridge, Foam(), Rules())
    found = with_gap(now, now.gap + 5.0)
    assert_allclose(found.off, (now.gap + 5.0) * 1.3 / 2)


@pytest.mark.parametrize("capability", SEALANT_CLASSES)
def test_sealant_has_the_form_of_the_guide(capability):
    now = allow(sheet(9.0), Foam(), Rules(fraction=0.01))
    tolerance = np.sqrt(3) * EIGHTH
    found = sealed(now, Rules(fraction=0.01), capability)
    assert_allclose(found.gap, 9.0 / capability + tolerance, atol=0.01 + EXACT)
    wide = sealed(allow(sheet(30.0), Foam(), Rules()), Rules(), capability)
    assert wide.status == "too wide to foam"


def test_sealant_goes_in_after_what_closed_before():
    """Closes 3 before it is sealed and 7 after: 7 / 0.25 + 3."""
    line = Timeline(np.arange(4.0), 1, 2, np.zeros(4), {})
    path = np.repeat(np.array([0.0, 3.0, 10.0, 8.0])[None, :, None], 3, axis=2)
    rules = Rules(fraction=0.01)
    now = replace(allow(sheet(9.0), Foam(), rules), seasons=Seasons(line, path, np.arange(4.0)))
    assert_allclose(sealed(now, rules, 0.25).gap, 31.0 + np.sqrt(3) * EIGHTH, atol=0.01 + EXACT)


def test_sealant_keeps_clear_too():
    now = allow(sheet(9.0), Foam(), Rules(fraction=0.01, keep_clear=20.0))
    found = sealed(now, Rules(fraction=0.01, keep_clear=20.0), 0.5)
    assert_allclose(found.gap, 29.0 + np.sqrt(3) * EIGHTH, atol=0.01 + EXACT)


def test_loads_are_worked_again():
    found = remedies(sheet(9.0), Foam(), Rules(), FILL)
    now = life(allow(sheet(9.0), Foam(), Rules()), FILL).line_load
    assert by_start(found, "softer").line_load < now
    assert by_start(found, STRIP).line_load < now
    assert by_start(found, "backer").line_load == 0.0
    assert all(remedy.line_load is None for remedy in remedies(wooden(), Foam(), Rules())[:3])


def test_where_no_wider_gap_does_the_widest_is_shown():
    """On a plateau the stress does not fall with the gap: the load stays what it was."""
    found = remedies(sheet(9.0), Foam(), Rules(), FILL, most_load=100.0)
    first = found[0]
    assert first.what.startswith("wider gap, the widest the foam fills")
    assert_allclose(first.gap, Foam().most_width)
    assert first.lifts and first.line_load > 100.0
    assert not by_start(found, "backer").lifts
