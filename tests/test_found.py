"""As found: what still closes from today, the limits without spent tolerances, and the answer.

By hand with GTR-190 Eq. 13-3 from the table's percentages; the chance against a plain Monte Carlo
written here. How an answer is chosen is common practice, no published source.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.found import as_found
from shrinkage.jobfile import check_job
from shrinkage.measures import gap_edges, parse_measures
from shrinkage.order import order
from shrinkage.site_log import Entry
from shrinkage.spread import Spread
from shrinkage.units import show

INCH = 25.4
DAY = date(2027, 6, 1)
FEW = 512
DATES = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
         "foamed": "2027-07-01", "heated": "2027-10-15", "years": 2}  # fmt: skip


def gap(place: str, inches: float, day: date = DAY, **more) -> Entry:
    return Entry(day, "gap", place, inches * INCH, 0.79375, **more)


def wet(role: str, percent: float, day: date = DAY, temperature=None, error=2.0) -> Entry:
    return Entry(day, "moisture", role, percent, error, temperature)


def one(order, *entries, draws=FEW):
    result = as_found(order, entries, draws)
    assert len(result.found) == 1
    return result.found[0]


def eq_13_3(thickness: float, m1: float, m2: float, percent: float) -> float:
    """GTR-190 Eq. 13-3: change of a dimension between two moistures below 30 %."""
    return thickness * (m1 - m2) / (30 * 100 / percent - 30 + m1)


def test_what_still_closes_by_hand(workshop_order):
    """Eastern white pine boxed, read at 19 %: Table 4-3 R 2.1, T 6.1, so 4.1 % in a square.

    The eave: plate 7-1/2 in deep drops the roof, times cos of 10 in 12; the rafter's 5 in above its
    seat come down square to it, by what cos^2 of the ring angle gives in 5-1/2 x 7-1/2 in; half the
    plate's width draws the panel in, times sin. The post, green, shortens by the middle of 0.1 to
    0.2 % along the grain.
    """
    low = workshop_order.frame.room.low
    found = one(workshop_order, gap("south 1, top", 0.75), wet("plate", 19), wet("rafter", 19))
    cos, sin = 12 / math.hypot(10, 12), 10 / math.hypot(10, 12)
    x, y = (size * (np.arange(600) + 0.5 - 300) / 600 for size in (5.5, 7.5))
    of_r = float(np.mean(y[:, None] ** 2 / (x**2 + y[:, None] ** 2)))
    rafter = eq_13_3(5 * INCH, 19, low, of_r * 2.1 + (1 - of_r) * 6.1)
    plate, outside = (eq_13_3(inches * INCH, 19, low, 4.1) for inches in (7.5, 3.75))
    post = eq_13_3(9 * 12 * INCH + 4 * INCH, 30, low, 0.15)
    by_hand = (plate + post) * cos + rafter - outside * sin
    assert_allclose(found.closing, by_hand, rtol=1e-5)
    # Foam takes half once; the tape's 1/32 in twice on top; plant, frame, setting are spent.
    assert_allclose(found.least, by_hand / 0.5 + 2 * INCH / 32, rtol=1e-5)
    assert_allclose(found.most, 1.5 * INCH, rtol=1e-12)


def test_without_readings_the_jobs_moisture_stands(workshop_order):
    """Green: as much closes as the order reckoned with, but tolerances no longer count."""
    found = one(workshop_order, gap("south 1, top", 0.75))
    ordered = next(a for a in workshop_order.allowances if a.joint.name == "south, top")
    assert_allclose(found.closing, ordered.closing, rtol=1e-12)
    assert_allclose(found.least, ordered.gap_least + 2 * INCH / 32, rtol=1e-12)
    assert found.least < ordered.needed


def test_readings_are_corrected_and_averaged(raw, answered):
    raw["meter"] = {"name": "pins", "correction": {"eastern white pine": "-1 %"}}
    order = answered(raw)
    entries = [gap("south 1, top", 0.75), wet("plate", 22, temperature=9.9), wet("plate, east", 18)]
    result = as_found(order, entries, FEW)
    moisture, how = result.moistures[DAY]["plate"]
    assert_allclose(moisture, (22 + 1 - 1 + 18 - 1) / 2)  # GTR-190 ch. 13: 0.5 % for 5.6 C
    assert "mean of 2 readings, 17.0 to 22.0 %: 19.5 %" in how


def test_readings_grow_old(workshop_order):
    fresh, old = (wet("plate", 19, DAY - timedelta(days=days)) for days in (7, 8))
    for reading, used in ((fresh, True), (old, False), (wet("plate", 19, DAY), True),
                          (wet("plate", 19, DAY + timedelta(days=1)), False)):  # fmt: skip
        result = as_found(workshop_order, [gap("south 1, top", 0.75), reading], FEW)
        assert ("plate" in result.moistures[DAY]) == used


def test_a_reading_that_cannot_be_is_named_and_left_out(workshop_order):
    result = as_found(workshop_order, [gap("south 1, top", 0.75), wet("plate", 3)], FEW)
    assert result.moistures[DAY] == {}
    assert "plate: moisture 3 % is below" in result.problems[0]
    assert "the job's own is used" in result.problems[0]


def test_the_chance_of_touching_against_plain_draws(workshop_order, raw, answered):
    """The corner of a dry frame, by 400 000 pseudo-random draws of Eq. 13-3 written here.

    Post and girt metered; what spreads: R and T of a piece (15 %, half of it shared by species,
    R and T half alike), the readings, the driest month, the tape, the grain, the section factor.
    The heart is put where its place does not spread.
    """
    raw["spread"] = {"heart": "0 %", "section_factor_low": 1.0}
    order = answered(raw)
    found = one(order, gap("east 1, left", 0.22), wet("post", 20), wet("girt", 20), draws=2**15)
    rng, count = np.random.default_rng(5), 400_000

    def piece():
        z = rng.standard_normal((2, 2, count))
        z = (z[:, 0] + z[:, 1]) * math.sqrt(0.5)  # what the species shares, and the piece's own
        return 1 + 0.15 * z[0], 1 + 0.15 * (0.5 * z[0] + math.sqrt(0.75) * z[1])

    low = order.frame.room.low + rng.standard_normal(count)
    hemlock_r, hemlock_t = piece()
    s = (0.030 * hemlock_r + 0.068 * hemlock_t) / 2  # Table 4-3, eastern hemlock; boxed heart
    m = np.minimum(20 + 2 * rng.standard_normal(count), 30)
    post = 190.5 * (1 - (1 - s * (30 - low) / 30) / (1 - s * (30 - m) / 30))
    s_l = 0.0015 + 0.0005 * (2 * rng.random(count) - 1)
    m = np.minimum(20 + 2 * rng.standard_normal(count), 30)
    half_girt = 18 * 12 * INCH / 2
    girt = half_girt * (1 - (1 - s_l * (30 - low) / 30) / (1 - s_l * (30 - m) / 30))
    layers = {layer.name: layer for layer in found.today.joint.layers}
    signs = [layer.lever(found.today.joint.normal) / layer.thickness for layer in layers.values()]
    assert sorted(np.abs(signs)) == [1.0, 1.0]
    assert {round(layer.thickness, 3) for layer in layers.values()} == {190.5, half_girt}
    closure = post * signs[0] + girt * signs[1]
    tape = 0.79375 * rng.standard_normal(count)
    chance = float(np.mean(np.maximum(closure, 0) + tape >= 0.22 * INCH))
    assert 0.1 < chance < 0.9
    assert_allclose(found.touching, chance, atol=0.01)


def test_doubt_in_a_reading_reaches_the_chance(workshop_order):
    """A less sure meter, and pieces that differ, touch more often for the same mean."""
    chances = [
        one(workshop_order, gap("east 1, left", 0.3), wet("girt", 16), *posts, draws=2**13).touching
        for posts in (
            [wet("post", 16)],
            [wet("post", 16, error=5.0)],
            [wet("post, east", 11), wet("post, west", 21)],
        )
    ]
    assert chances[0] < 0.7 * min(chances[1:])


def test_a_spline_is_the_tape_alone(workshop_order):
    """No wood moves: the chance of touching is that of the tape being wrong by the whole gap."""
    found = one(workshop_order, gap("south 2, left", 1 / 16), draws=2**14)
    assert_allclose(found.touching, 0.02275, atol=5e-4)  # two standard deviations
    assert found.closing == 0


@pytest.mark.parametrize(
    ("inches", "answer", "by"),
    [
        (0.0, "ask the engineer", 0.0),  # touching
        (1 / 16, "ask the engineer", 0.0),  # within the tape's error of touching
        (0.42, "trim", 0.25),
        (0.55, "go", 0.0),
        (1.5, "go", 0.0),
        (1.52, "pack", 0.125),
        (1.75, "pack", 0.25),
    ],
)
def test_answers_by_the_gap_found(workshop_order, inches, answer, by):
    """The eave read at 19 %: it needs 0.535 in today by hand, and 1-1/2 in can be foamed.

    Found 0.42 in: short by 0.115 in square to the roof, which would be 1/8 in; 1.302 times that,
    plumb as the panel is measured, is 0.15 in, so 1/4 in.
    """
    metered = [wet(role, 19) for role in ("plate", "rafter")]
    found = one(workshop_order, gap("south 1, top", inches), *metered)
    assert (found.choice.answer, found.choice.until) == (answer, None)
    assert_allclose(found.choice.by, by * INCH, atol=1e-9)
    assert found.choice.why


def test_most_that_may_be_trimmed(raw, answered):
    """1 % of a panel's height of 9 ft is over an inch; 0.1 % is a tenth of that."""
    entry = gap("south 1, top", 0.25)
    assert one(answered(raw), entry).choice.answer == "trim"
    raw["site"] = {"most_trim": "0.1 %"}
    choice = one(answered(raw), entry).choice
    assert choice.answer == "ask the engineer" and "may be trimmed on site" in choice.why


