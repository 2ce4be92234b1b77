"""The chance of touching, the gap for a stated certainty, and the two plain ways beside it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from shrinkage import chance as ch
from shrinkage.errors import ShrinkageError
from shrinkage.foam_life import life
from shrinkage.sampled import plan, sample
from shrinkage.spread import Spread

NONE = Spread().without()


def named(order, name):
    return next(a for a in order.allowances if a.joint.name == name)


@pytest.fixture(scope="module")
def eave(workshop_order):
    answer = named(workshop_order, "south, top")
    return ch.chance(answer, workshop_order.frame.rules, Spread(draws=2**14))


def test_the_gap_for_a_chance_has_that_chance(eave):
    for certainty in (50.0, 90.0, 99.0, 99.9):
        clear = ch.gap_for(eave.sample, certainty, every_limit=False)
        assert ch.touching(eave.sample, clear) == pytest.approx(1 - certainty / 100, abs=2e-4)
        all_limits = ch.gap_for(eave.sample, certainty)
        missed = np.mean(eave.sample.needed > all_limits)
        assert missed == pytest.approx(1 - certainty / 100, abs=2e-4)
        assert all_limits > clear


@pytest.mark.parametrize("certainty", [49.9, 100.0, 99.995, -5.0, float("nan")])
def test_certainty_out_of_range_is_named(eave, certainty):
    with pytest.raises(ShrinkageError, match=r"certainty .* %; accepted: 50 to 99.99 %"):
        ch.gap_for(eave.sample, certainty)


def test_more_certainty_asks_for_more(eave):
    gaps = [ch.gap_for(eave.sample, c) for c in (50, 75, 90, 95, 99, 99.9, 99.99)]
    assert (np.diff(gaps) > 0).all()


def test_a_wider_gap_touches_less_and_squeezes_less(eave):
    gaps = [4.0, 6.0, 8.0, 10.0, 12.0]
    chances = [ch.touching(eave.sample, gap) for gap in gaps]
    assert chances[0] > 0.8 and chances[-1] < 0.05 and (np.diff(chances) < 0).all()
    strains = [float(np.median(eave.sample.foam_strain(gap))) for gap in (10.0, 15.0, 25.0)]
    assert (np.diff(strains) < 0).all()


def test_no_spread_gives_one_number(workshop_order):
    """Without spread and without tolerance all three answers are the order's own gap."""
    rules = replace(workshop_order.frame.rules, cutting=0.0, frame=0.0, setting=0.0)
    for answer in workshop_order.allowances:
        if answer.status == "bearing":
            continue
        found = ch.chance(answer, rules, replace(NONE, draws=64))
        for gap in (found.gap, found.worst, found.square):
            assert_allclose(gap, answer.governs.needed, rtol=1e-12)
        assert found.touching == 0 and found.short == 0
        assert found.governs[answer.governs.name] == 1.0


def test_tolerances_alone(workshop_order):
    """No movement: fill width plus the tolerances, summed, in quadrature, and as normals."""
    answer = named(workshop_order, "south, between panels")
    found = ch.chance(answer, workshop_order.frame.rules, replace(Spread(), draws=2**14))
    fill = tolerance = 3.175
    assert_allclose([found.worst, found.square], fill + tolerance, rtol=1e-9)
    assert_allclose(found.gap, fill + stats.norm.ppf(0.95) * tolerance / 2, rtol=2e-3)
    door = ch.chance(named(workshop_order, "south, door"), workshop_order.frame.rules, Spread())
    fill = 9.525
    assert_allclose(door.worst, fill + 2 * tolerance, rtol=1e-9)
    assert_allclose(door.square, fill + math.sqrt(2) * tolerance, rtol=1e-9)


def test_worst_case_is_above_the_others(workshop_order):
    for name in ("south, top", "east, top", "east, end", "south slope, ridge"):
        found = ch.chance(named(workshop_order, name), workshop_order.frame.rules,
                          Spread(draws=2**13))  # fmt: skip
        assert found.worst > max(found.gap, found.square)
        assert found.worst > float(np.quantile(found.sample.needed, 0.999))


def test_ranges_and_shares(eave):
    for values in (eave.closure, eave.opening, eave.left, eave.strain):
        assert values.low <= values.median <= values.high
    assert sum(eave.governs.values()) == pytest.approx(1.0)
    assert 0 <= eave.touching <= eave.short <= 1


def test_same_seed_same_answer(workshop_order, eave):
    answer = named(workshop_order, "south, top")
    again = ch.chance(answer, workshop_order.frame.rules, Spread(draws=2**14))
    assert again.gap == eave.gap and again.closure == eave.closure
    other = ch.chance(answer, workshop_order.frame.rules, Spread(draws=2**14, seed=2))
    assert other.gap != eave.gap
    assert other.gap == pytest.approx(eave.gap, rel=5e-3)


def test_cautions_count_what_was_cut(workshop_order):
    wild = Spread(species=replace(Spread().species, amount=0.8), draws=2**12)
    found = ch.chance(named(workshop_order, "east, end"), workshop_order.frame.rules, wild)
    assert any(text.startswith("shrinkage: cut back") and "4096 draws" in text
               for text in found.cautions)  # fmt: skip


def test_foam_that_is_shut_counts_as_full_strain(workshop_order):
    answer = named(workshop_order, "south, top")
    drawn = sample(plan(answer.joint, answer.foam, workshop_order.frame.rules, NONE), draws=16)
    closing = float(drawn.closure[0])
    assert (drawn.foam_strain(closing / 2) == 1.0).all()
    assert_allclose(drawn.foam_strain(2 * closing), 0.5)


def test_line_load_is_the_foam_s_own(workshop_order):
    """Without spread it is what `foam_life` gives; with, it has a range round it."""
    frame, answer = workshop_order.frame, named(workshop_order, "east, end")
    still = ch.chance(answer, frame.rules, replace(NONE, draws=16), filling=frame.filling)
    alone = life(answer, frame.filling)
    assert_allclose(still.strain.median, alone.compression, rtol=1e-9)
    assert_allclose(still.load.median, alone.line_load, rtol=1e-9)
    spread = ch.chance(answer, frame.rules, Spread(draws=2**12), filling=frame.filling)
    assert 0 < spread.load.low < spread.load.median < spread.load.high
    assert spread.hard < 0.05
    assert ch.chance(answer, frame.rules, Spread(draws=64)).load is None
