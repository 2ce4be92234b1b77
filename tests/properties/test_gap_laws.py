"""Laws of joints, gaps and orders, over drawn timbers and pitches, and over whole jobs."""

from __future__ import annotations

import copy
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from drawn_woods import air, hearts, pitches, sizes, species, timbers
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from shrinkage.allowance import Rules, allow
from shrinkage.errors import ShrinkageError
from shrinkage.foam import Foam
from shrinkage.jobfile import check_job
from shrinkage.joint import Joint, Layer, closure
from shrinkage.order import order
from shrinkage.timber import Timber
from shrinkage.units import round_to

EXACT = 1e-9
"""[mm] Roundings in sums of some metres."""
FEW = settings(max_examples=max(10, settings.default.max_examples // 4))
"""For tests that work out a whole building."""


def eave(plate: Timber, pitch: float) -> Joint:
    """Return a joint that only closes: nothing of the panel's own stack dries."""
    n = (math.sin(pitch), math.cos(pitch))
    return Joint("eave", "drawn", (Layer("plate", plate, "depth", plate.depth, (0.0, 1.0)),
                                   Layer("rafter", plate, "width", plate.width, n)), n)  # fmt: skip


@given(timbers(), pitches)
def test_no_change_no_closure(timber, pitch):
    still = replace(timber, moisture=timber.air.low, air=air(timber.air.low, timber.air.low))
    found = closure(eave(still, pitch).layers, eave(still, pitch).normal)
    assert_allclose(found.path, 0.0, rtol=0, atol=EXACT)


@given(timbers(), pitches, st.floats(0.0, 1.0))
def test_more_drying_never_opens_a_closing_gap(timber, pitch, share):
    drier = replace(timber, air=air(share * timber.air.low, timber.air.high))
    before, after = (closure(eave(t, pitch).layers, eave(t, pitch).normal) for t in (timber, drier))
    assert before.closing >= 0.0
    assert after.closing >= before.closing - EXACT
    wetter = replace(timber, moisture=timber.air.low)
    start = closure(eave(wetter, pitch).layers, eave(wetter, pitch).normal)
    assert before.closing >= start.closing - EXACT


@given(timbers(), pitches, st.floats(0.0, 1.0))
def test_a_drier_driest_month_never_needs_less_gap(timber, pitch, share):
    """With the wettest month as it is: both ends moved, foam crushed more gives back more."""
    drier = replace(timber, air=air(share * timber.air.low, timber.air.high))
    needs = [allow(eave(t, pitch), Foam(), Rules()).needed for t in (timber, drier)]
    assert needs[1] >= needs[0] - EXACT


@given(timbers(), pitches)
def test_sides_of_a_joint_cancel(timber, pitch):
    joint = eave(timber, pitch)
    both = (*joint.layers, *(replace(layer, side="near") for layer in joint.layers))
    found = closure(both, joint.normal)
    middle = found.path[..., 1]
    assert_allclose(middle, 0.0, rtol=0, atol=EXACT)


@given(timbers(), pitches, st.floats(0.1, 50.0))
def test_what_comes_off_is_enough_and_a_whole_fraction(timber, pitch, step):
    rules = Rules(fraction=step)
    joint = replace(eave(timber, pitch), measure=1 / math.cos(pitch))
    found = allow(joint, Foam(), rules)
    assert found.off * math.cos(pitch) >= found.needed - 1e-5 * step
    assert found.off - step < found.needed / math.cos(pitch) + 1e-5 * step
    assert abs(found.off / step - round(found.off / step)) < 1e-6
    assert found.gap >= found.closing + rules.keep_clear - 1e-5 * step
    assert all(found.needed >= limit.needed for limit in found.limits)


@given(st.floats(0, 1e5), st.floats(0.01, 60.0))
def test_rounding_keeps_its_side_and_is_done_once(mm, step):
    up, down, near = (round_to(mm, step, way) for way in ("up", "down", "nearest"))
    assert down <= mm + 1e-5 * step and up >= mm - 1e-5 * step
    assert up - down < step * (1 + 1e-5) and down - EXACT <= near <= up + EXACT
    for way in ("up", "down", "nearest"):
        assert_allclose(round_to(up, step, way), up, rtol=1e-12)


SIXTEENTHS = st.integers(1, 6 * 16)
"""Of an inch, for what a job file may vary."""
VARIED = {
    ("wall", 0, "height"): st.integers(8 * 192, 12 * 192), ("wall", 2, "length"):
    st.integers(15 * 192, 22 * 192), ("panel", "thickness"): st.integers(4 * 16, 12 * 16),
    ("eave", "rafter_above_seat"): st.integers(16, 7 * 16), ("allow", "fraction"):
    st.sampled_from([1, 2, 4, 8, 16]), ("allow", "cutting"): SIXTEENTHS,
    ("allow", "keep_clear"): SIXTEENTHS, ("foam", "least_width"): SIXTEENTHS,
    ("timber", "plate", "moisture"): st.integers(14, 60),
}  # fmt: skip
HEARTS = st.sampled_from(["boxed", "free", "flat", "quarter", "rift", "unknown"])
PITCHES = st.integers(2, 24).map(lambda rise: f"{rise} in 12")


def written(value: int, key: tuple[Any, ...], metric: bool) -> str:
    """Return a number of sixteenths of an inch as text, exactly in either system."""
    if key[-1] == "moisture":
        return f"{value} %"
    if metric:
        return f"{value * 15_875 // 10_000}.{value * 15_875 % 10_000:04d} mm"
    feet, rest = divmod(value, 192)
    inches, part = divmod(rest, 16)
    return f"{feet}' {inches}-{part}/16\"" if part and inches else f"{feet} ft {rest}/16 in"


@st.composite
def jobs(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Draw changes to a job, written in feet and inches and in millimetres."""
    kept = draw(st.lists(st.sampled_from(sorted(VARIED, key=str)), unique=True, max_size=5))
    values = {key: draw(VARIED[key]) for key in kept}
    heart, pitch = draw(HEARTS), draw(PITCHES)
    return [
        {key: written(value, key, metric) for key, value in values.items()}
        | {("timber", "rafter", "heart"): heart, ("eave", "pitch"): pitch}
        for metric in (False, True)
    ]


def changed(raw: dict[str, Any], values: dict[tuple[Any, ...], str]) -> dict[str, Any]:
    new = copy.deepcopy(raw)
    for (*tables, name), value in values.items():
        at: Any = new
        for table in tables:
            at = at.setdefault(table, {}) if isinstance(at, dict) else at[table]
        at[name] = value
    return new


@pytest.fixture(scope="module")
def job(workshop_text):
    import tomllib

    return tomllib.loads(workshop_text)


@FEW
@given(values=jobs())
def test_a_job_in_inches_is_the_job_in_millimetres(job, values):
    answers = []
    for each in values:
        try:
            answers.append(order(check_job(changed(job, each))))
        except ShrinkageError:
            answers.append(None)
    inch, metric = answers
    assert (inch is None) == (metric is None)
    assume(inch is not None)
    for one, two in zip(inch.allowances, metric.allowances, strict=True):
        assert_allclose((one.needed, one.off, one.gap), (two.needed, two.off, two.gap), atol=EXACT)
        assert (one.status, one.governs.name) == (two.status, two.governs.name)
    for one, two in zip(inch.panels, metric.panels, strict=True):
        assert_allclose(one.outline, two.outline, rtol=0, atol=EXACT)


@FEW
@given(values=jobs())
def test_no_panel_is_larger_than_its_opening_minus_its_gaps(job, values):
    try:
        answer = order(check_job(changed(job, values[0])))
    except ShrinkageError:
        assume(False)
    step = answer.frame.rules.fraction
    for panel in answer.panels:
        piece, off = panel.piece, {side: edge.off for side, edge in panel.edges.items()}
        assert panel.width <= piece.right - piece.left - off["left"] - off["right"] + 1e-5 * step
        left = piece.left + off["left"]
        for x, y in panel.outline[2:]:
            room = piece.top_at(left + x) - piece.bottom - off["top"] - off["bottom"]
            assert 0 <= y <= room + 1e-5 * step
        sizes_ = np.array([panel.width, *(y for _, y in panel.outline)]) / step
        assert_allclose(sizes_, np.round(sizes_), rtol=0, atol=1e-6)


@given(species, sizes, sizes, hearts, st.floats(6.0, 12.0), st.floats(0.0, 4.0))
def test_a_wetter_start_never_closes_less(wood, width, depth, heart, low, more):
    around = air(low, low + 2)
    starts = sorted((low + more, min(low + 3 * more, wood.most_moisture)))
    dry, wet = (Timber("plate", wood, width, depth, heart, m, around) for m in starts)
    closes = [closure(eave(t, 0.7).layers, eave(t, 0.7).normal).closing for t in (dry, wet)]
    assert closes[1] >= closes[0] - EXACT