def test_a_trimmed_eave_opens_by_less_than_comes_off(workshop_order):
    """Trimmed down the wall, measured square to the roof: by the cosine of 39.8 degrees."""
    choice = one(workshop_order, gap("south 1, top", 0.25)).choice
    after = 0.25 + choice.by / INCH * 12 / np.hypot(12, 10)
    assert choice.why.endswith(f"trimmed it is {show(after * INCH)}")


def test_a_strip_thicker_than_may_be_packed_is_asked_about(raw, answered):
    """From 1-1/2 in to foam, 3 in: a strip of 1-1/2 in just does; an eighth more does not."""
    order = answered(raw)
    assert one(order, gap("south 1, top", 3.0)).choice.answer == "pack"
    choice = one(order, gap("south 1, top", 3.125)).choice
    assert choice.answer == "ask the engineer" and 'strip 1-5/8" thick' in choice.why
    raw["site"] = {"most_pack": "2 in"}
    assert one(answered(raw), gap("south 1, top", 3.125)).choice.answer == "pack"


def test_two_readings_of_one_edge(workshop_order):
    """The least counts; more than 1/8 in apart is for the engineer."""
    near = [gap("south 1, top", 1.1), gap("south 1, top", 1.2, reading=2)]
    found = one(workshop_order, *near)
    assert_allclose(found.gap, 1.1 * INCH)
    assert found.choice.answer == "go" and len(found.readings) == 2
    apart = [near[0], gap("south 1, top", 1.25, reading=2)]
    choice = one(workshop_order, *apart).choice
    assert choice.answer == "ask the engineer" and choice.why.startswith("uneven")


