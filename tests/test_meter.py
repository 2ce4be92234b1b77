"""The moisture meter: temperature by the handbook's rule, species by the user's own booklet."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.frame import build
from shrinkage.jobfile import Source, check_job
from shrinkage.meter import QUALITATIVE, Meter, meter_of, temperature_corrected
from shrinkage.species import find
from shrinkage.spread import Spread, spread_of

HEMLOCK = find("eastern hemlock")
BOOKLET = {"name": "pin meter", "correction": {"eastern hemlock": "-1 %", "EWP": "0.5 %"}}


@pytest.mark.parametrize(
    ("reading", "temp_f", "corrected"),
    [(15, 70, 15.0), (15, 60, 15.5), (15, 80, 14.5), (20, 30, 22.0)],
)
def test_meter_correction(reading, temp_f, corrected):
    """GTR-190 ch. 13: about 0.5 % for each 10 F, added when the wood is colder.

    Basis: memory. Tolerance: the source rounds 10 F to 5.6 C, a hundredth of the correction.
    """
    found = temperature_corrected(reading, (temp_f - 32) / 1.8)
    assert_allclose(found, corrected, rtol=0, atol=0.02)


def pfaff_garrahan(reading: float, temp_c: float) -> float:
    """Correct for temperature alone (a = 1, b = 0) by Pfaff and Garrahan, Forest Prod. J. 36(3).

    1986, from memory: reading and temperature fit of resistance meters for Canadian softwoods.
    """
    top = reading + 0.567 - 0.0260 * temp_c + 0.000051 * temp_c**2
    return top / (0.881 * 1.0056**temp_c)


@pytest.mark.parametrize("reading", [10.0, 15.0, 20.0])
@pytest.mark.parametrize("temp_c", [0.0, 10.0, 32.0])
def test_another_rule_agrees(reading, temp_c):
    """The published equation (from memory) grows with the reading; the handbook's is its middle.

    Both are about calibration near 21 C; the difference stays within 1.3 points, less than one
    standard deviation of a reading.
    """
    other = pfaff_garrahan(reading, temp_c) - pfaff_garrahan(reading, 21.1)
    rule = temperature_corrected(reading, temp_c) - reading
    assert other * rule > 0
    assert abs(other - rule) < 1.3


def test_a_meter_made_for_another_temperature():
    assert_allclose(temperature_corrected(15.0, 20.0, 20.0), 15.0)
    frame_meter = Meter("m", calibrated_at=20.0)
    assert_allclose(frame_meter.corrected(15.0, HEMLOCK, 14.4).moisture, 15.5)


@pytest.mark.parametrize(
    ("meter", "temp", "moisture", "how"),
    [
        (Meter(), None, 22.0, "metered 22 %, no temperature correction"),
        (Meter(), 9.9, 23.0, "metered 22 % at 9.9 C (50 F), corrected to 23.0 % (GTR-190 ch. 13)"),
        (Meter("pins", by_species={HEMLOCK.name: -1.0}), 9.9, 22.0,
         f"metered 22 % with pins at 9.9 C (50 F), corrected to 22.0 % (GTR-190 ch. 13; -1 % for "
         f"{HEMLOCK.name} by the meter's booklet)"),
        (Meter("pins", by_species={HEMLOCK.name: -1.0}), None, 21.0,
         f"metered 22 % with pins, corrected to 21.0 % (no temperature correction; -1 % for "
         f"{HEMLOCK.name} by the meter's booklet)"),
        (Meter("pins"), None, 22.0, "metered 22 % with pins, no temperature correction; no "
         f"correction given for {HEMLOCK.name}"),
    ],
)  # fmt: skip
def test_every_correction_is_named(meter, temp, moisture, how):
    found = meter.corrected(22.0, HEMLOCK, temp)
    assert_allclose(found.moisture, moisture)
    assert found.how == how


def test_wet_wood_is_only_wet():
    """GTR-190 ch. 13: above 30 % a reading is qualitative only."""
    meter = Meter("pins", error=1.5, error_above_30=8.0)
    assert QUALITATIVE in meter.corrected(30.5, HEMLOCK, None).how
    assert QUALITATIVE not in meter.corrected(30.0, HEMLOCK, None).how
    assert (meter.error_of(30.0, 2.0), meter.error_of(30.5, 2.0)) == (1.5, 8.0)
    assert (Meter().error_of(20.0, 2.0), Meter().error_of(31.0, 2.0)) == (2.0, 10.0)
    assert Meter().error_of(31.0, 12.0) == 12.0


def test_a_jobs_meter_corrects_its_readings(raw):
    """The same reading with and without the meter's table; calendar readings too."""
    raw["timber"]["post"] |= {"moisture": "22 %", "wood_temperature": "9.9 C"}
    raw["timber"]["plate"]["moisture"] = "20 %"
    plain = build(check_job(raw)).timbers
    raw["meter"] = BOOKLET
    metered = build(check_job(raw)).timbers
    assert_allclose([plain[role].moisture for role in ("post", "plate")], [23.0, 20.0])
    assert_allclose([metered[role].moisture for role in ("post", "plate")], [22.0, 20.5])
    assert "-1 % for" in metered["post"].moisture_note
    assert metered["sill"].moisture_note == plain["sill"].moisture_note


def test_a_calendars_readings_are_corrected_too(raw):
    raw["calendar"] = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
                       "foamed": "2027-07-01", "heated": "2027-10-15", "years": 1}  # fmt: skip
    read = {"timber": "post", "at": "raised", "reading": "21 %"}
    raw["meter"] = BOOKLET | {"correction": {"eastern hemlock": "-2 %"}}
    with_booklet = build(check_job(raw | {"metered": [read]})).timbers["post"].course
    del raw["meter"]
    by_hand = build(check_job(raw | {"metered": [read | {"reading": "19 %"}]})).timbers["post"]
    assert_allclose(with_booklet.mean, by_hand.course.mean, rtol=1e-12)


def test_its_error_takes_the_place_of_the_spreads(raw):
    assert spread_of(check_job(raw).job, Source()) == Spread()
    raw["meter"] = BOOKLET
    assert spread_of(check_job(raw).job, Source()) == Spread()
    raw["meter"] = BOOKLET | {"error": "1.5 %"}
    assert spread_of(check_job(raw).job, Source()).moisture.amount == 1.5
    raw["spread"] = {"moisture": "3 %"}
    assert spread_of(check_job(raw).job, Source()).moisture.amount == 3.0


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"correction": {"unobtainium": "1 %"}}, r"meter\.correction\.unobtainium: "),
        ({"correction": {"EWP": "1 %", "eastern white pine": "1 %"}}, "which has one already"),
        ({"correction": {"EWP": "40 %"}}, r"'40 %'; accepted: -20 % to 20 %"),
        ({"name": ""}, "meter.name"),
    ],
)
def test_mistakes_are_named(raw, change, named):
    raw["meter"] = BOOKLET | change
    with pytest.raises(ShrinkageError, match=named):
        build(check_job(raw))


def test_no_meter_corrects_temperature_only():
    assert meter_of(None, {}, Source()) == Meter()
