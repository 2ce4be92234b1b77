"""Readings against the forecast: what is read, what it says, what is refused."""

from __future__ import annotations

import datetime as dt
import math
import re
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from shrinkage import bayes, particles
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import check_job
from shrinkage.joint import closure
from shrinkage.order import order
from shrinkage.site_log import Entry
from shrinkage.spread import Spread
from shrinkage.watch import Seen, drifts, sorted_readings, watch
from shrinkage.watch_model import (
    Reading,
    around,
    building,
    covariance,
    expected,
    own_given,
    subject_of,
    timeline_of,
)

WORKSHOP = Path(__file__).resolve().parents[1] / "data" / "workshop.toml"
DATES = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
         "foamed": "2027-07-07", "heated": "2027-10-15", "years": 3}  # fmt: skip
NONE = Spread().without()


def raw():
    return tomllib.loads(WORKSHOP.read_text("utf-8"))


@pytest.fixture(scope="module")
def dated():
    return order(check_job(raw() | {"calendar": DATES}))


def entry(day, kind, place, value, error=0.5, **more):
    return Entry(dt.date.fromisoformat(day), kind, place, value, error, **more)


LOG = [
    entry("2027-06-01", "gap", "south 1, top", 22.5),
    entry("2027-06-01", "width", "plate, south", 191.0),
    entry("2027-12-01", "gap", "south 1, top", 18.0),
    entry("2027-12-01", "width", "plate, south", 187.5),
    entry("2028-03-01", "gap", "south 1, top", 16.5),
    entry("2028-03-01", "moisture", "plate", 9.0, 1.5),
]


@pytest.fixture(scope="module")
def told(dated):
    return watch(dated, LOG, draws=2048)


# --- what a reading should be ---


def test_without_spread_a_gap_is_the_orders_own_path(dated):
    """Between two of the calendar's times: the straight line between them."""
    answer = next(a for a in dated.allowances if a.joint.name == "south, top")
    readings, subjects, _ = sorted_readings(dated, NONE, [LOG[2]])
    line = timeline_of(dated)
    made = building(dated, NONE, subjects, around(line, readings))
    found = expected(made, readings, np.empty((0, 2)))
    path = closure(answer.joint.layers, answer.joint.normal).path[1, :, 1]
    assert_allclose(found, answer.gap - np.interp(readings[0].day, line.days, path))
    assert line.days[made.times[1]] < readings[0].day < line.days[made.times[2]]


@pytest.mark.parametrize(("kind", "role"), [("width", "plate"), ("depth", "rafter")])
def test_without_spread_a_size_is_the_timbers_own_history(dated, kind, role):
    timber = dated.frame.timbers[role]
    readings, subjects, _ = sorted_readings(dated, NONE, [entry("2028-03-01", kind, role, 150.0)])
    line = timeline_of(dated)
    made = building(dated, NONE, subjects, around(line, readings))
    lost = np.interp(readings[0].day, line.days, timber.history(kind, line)[1, :, 1])
    size = getattr(timber, kind)
    assert 0.01 < lost < 0.1
    assert_allclose(expected(made, readings, np.empty((0, 1)))[0], size * (1 - lost))


def test_every_place_of_a_building_shares_its_draws(dated):
    """A species is one draw wherever it stands; a timber read twice is one timber."""
    _, subjects, _ = sorted_readings(dated, Spread(), LOG)
    made = building(dated, Spread(), subjects, np.array([0, 5]))
    keys = [known.key for known in made.inputs]
    assert len(keys) == len(set(keys))
    assert keys.count("pine, eastern white R") == 1
    assert keys.count("drying") == 1
    z = particles.start(len(keys), 256, 1)
    drawn = made.drawn(z)
    width = made.track([s.kind for s in subjects].index("width"), drawn)[1]
    gap = made.track([s.kind for s in subjects].index("gap"), drawn)[1]
    assert np.corrcoef(width, gap)[0, 1] > 0.5


def test_times_asked_for_change_nothing(dated):
    _, subjects, _ = sorted_readings(dated, Spread(), LOG)
    few = building(dated, Spread(), subjects, np.array([0, 9]))
    many = building(dated, Spread(), subjects, np.arange(12))
    assert few.inputs == many.inputs
    z = particles.start(len(few.inputs), 64, 1)
    for number in range(len(subjects)):
        assert_allclose(
            few.track(number, few.drawn(z))[1], many.track(number, many.drawn(z))[9], rtol=1e-12
        )