def test_both_sides_of_a_spline_are_one_gap(workshop_order):
    found = one(workshop_order, gap("south 1, right", 0.3), gap("south 2, left", 0.25))
    assert found.edge.place == "south 2, left"
    assert_allclose(found.gap, 0.25 * INCH)


def test_the_last_day_counts(workshop_order):
    later = DAY + timedelta(days=10)
    found = one(workshop_order, gap("south 1, top", 0.75), gap("south 1, top", 0.7, later))
    assert found.day == later and len(found.readings) == 1
    both = as_found(
        workshop_order, [gap("north 1, top", 0.75), gap("south 1, top", 0.7, later)], FEW
    )
    assert [one.day for one in both.found] == [later, DAY]  # in the order's sequence


def test_nothing_measured_and_places_not_in_the_job(workshop_order):
    with pytest.raises(ShrinkageError, match="no gap was measured"):
        as_found(workshop_order, [wet("plate", 19)])
    entries = [gap("south 1, top", 0.75), gap("tower 1, top", 0.75)]
    result = as_found(workshop_order, entries, FEW)
    assert len(result.found) == 1 and "no panel edge 'tower 1, top'" in result.problems[0]


def test_no_gap_would_hold(raw, answered):
    """Foam that fills 1/2 in only, where more than that is needed: nothing on site helps."""
    raw["foam"] = {"most_width": "1/2 in"}
    for inches in (0.3, 0.9):
        choice = one(answered(raw), gap("east 1, top", inches)).choice
        assert choice.answer == "ask the engineer"


