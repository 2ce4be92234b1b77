"""The calendar: dates in order, the end state without D, what closes before and after the foam."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage import drying
from shrinkage.allowance import CRUSH_LIMIT
from shrinkage.calendar import (
    BANDS,
    EVENTS,
    Calendar,
    Reading,
    courses,
    green_moisture,
    timeline,
)
from shrinkage.climate import AirYear, outdoors, room_derived
from shrinkage.errors import ShrinkageError
from shrinkage.frame import build
from shrinkage.jobfile import Document, check_job
from shrinkage.movement import change
from shrinkage.order import order
from shrinkage.section import Heart
from shrinkage.species import catalogue, find
from shrinkage.tables import data_folder
from shrinkage.timber import Timber
from shrinkage.whatif import what_ifs

END_STATE = 1e-3
"""Relative: a timber twelve years in air that never changes has as good as arrived."""
EXACT = 1e-9

DATES = {
    "sawn": "2027-01-15",
    "raised": "2027-05-10",
    "enclosed": "2027-06-01",
    "foamed": "2027-06-07",
    "heated": "2027-10-15",
}


PURLIN = {"timber": "purlin", "at": "raised", "reading": "9 %"}
"""A reading of a timber the workshop does not have."""


def constant_air(level: float) -> AirYear:
    return AirYear("still air", np.full(12, level), "made up", temp=np.full(12, 20.0))


def dates(**changes: Any) -> Calendar:
    given = {name: dt.date.fromisoformat(day) for name, day in DATES.items()}
    return Calendar(**({"cut": given["raised"]} | given | changes))


def plate(air: AirYear, **changes: Any) -> Timber:
    given: dict[str, Any] = {
        "role": "plate",
        "species": find("eastern white pine"),
        "width": 190.5,
        "depth": 190.5,
        "heart": Heart("boxed"),
        "moisture": 30.0,
        "air": air,
    }
    return Timber(**(given | changes))


def dried(timber: Timber, calendar: Calendar, outside: AirYear, *read: Reading) -> Timber:
    line = timeline(calendar, timber.air)
    course = courses({"plate": timber}, calendar, outside, line, read)["plate"]
    return replace(timber, course=course)


def job_with(calendar: dict[str, Any] | None, **tables: Any) -> Document:
    raw = tomllib.loads((data_folder() / "workshop.toml").read_text(encoding="utf-8"))
    return check_job(raw | ({"calendar": calendar} if calendar else {}) | tables)


@pytest.mark.parametrize(("first", "then"), [*pairwise(EVENTS[:5]), ("enclosed", "heated")])
def test_dates_out_of_order_are_named(first: str, then: str) -> None:
    early = getattr(dates(), first) - dt.timedelta(days=1)
    with pytest.raises(ShrinkageError, match=f"{then} on .* is before {first} on"):
        dates(**{then: early})


def test_foam_may_wait_for_the_heating() -> None:
    late = dates(foamed=dt.date(2028, 5, 1))
    assert late.foamed > late.heated
    assert late.season_end == dt.date(2028, 5, 1)


@pytest.mark.parametrize("years", [0, 51])
def test_years_have_limits(years: int) -> None:
    with pytest.raises(ShrinkageError, match="accepted: 1 to 50"):
        dates(years=years)


def test_timeline_holds_every_event_and_starts_when_panels_go_on() -> None:
    line = timeline(dates(), room_derived(outdoors("Madison, WI")))
    assert line.days[0] == dates().day("enclosed")
    assert line.days[line.foamed] == dates().day("foamed")
    assert line.days[line.marks["heated"]] == dates().day("heated")
    assert (np.diff(line.days) > 0).all()
    assert line.damp.min() >= 0 and line.damp.max() <= 1


@pytest.mark.parametrize("band", range(len(BANDS)))
def test_end_state_in_air_that_never_changes_is_the_answer_without_dates(band: int) -> None:
    # Air at 8 %: whatever the diffusion coefficient, the end is f(8 %) throughout.
    air = constant_air(8.0)
    timber = dried(plate(air, width=100.0, depth=100.0), dates(years=12), air)
    assert timber.course is not None
    total = timber.course.radial[band, -1] + timber.course.tangential[band, -1]
    assert_allclose(total, (30 - 8) / 30, rtol=END_STATE)


def test_history_from_green_ends_where_the_answer_without_dates_does() -> None:
    air = constant_air(8.0)
    # Panels on the day it was sawn: nothing lost before, as the answer without dates takes it.
    day = dt.date(2027, 1, 15)
    early = dates(cut=day, raised=day, enclosed=day, foamed=day, years=12)
    timber = dried(plate(air, width=100.0, depth=100.0), early, air)
    assert_allclose(timber.history("depth")[:, 0], 0.0, atol=EXACT)
    assert_allclose(timber.history("depth")[:, -1, 1], timber.shrink("depth")[0, 1], rtol=END_STATE)
    along = timber.history("length")[:, -1, 1]
    assert_allclose(along, timber.shrink("length")[0, 1], rtol=END_STATE)


def test_slow_drying_leaves_more_to_come_when_the_panels_go_on() -> None:
    outside = outdoors("Madison, WI")
    timber = dried(plate(room_derived(outside)), dates(), outside)
    assert timber.course is not None
    lost = (timber.course.radial + timber.course.tangential)[:, 0]
    assert lost[0] < lost[1] < lost[2]


def test_unknown_heart_keeps_its_bracket() -> None:
    outside = outdoors("Madison, WI")
    timber = dried(plate(room_derived(outside), heart=Heart("unknown")), dates(), outside)
    least, estimate, most = timber.history("width")[1, -1]
    assert least < estimate < most
    wood = timber.species
    assert_allclose(most / least, wood.tangential / wood.s_r, rtol=0.05)  # (1 - s) terms differ


@pytest.mark.parametrize(("kind", "moves"), [("flat", 0.061), ("quarter", 0.021)])
def test_straight_rings_move_the_wide_side_by_one_shrinkage(kind: Any, moves: float) -> None:
    # GTR-190 Table 4-3, eastern white pine: R 2.1 %, T 6.1 % (basis: memory).
    air, day = constant_air(8.0), dt.date(2027, 1, 15)
    early = dates(cut=day, raised=day, enclosed=day, foamed=day, years=12)
    timber = dried(plate(air, width=120.0, depth=80.0, heart=Heart(kind)), early, air)
    assert_allclose(timber.history("width")[1, -1, 1], moves * (30 - 8) / 30, rtol=END_STATE)


def test_section_factor_scales_the_first_drying_not_the_seasons() -> None:
    outside = outdoors("Madison, WI")
    full = dried(plate(room_derived(outside)), dates(), outside)
    short = replace(full, section_factor=0.6)
    last = full.course.line.last_year if full.course else 0
    swings = [np.ptp(t.history("depth")[1, last:, 1]) for t in (full, short)]
    assert_allclose(swings[1], swings[0], rtol=0.02)  # reference dimensions differ by the strain
    depths = [t.history("depth")[1, last:, 1].max() for t in (full, short)]
    assert depths[1] < 0.75 * depths[0]


def test_reading_brings_the_field_to_the_meter() -> None:
    outside = outdoors("Madison, WI")
    timber = plate(room_derived(outside))
    plain = dried(timber, dates(), outside)
    metered = dried(timber, dates(), outside, Reading("plate", "raised", 19.0))
    assert plain.course is not None and metered.course is not None
    # From the raising on the metered timber is the drier one: less is left to come.
    assert (metered.course.mean[:, 0] < plain.course.mean[:, 0])[:2].all()
    assert metered.history("depth")[1, -1, 1] < plain.history("depth")[1, -1, 1]


def test_what_was_lost_before_a_reading_is_not_still_to_come() -> None:
    """Wood read at 14 % as the panels go on closes from there: Eq. 13-3 between the mean moistures.

    Below fibre saturation throughout, so the section's mean tells; the rings weigh the shell,
    which leads the mean, a little otherwise, hence 6 %. Counted as green it would be 50 % more.
    """
    outside = outdoors("Madison, WI")
    metered = dried(plate(room_derived(outside)), dates(), outside,
                    Reading("plate", "enclosed", 14.0))  # fmt: skip
    assert metered.course is not None
    mean = metered.course.mean[1]
    assert_allclose(mean[0], 14.0, atol=1.0)
    by_hand = change(metered.total("depth"), float(mean[0]), mean)
    assert_allclose(metered.history("depth")[1, :, 1], by_hand, rtol=0.06, atol=1e-4)


def test_from_a_later_day_the_way_is_what_is_left_of_it() -> None:
    """Counted from a day after the panels went on: the same drying, less what it had closed."""
    outside = outdoors("Madison, WI")
    timber, when = plate(room_derived(outside)), dates()
    day = when.enclosed + dt.timedelta(days=40)  # the foam, due on the 7th day, is not in yet
    later = when.on(day)
    assert (later.enclosed, later.foamed) == (when.enclosed, day)
    whole, rest = (
        replace(timber, course=courses({"plate": timber}, then, outside, line)["plate"])
        for then, line in (
            (replace(when, foamed=day), timeline(replace(when, foamed=day), timber.air)),
            (later, timeline(later, timber.air, day)),
        )
    )
    assert whole.course is not None and rest.course is not None
    now, line = whole.course.line, rest.course.line
    assert line.days[0] == when.day(day) and min(line.marks.values()) == 0
    lost = whole.history("depth")[1, :, 1]
    lost = (lost - lost[now.foamed]) / (1 - lost[now.foamed])
    for mark in ("heated", "first heating season over"):
        left = rest.history("depth")[1, line.marks[mark], 1]
        assert_allclose(left, lost[now.marks[mark]], rtol=1e-3)


def test_a_day_before_the_raising_is_refused() -> None:
    when = dates()
    with pytest.raises(ShrinkageError, match=r"before raised on .*; accepted: a day from then on"):
        when.on(when.raised - dt.timedelta(days=1))
    assert when.on(when.raised).enclosed == when.raised


def test_reading_below_the_air_warns_and_goes_on() -> None:
    outside = outdoors("Madison, WI")
    with pytest.warns(Warning, match="metered 9.0 %"):
        dried(plate(room_derived(outside)), dates(), outside, Reading("plate", "raised", 9.0))


def test_species_without_gravity_is_named() -> None:
    name = next(n for n, s in catalogue().items() if s.gravity is None and s.s_t is not None)
    air = constant_air(8.0)
    with pytest.raises(ShrinkageError, match="has no specific gravity"):
        dried(plate(air, species=find(name)), dates(), air)


def test_green_moisture_says_what_it_rests_on() -> None:
    moisture, source = green_moisture(find("eastern hemlock"))
    assert_allclose(moisture, 2 / 3 * 97 + 1 / 3 * 119)  # GTR-190 Table 4-1: heart 97, sap 119
    assert "Table 4-1" in source
    assert green_moisture(find("eastern white pine"))[0] == 80.0


def test_without_dates_nothing_changes() -> None:
    plain, dated = order(job_with(None)), order(job_with(DATES))
    eave = plain.allowances[0]
    timber = eave.joint.layers[1].wood
    assert isinstance(timber, Timber) and timber.course is None
    strain = float(change(0.041, 30.0, timber.air.low))  # EWP boxed: (2.1 + 6.1) / 2 %
    assert_allclose(timber.history("depth")[0, 1, 1], strain, rtol=EXACT)
    assert eave.seasons.path.shape[0] == 1
    assert dated.allowances[0].seasons.path.shape[0] == len(BANDS)


def test_closing_before_and_after_the_foam_add_up() -> None:
    for answer in order(job_with(DATES)).allowances:
        seasons = answer.seasons
        if not answer.joint.layers:
            continue
        total = seasons.closing_before_foam() + seasons.closing_after_foam()
        worst = seasons.path[:, seasons.line.foamed :, 2].max(axis=1)
        assert_allclose(total, worst, rtol=EXACT)


def test_foaming_after_the_first_season_squeezes_the_foam_less() -> None:
    planned = order(job_with(DATES))
    later, waited = what_ifs(planned)
    for name, answer in later.answers.items():
        now = next(a for a in planned.allowances if a.joint.name == name)
        after, before = answer.seasons.closing_after_foam(), now.seasons.closing_after_foam()
        assert (after < before).all()
    for name, answer in waited.answers.items():
        now = next(a for a in planned.allowances if a.joint.name == name)
        assert answer.seasons.closing_after_foam()[1] < now.seasons.closing_after_foam()[1]


def test_no_dates_no_what_ifs() -> None:
    assert what_ifs(order(job_with(None))) == ()


def test_moisture_in_the_timber_table_is_a_reading_on_the_day() -> None:
    raw = tomllib.loads((data_folder() / "workshop.toml").read_text(encoding="utf-8"))
    raw["timber"]["plate"]["moisture"] = "19 %"
    frame = build(check_job(raw | {"calendar": DATES}))
    course, line = frame.timbers["plate"].course, frame.timbers["post"].course
    assert course is not None and line is not None
    # The meter's pins read near the faces, so the mean is wetter; but drier than unmetered.
    plain = build(job_with(DATES)).timbers["plate"].course
    assert plain is not None
    assert course.mean[1, 1] < plain.mean[1, 1]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"calendar": DATES | {"foamed": "2027-05-01"}}, "foamed on 2027-05-01 is before enclosed"),
        ({"calendar": DATES | {"sawn": "January"}}, "calendar.sawn: cannot read 'January'"),
        ({"metered": [{"timber": "plate", "at": "raised", "reading": "20 %"}]}, "without \\[cal"),
        ({"calendar": DATES, "metered": [PURLIN]}, "metered.1.timber: 'purlin'"),
    ],
)
def test_bad_calendars_are_named(changes: dict[str, Any], words: str) -> None:
    raw = tomllib.loads((data_folder() / "workshop.toml").read_text(encoding="utf-8"))
    with pytest.raises(ShrinkageError, match=words):
        build(check_job(raw | changes))


def test_all_faces_covered_is_said_by_the_solver() -> None:
    timbers = drying.sections(100.0, 100.0, 0.4, [()])
    around = drying.air(0.0, 8.0, 20.0)
    with pytest.warns(UserWarning, match="covered"):
        result = drying.dry(timbers, around, 60.0, [365.0])
    assert_allclose(result.mean, 60.0)


def test_once_heated_a_timber_settles_at_the_rooms_air() -> None:
    outside = outdoors("Madison, WI")
    timber = dried(plate(room_derived(outside)), dates(), outside)
    assert timber.course is not None
    last = timber.course.mean[1, timber.course.line.last_year :]
    assert timber.air.low < last.min() and last.max() < timber.air.high < outside.low


def test_what_closes_before_the_foam_comes_on_top_of_its_limits() -> None:
    later, _ = what_ifs(order(job_with(DATES)))
    answer = next(iter(later.answers.values()))
    before, after = answer.seasons.closing_before_foam(), answer.seasons.closing_after_foam()
    asked = {limit.name: limit.needed for limit in answer.limits}
    assert before.max() > 2.0  # a heating season closes millimetres, so that the sum is seen
    assert_allclose(asked["seen into and filled"], answer.foam.least_width + before.max())
    assert_allclose(asked[CRUSH_LIMIT], (after / answer.foam.squeeze_once + before).max())