def test_doubt_that_readings_of_a_place_share(dated):
    """Cutting, frame, setting 1/8 in each, two standard deviations: 3.175 sqrt(3) / 2 mm."""
    readings, subjects, _ = sorted_readings(dated, Spread(), LOG)
    made = building(dated, Spread(), subjects, around(timeline_of(dated), readings))
    errors = covariance(made, readings)
    kinds = [reading.entry.kind for reading in readings]
    gaps = [i for i, kind in enumerate(kinds) if kind == "gap"]
    own = 3.175 * math.sqrt(3) / 2
    assert_allclose(errors[np.ix_(gaps, gaps)], own**2 + 0.25 * np.eye(3))
    assert_allclose(errors[gaps[0], kinds.index("width")], 0.0)
    assert_allclose(errors[kinds.index("width"), kinds.index("width")], 3.175**2 + 0.25)


def test_own_error_given_readings_is_the_normal_one_by_matrices():
    """``own^2 1' C^-1 r`` and ``own^2 - own^4 1' C^-1 1`` (conditional normal, any textbook)."""
    own, errors = 2.0, np.array([0.5, 1.0, 0.7])
    off = np.array([[1.0, -1.0], [2.0, 0.5], [1.5, 0.0]])
    mean, deviation = own_given(own, errors, off)
    full = np.diag(errors**2) + own**2
    assert_allclose(mean, own**2 * np.ones(3) @ np.linalg.solve(full, off))
    assert_allclose(deviation**2, own**2 - own**4 * np.sum(np.linalg.inv(full)))
    none, wide = own_given(own, errors[:0], off[:0])
    assert_allclose(none, 0.0)
    assert_allclose(wide, own)


# --- the update ---


def test_forecast_before_the_readings_is_the_samplers(dated, told):
    from shrinkage.sampled import plan, through_time

    answer = next(a for a in dated.allowances if a.joint.name == "east, end")
    ours = next(gap for gap in told.gaps if gap.place == "east, end")
    made = plan(answer.joint, answer.foam, dated.frame.rules, Spread(), all_times=True)
    theirs = answer.gap - through_time(made, (0.5,), 4096)[0]
    assert_allclose(ours.before[1], theirs, atol=0.25)


def test_band_narrows_and_leads_on_from_the_readings(told):
    gap = told.gaps[0]
    assert (gap.place, gap.joint) == ("south 1, top", "south, top")
    assert gap.narrower < 0.4
    last = np.interp((dt.date(2028, 3, 1) - told.sawn).days, told.days, gap.after[1])
    assert_allclose(last, 16.5, atol=0.6)
    assert (gap.after[2] - gap.after[0] < gap.before[2] - gap.before[0]).all()
    assert gap.gap + 1 < gap.after[1, 0] < 22.5
    for one in told.gaps:
        assert (np.diff(one.after, axis=0) >= 0).all()
        assert 0 <= one.touching_after <= 1


def test_update_agrees_with_plain_weights_of_many_draws(dated, told):
    """Moves and degrees must come to what one step of re-weighting comes to."""
    readings, subjects, _ = sorted_readings(dated, Spread(), LOG)
    times = np.union1d(around(timeline_of(dated), readings), [len(told.days) - 1])
    made = building(dated, Spread(), subjects, times)
    z = particles.start(len(made.inputs), 32768, 5)
    read = np.array([reading.value for reading in readings])
    should = expected(made, readings, z)
    weights = bayes.normalised(bayes.log_likelihood(should, read, covariance(made, readings)))
    rows = [i for i, reading in enumerate(readings) if reading.entry.kind == "gap"]
    subject = subjects[readings[rows[0]].subject]
    mean, _ = own_given(subject.own, np.full(3, 0.5), read[rows, None] - should[rows])
    end = made.track(readings[rows[0]].subject, made.drawn(z))[-1] + mean
    assert bayes.effective_size(weights) > 500
    median = bayes.weighted_quantile(end, weights, (0.5,))[0]
    gap = told.gaps[0]
    assert_allclose(gap.after[1, -1], median, atol=0.1)