@pytest.fixture(scope="module")
def dated_order(workshop_text):
    return order(check_job(tomllib.loads(workshop_text) | {"calendar": DATES}))


class TestWithDates:
    """From that day's state on the calendar."""

    def test_on_the_day_planned_it_is_the_order_without_tolerances(self, dated_order):
        found = one(dated_order, gap("south 1, top", 0.75))
        ordered = next(a for a in dated_order.allowances if a.joint.name == "south, top")
        assert_allclose(found.closing, ordered.closing, rtol=1e-6)
        assert_allclose(found.least, ordered.gap_least + INCH / 16, rtol=1e-6)
        assert_allclose(found.most, ordered.gap_most, rtol=1e-6)

    def test_later_there_is_less_to_close(self, dated_order):
        """What closed up to a later day and what closes from it add up to the whole."""
        day = date(2027, 10, 15)
        now, then = (one(dated_order, gap("south 1, top", 0.75, when)) for when in (DAY, day))
        at = now.today.seasons.line.marks["heated"]
        closed = float(now.today.seasons.path[1, at, 1])
        assert closed > 1
        # Fractions are of the dimension on the day, hence a few thousandths.
        assert_allclose(closed + then.estimate, now.estimate, rtol=0.01)

    def test_a_reading_that_day_takes_its_place(self, dated_order):
        plain = one(dated_order, gap("south 1, top", 0.75))
        dry = one(dated_order, gap("south 1, top", 0.75), wet("plate", 15), wet("rafter", 15))
        assert dry.closing < 0.6 * plain.closing

    def test_before_the_raising(self, dated_order):
        with pytest.raises(ShrinkageError, match="calendar: measured on 2027-05-09, before raised"):
            one(dated_order, gap("south 1, top", 0.75, date(2027, 5, 9)))

    def test_too_wide_today_and_in_range_by_the_foams_day(self, raw, answered):
        raw["calendar"] = DATES | {"foamed": "2028-04-01"}
        late = answered(raw)
        found = one(late, gap("south 1, top", 1.55))
        assert found.choice.answer == "wait"
        until = found.choice.until
        assert DAY < until <= date(2028, 4, 1)
        seasons = found.today.seasons
        day = (until - seasons.line.sawn).days
        row = int(np.searchsorted(seasons.line.days, day - 0.5))
        closed = seasons.path[:, :, 2].min(axis=0)
        assert found.gap - closed[row] <= 1.5 * INCH < found.gap - closed[row - 1]

    def test_too_narrow_now_but_not_if_foamed_later(self, raw, answered):
        """No trimming allowed: foam that goes in after some drying is crushed less.

        A little less only: by then the gap must still be wide enough to be filled.
        """
        raw["calendar"] = DATES
        raw["site"] = {"most_trim": "0 %"}
        late = answered(raw)
        planned = one(late, gap("south 1, top", 0.75))
        inches = (planned.least - 0.3) / INCH
        choice = one(late, gap("south 1, top", inches)).choice
        assert choice.answer == "wait" and "foamed later it does" in choice.why
        again = answered(raw | {"calendar": DATES | {"foamed": choice.until.isoformat()}})
        assert one(again, gap("south 1, top", inches)).choice.answer == "go"

    def test_an_earlier_day_for_the_foam_is_no_answer(self, raw, answered):
        """By the day planned the gap has closed to less than can be filled; that day has come."""
        raw["calendar"] = DATES | {"foamed": "2028-04-01"}
        raw["site"] = {"most_trim": "0 %"}
        choice = one(answered(raw), gap("south 1, top", 13.2 / INCH)).choice
        assert choice.answer == "ask the engineer" and choice.until is None


def test_every_edge_with_a_gap_is_answered(workshop_order):
    entries = [replace(gap(edge.place, 0.75)) for edge in gap_edges(workshop_order)]
    result = as_found(workshop_order, entries, FEW)
    assert [one.edge.place for one in result.found] == [edge.place for edge in
                                                        gap_edges(workshop_order)]  # fmt: skip


def test_the_same_seed_gives_the_same_chance(workshop_order):
    text = 'date,place,value\n2027-06-01,"east 1, left",1/4 in\n'
    entries, _ = parse_measures(text, workshop_order)
    first, second = (one(workshop_order, *entries).touching for _ in range(2))
    assert first == second
    assert Spread().seed == 1