def test_what_was_unknown_is_listed_before_and_after(told):
    names = {one.name: one for one in told.known}
    assert len(names) == len(told.known)
    plate = names["plate: T, green to oven-dry"]
    assert_allclose(plate.before.median, 6.1, atol=0.1)  # GTR-190 Table 4-3, eastern white pine
    assert plate.narrower < 1
    speed = names["speed of drying, times the usual"]
    assert_allclose([speed.before.low, speed.before.median], [2**-0.822, 1.0], atol=0.03)
    assert {"section factor", "wood in the driest month, room"} <= set(names)


def test_wood_that_moves_less_is_learnt_as_such(dated):
    """A gap and a plate that hardly move pull shrinkage and section factor down, and say drift."""
    still = [
        entry("2027-06-01", "width", "plate", 190.5, 0.3),
        entry("2027-12-01", "width", "plate", 190.0, 0.3),
        entry("2028-03-01", "width", "plate", 189.7, 0.3),
        entry("2028-06-01", "width", "plate", 189.5, 0.3),
    ]
    found = watch(dated, still, draws=2048)
    names = {one.name: one for one in found.known}
    for name in ("plate: T, green to oven-dry", "section factor"):
        assert names[name].after.median < names[name].before.median
    assert all(one.step.score > 0 for one in found.seen[1:])
    other = next(gap for gap in found.gaps if gap.joint == "south, top")
    assert other.least_after.median > other.least_before.median


def test_each_reading_is_held_against_those_before_it_only(dated, told):
    shorter = watch(dated, LOG[:4], draws=2048)
    for ours, theirs in zip(shorter.seen, told.seen, strict=False):
        assert ours.entry == theirs.entry
        assert_allclose(ours.step.median, theirs.step.median, atol=0.05)
    jumbled = watch(dated, [LOG[i] for i in (4, 5, 2, 3, 0, 1)], draws=2048)
    assert [one.entry for one in jumbled.seen] == LOG
    assert jumbled.seen[3].step == told.seen[3].step


def test_drift_is_a_run_on_one_side():
    def seen(*scores, used=True):
        made = Reading(LOG[0], 0, 0.0, 1.0)
        return [Seen(made, particles.Step(0, 0, 0, score, used)) for score in scores]

    assert not drifts(seen(-1.0, -1.2, -1.1))
    (one,) = drifts(seen(-1.2, -1.2, -1.2))
    assert (one.kind, one.count) == ("gap", 3)
    assert_allclose(one.score, -1.2 * math.sqrt(3))
    assert not drifts(seen(-1.5, -1.5))
    assert not drifts(seen(2.0, -2.0, 2.0, -2.0))
    assert not drifts(seen(-9.0, -9.0, -9.0, used=False))


def test_meter_correction_is_taken(dated):
    """GTR-190 ch. 13: 0.5 % more for wood 10 F (5.6 C) colder than the meter is made for."""
    cold = entry("2028-03-01", "moisture", "plate", 9.0, temperature=21.1 - 5.6)
    readings, _, _ = sorted_readings(dated, Spread(), [cold])
    assert_allclose(readings[0].value, 9.5)


# --- what is refused, by row, the rest kept ---


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (entry("2027-05-20", "gap", "south 1, top", 20.0),
         "2027-05-20 is before the panels went on; accepted: 2027-06-01"),
        (entry("2027-05-01", "width", "plate", 190.0), "2027-05-01 is before the panels went on"),
        (entry("2041-05-01", "width", "plate", 190.0), "after the last day looked ahead to"),
        (entry("2028-03-01", "gap", "south 99, top", 20.0), "no such place (nearest: south"),
        (entry("2028-03-01", "moisture", "beam", 20.0),
         "moisture of 'beam': the job has no such place; accepted: sill, post"),
        (entry("2028-03-01", "gap", "south 1, bottom", 2.0), "no wood that dries moves this joint"),
        (entry("2028-03-01", "gap", "south 1, left", 2.0), "the job has no such place"),
        (LOG[2], "given twice"),
        (replace(LOG[2], value=3.0), "mark it as reading 2"),
    ],
)  # fmt: skip
def test_readings_that_cannot_be_used_are_named_and_the_rest_is_kept(dated, wrong, words):
    readings, _, problems = sorted_readings(dated, Spread(), [*LOG, replace(wrong, source="a 7")])
    assert [reading.entry for reading in readings] == LOG
    (problem,) = problems
    assert problem.startswith("a 7: ")
    assert "set aside" in problem
    assert words in problem


def test_log_with_nothing_to_use_says_why(dated):
    with pytest.raises(ShrinkageError, match=r"no reading can be used \(it is empty"):
        watch(dated, [])
    early = entry("2027-01-20", "width", "plate", 190.0, source="site.csv row 2")
    with pytest.raises(ShrinkageError, match=re.escape("site.csv row 2: width at plate")):
        watch(dated, [early])
    with pytest.raises(ShrinkageError, match="line 3: cut off"):
        watch(dated, [], problems=["line 3: cut off"])


def test_job_without_dates_says_what_to_do(workshop_order):
    with pytest.raises(ShrinkageError, match=r"no \[calendar\].*accepted: a job with its dates"):
        watch(workshop_order, LOG)


def test_reading_no_draw_explains_is_set_aside_and_shown(dated):
    slip = entry("2027-12-05", "gap", "south 1, top", 180.0)
    found = watch(dated, [*LOG, slip], draws=2048)
    odd = next(one for one in found.seen if one.entry is slip)
    assert not odd.step.used
    assert not odd.step.is_inside
    assert odd in found.alarms
    plain = watch(dated, LOG, draws=2048)
    assert np.isfinite(found.gaps[0].after).all()
    assert_allclose(found.gaps[0].least_after.median, plain.gaps[0].least_after.median, atol=0.2)


def test_exact_readings_of_a_dry_building_give_numbers(dated):
    """An error of zero is taken as a tenth: weights stay numbers."""
    sharp = [replace(one, error=0.0) for one in LOG]
    found = watch(dated, sharp, draws=512)
    assert np.isfinite([gap.after for gap in found.gaps]).all()
    assert not found.is_trusted or found.effective >= particles.ENOUGH


def test_same_log_same_answer(dated, told):
    again = watch(dated, LOG, draws=2048)
    assert_array_equal(again.gaps[0].after, told.gaps[0].after)
    assert again.seen == told.seen


def test_a_place_is_known_by_panel_edge_and_by_joint(dated):
    by_edge = subject_of(dated, Spread(), entry("2028-03-01", "gap", "south 1, top", 20.0))
    by_joint = subject_of(dated, Spread(), entry("2028-03-01", "gap", "south, top", 20.0))
    assert by_edge.joint == by_joint.joint
    assert by_edge.base == by_joint.base > 0


def test_known_is_of_the_weighted_draws(dated):
    """All weight on draws that dry faster than usual: nothing slower is left."""
    from shrinkage.watch_known import known

    _, subjects, _ = sorted_readings(dated, Spread(), LOG)
    made = building(dated, Spread(), subjects, np.array([0, 5]))
    z = particles.start(len(made.inputs), 512, 1)
    fast = z[[one.key for one in made.inputs].index("drying")] > 0
    found = particles.Posterior(z, fast / fast.sum(), (), 0, 1.0)
    speed = next(one for one in known(made, z, found) if one.name.startswith("speed of drying"))
    assert speed.before.low < 0.7
    assert speed.after.low >= 1
    assert_allclose(speed.after.high, 2.0, atol=0.05)  # the usual band ends at twice the usual


def test_job_that_says_nothing_spreads_still_watches():
    """All spreads at zero: the band is the reading's own error, and no draw is unknown."""
    zero = {"species": "0 %", "along_grain": "0 %", "heart": "0 %", "rings": "0 deg",
            "unknown_rings": "0 deg", "section_factor_low": 1.0, "green": "0 %", "moisture": "0 %",
            "air_low": "0 %", "air_high": "0 %", "drying": 0.0, "tolerances": "0 %",
            "foam": "0 %"}  # fmt: skip
    answer = order(check_job(raw() | {"calendar": DATES, "spread": zero}))
    found = watch(answer, [entry("2027-06-01", "gap", "south 1, top", 20.0, 0.8)], draws=64)
    (gap, *_), (one,) = found.gaps, found.seen
    assert_allclose(one.step.high - one.step.low, 2 * 1.645 * 0.8, rtol=1e-3)
    assert_allclose(gap.after, gap.before)
    assert found.known == ()
