"""What spreads, the draws, and the chain over arrays of draws."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy import stats
from scipy.special import ndtri

from shrinkage import sampled
from shrinkage.drawn import Drawn
from shrinkage.errors import ShrinkageError
from shrinkage.job_spread import SpreadSpec
from shrinkage.jobfile import check_job
from shrinkage.rings_drawn import look_up, weight_table
from shrinkage.section import radial_weight
from shrinkage.spread import SHARES, Doubt, Points, Spread, normal_quantile, spread_of
from shrinkage.woods_drawn import state_of

ROOT = Path(__file__).resolve().parents[1]
NONE = Spread().without()
DATES = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
         "foamed": "2027-07-07", "heated": "2027-10-15"}  # fmt: skip


def moving(order):
    return [a for a in order.allowances if a.status != "bearing"]


def made(answer, order, spread=None, **how):
    return sampled.plan(answer.joint, answer.foam, order.frame.rules, spread or Spread(), **how)


def named(order, name):
    return next(a for a in order.allowances if a.joint.name == name)


@pytest.fixture(scope="module")
def dated(answered):
    import tomllib

    raw = tomllib.loads((ROOT / "data" / "workshop.toml").read_text("utf-8"))
    return answered(raw | {"calendar": DATES})


# --- one input ---


def test_quantile_against_scipy():
    u = np.concatenate([10.0 ** -np.arange(1, 9), np.linspace(0.001, 0.999, 4001), [1 - 1e-8]])
    assert_allclose(normal_quantile(u), ndtri(u), rtol=0, atol=4e-9)
    assert_array_equal(normal_quantile(np.stack([u, u]))[1], normal_quantile(u))


def test_quantile_at_the_ends_is_finite():
    assert np.isfinite(normal_quantile(np.array([0.0, 1.0]))).all()


@pytest.mark.parametrize(
    ("shape", "mean", "sd"),
    [("normal", 0, 0.2), ("uniform", 0, 0.2 / 3**0.5), ("triangular", 0, 0.2 / 6**0.5),
     ("below", -0.1, 0.2 / 12**0.5), ("lognormal", np.exp(np.log1p(0.04) / 2) - 1, None)],
)  # fmt: skip
def test_shapes_have_their_moments(shape, mean, sd):
    doubt = Doubt(0.2, shape)
    u = (np.arange(200_000) + 0.5) / 200_000
    found = doubt.of_uniform(u)
    assert_allclose(found.mean(), mean, atol=2e-5)
    if sd is not None:
        assert_allclose(found.std(), sd, rtol=1e-3)
    assert_allclose(doubt.of_normal(ndtri(u)), found, atol=1e-8)
    assert (np.diff(found) * (-1 if shape == "below" else 1) > 0).all()


def test_bad_doubts_are_named():
    with pytest.raises(ShrinkageError, match=r"spread of meter: -1; accepted: 0 or more"):
        Doubt(-1, what="meter")
    with pytest.raises(ShrinkageError, match=r"'gaussian' is not known; accepted: normal, logno"):
        Doubt(1, "gaussian")  # type: ignore[arg-type]
    with pytest.raises(ShrinkageError, match=r"'unifrom' is not known \(nearest: uniform\)"):
        Doubt(1, "unifrom")  # type: ignore[arg-type]
    with pytest.raises(ShrinkageError, match="accepted here: normal, uniform"):
        Doubt(1, "lognormal", "%")
    with pytest.raises(ShrinkageError, match="accepted: 0 or more"):
        Doubt(float("nan"))


@pytest.mark.parametrize(
    ("change", "message"),
    [({"certainty": 49.0}, "certainty 49 %; accepted: 50 to 99.99 %"),
     ({"certainty": 100.0}, "certainty 100 %; accepted: 50 to 99.99 %"),
     ({"radial_tangential": -1.01}, "correlation radial_tangential -1.01; accepted: -1 to 1"),
     ({"radial_tangential": 1.2}, "correlation radial_tangential 1.2; accepted: -1 to 1"),
     ({"alike": -0.1}, "correlation alike -0.1; accepted: 0 to 1"),
     ({"section_factor_low": 0.4}, "section_factor_low 0.4; accepted: 0.5 to 1"),
     ({"draws": 4}, "draws 4; accepted: 16 to"),
     ({"seed": -1}, "seed -1; accepted: 0 or more"),
     ({"one_log": (("plate", "post"), ("post",))}, "accepted: each timber once at most")],
)  # fmt: skip
def test_bad_spreads_are_named(change, message):
    with pytest.raises(ShrinkageError, match=re.escape(message)):
        Spread(**change)


def test_every_doubt_carries_its_source():
    for key, doubt in Spread().doubts.items():
        assert doubt.what and doubt.source and doubt.basis in ("memory", "assumed"), key


# --- the job file ---


def test_defaults_of_the_job_file_are_the_spreads():
    base, spec = Spread(), SpreadSpec()
    for key in type(spec).model_fields:
        if key == "shapes":
            continue
        mine, stated = getattr(base, key), getattr(spec, key)
        expected = mine.amount * (100 if key in SHARES else 1) if isinstance(mine, Doubt) else mine
        assert stated == pytest.approx(expected), key
    assert {f.name for f in fields(Spread)} == {*type(spec).model_fields} - {"shapes"}


def test_documented_defaults():
    text = (ROOT / "docs" / "job_file.md").read_text("utf-8")
    seen = re.findall(r"^\| `spread\.(\w+)` \| `([^`]+)` \|", text, re.MULTILINE)
    assert {key for key, _ in seen} == {*SpreadSpec.model_fields}
    numbers = {"alike", "radial_tangential", "section_factor_low", "drying", "draws", "seed"}
    for key, default in seen:
        if key in ("shapes", "one_log"):
            continue
        given = SpreadSpec.model_validate({key: float(default) if key in numbers else default})
        assert getattr(given, key) == getattr(SpreadSpec(), key), key


def test_a_table_in_the_job_changes_what_it_names(raw):
    raw["spread"] = {"moisture": "3 %", "species": "20 %", "rings": "5 deg",
                     "certainty": "99 %", "shapes": {"species": "lognormal"},
                     "one_log": [["plate", "rafter"]]}  # fmt: skip
    document = check_job(raw)
    found = spread_of(document.job, document.source)
    assert found.moisture.amount == 3.0 and found.moisture.source == "the job file"
    assert found.species.amount == pytest.approx(0.2) and found.species.shape == "lognormal"
    assert found.rings.amount == 5.0 and found.certainty == 99.0
    assert found.one_log == (("plate", "rafter"),)
    assert found.heart == Spread().heart


def test_no_table_is_the_defaults(workshop_document):
    assert spread_of(workshop_document.job, workshop_document.source) == Spread()


def test_the_table_leaves_the_order_as_it_is(raw, answered, workshop_order):
    raw["spread"] = {"species": "30 %", "certainty": "99 %"}
    assert [p.outline for p in answered(raw).panels] == [p.outline for p in workshop_order.panels]


@pytest.mark.parametrize(
    ("table", "message"),
    [({"certainty": "40 %"}, r"spread\.certainty.*accepted: 50 % to 99.99 %"),
     ({"species": "-5 %"}, r"spread\.species.*accepted: 0 % to 100 %"),
     ({"radial_tangential": 2}, r"spread\.radial_tangential"),
     ({"rings": "10"}, r"spread\.rings.*accepted: 0 deg to 90 deg"),
     ({"sepcies": "5 %"}, r"sepcies")],
)  # fmt: skip
def test_bad_tables_are_named(raw, table, message):
    with pytest.raises(ShrinkageError, match=message):
        check_job(raw | {"spread": table})


@pytest.mark.parametrize(
    ("shapes", "message"),
    [({"heart": "gauss"}, r"spread\.shapes\.heart: .*'gauss' is not known"),
     ({"haert": "normal"}, r"'haert'; accepted: species, "),
     ({"certainty": "normal"}, r"'certainty'; accepted: species, ")],
)  # fmt: skip
def test_bad_shapes_are_named(raw, shapes, message):
    document = check_job(raw | {"spread": {"shapes": shapes}})
    with pytest.raises(ShrinkageError, match=message):
        spread_of(document.job, document.source)


# --- the draws ---


def test_same_points_whatever_the_batches():
    whole = Points(7, 3).take(1000)
    source = Points(7, 3)
    parts = np.concatenate([source.take(n) for n in (1, 99, 256, 644)], axis=1)
    assert_array_equal(parts, whole)
    assert not np.array_equal(Points(7, 4).take(1000), whole)


@pytest.mark.parametrize("chunk", [100, 4096, 16384, 10**6])
def test_same_answer_whatever_the_chunk(workshop_order, chunk):
    one = made(named(workshop_order, "east, top"), workshop_order)
    first, again = sampled.sample(one, draws=20_000), sampled.sample(one, 20_000, chunk=chunk)
    assert_array_equal(first.needed, again.needed)
    assert_array_equal(first.closure, again.closure)
    threaded = sampled.sample(one, draws=2**16 + 5)
    assert_array_equal(threaded.needed[:20_000], first.needed)
    assert first.truncated == again.truncated


def test_quasi_random_converges_faster(workshop_order, record_property):
    """The error of a mean falls as draws to about -1, against -1/2 for plain random draws."""
    one = made(named(workshop_order, "south, top"), workshop_order)
    truth = sampled.sample(one, draws=2**19, seed=99).closure.mean()
    powers = np.arange(6, 14)
    slopes = {}
    for plain in (False, True):
        errors = [
            np.sqrt(np.mean([
                (sampled.sample(one, 2**n, seed, plain=plain).closure.mean() - truth) ** 2
                for seed in range(12)
            ]))
            for n in powers
        ]  # fmt: skip
        slopes[plain] = np.polyfit(powers, np.log2(errors), 1)[0]
    print(f"slope of the error: quasi-random {slopes[False]:.2f}, plain {slopes[True]:.2f}")
    record_property("slopes", {plain: float(slope) for plain, slope in slopes.items()})
    assert -0.65 < slopes[True] < -0.35
    assert slopes[False] < -0.75


# --- the chain ---


def test_no_spread_is_the_order(workshop_order):
    for answer in moving(workshop_order):
        found = sampled.sample(made(answer, workshop_order, NONE), draws=32)
        estimate = answer.seasons.path[0, :, 1]
        assert_allclose(found.closure, estimate[1:].max(), rtol=1e-12, atol=1e-12)
        assert_allclose(found.needed, answer.governs.needed, rtol=1e-12)
        opens = max(0.0, -estimate.min())
        assert_allclose(found.opening, opens, rtol=1e-12, atol=1e-12)
        assert [limit.name for limit in answer.limits][found.governs[0]] == answer.governs.name


def test_no_spread_is_the_order_with_less_first_drying(raw, answered):
    for role in raw["timber"]:
        raw["timber"][role]["section_factor"] = 0.7
    order = answered(raw)
    for answer in moving(order):
        found = sampled.sample(made(answer, order, NONE), draws=4)
        assert_allclose(found.closure, answer.seasons.path[0, 1:, 1].max(), rtol=1e-12, atol=1e-12)
        assert_allclose(found.needed, answer.governs.needed, rtol=1e-12)


def test_every_limit_is_the_order_s(raw, answered):
    """Each limit made to govern in turn asks for what the order's does."""
    seen = set()
    for change in (
        {"foam": {"least_width": "1-1/4 in"}}, {"allow": {"keep_clear": "3/4 in"}}, {},
        {"foam": {"works": "3 %"}},
        {"foam": {"stretch": "1 %", "recovery": "0 %", "works": "20 %", "squeeze_once": "90 %"}},
    ):  # fmt: skip
        order = answered(raw | change)
        for answer in moving(order):
            found = sampled.sample(made(answer, order, NONE), draws=4)
            assert_allclose(found.needed, answer.governs.needed, rtol=1e-12)
            seen.add(answer.governs.name)
    assert len(seen) >= 5, seen


def test_a_table_is_looked_up_between_its_steps():
    table = np.linspace(0, 1, 1025) ** 2
    u = np.array([0.0, 0.25 / 1024, 0.5, 0.70001, 1 - 1e-9])
    assert_allclose(look_up(table, u), np.interp(u, np.linspace(0, 1, 1025), table), rtol=1e-12)


@pytest.mark.parametrize("factor", [1.0, 0.75])
def test_no_spread_is_the_order_with_dates(raw, answered, factor):
    raw["timber"]["plate"]["section_factor"] = factor
    raw["timber"]["rafter"]["heart"] = "unknown"
    raw["calendar"] = DATES
    raw["metered"] = [{"timber": "plate", "at": "enclosed", "reading": "24 %"}]
    raw["covering"] = [{"name": "boards", "on": "roof", "thickness": "1 in",
                        "species": "eastern white pine"}]  # fmt: skip
    order = answered(raw)
    for answer in moving(order):
        for all_times in (False, True):
            one = made(answer, order, NONE, all_times=all_times)
            drawn = sampled.sample(one, draws=2)
            usual = answer.seasons.path[answer.seasons.path.shape[0] // 2, :, 1]
            assert_allclose(drawn.closure, usual[1:].max(), rtol=1e-12, atol=1e-12)
            after = usual[answer.seasons.line.foamed :]
            assert_allclose(drawn.after, max(0, (after - after[0]).max()), rtol=1e-9, atol=1e-9)


def test_bands_of_the_drying_are_met(dated):
    """A draw at half and twice the usual speed is the solver's slow and fast answer."""
    answer = named(dated, "south, top")
    spread = replace(NONE, drying=Spread().drying)
    one = made(answer, dated, spread, all_times=True)
    u = stats.norm.cdf(np.array([[-2.0, 0.0, 2.0]]))
    drawn = Drawn.make(u, [True], {})
    assert_allclose(sampled.path(one, drawn).T, answer.seasons.path[:, :, 1], atol=1e-7)


def test_symmetric_in_symmetric_out(workshop_order):
    """Normal, small and linear: as much above the estimate as below."""
    small = replace(NONE, species=replace(Spread().species, amount=0.02))
    answer = named(workshop_order, "east, end")
    drawn = sampled.sample(made(answer, workshop_order, small), draws=2**14)
    low, middle, high = np.quantile(drawn.closure, [0.05, 0.5, 0.95])
    assert_allclose(high - middle, middle - low, rtol=2e-3)
    assert abs(stats.skew(drawn.closure)) < 0.01


def test_correlation_of_radial_and_tangential(workshop_order):
    """Rings all one way or the other: the closures follow R or T, correlated as asked."""
    answer = named(workshop_order, "east, end")
    for together in (-0.6, 0.0, 0.8):
        spread = replace(NONE, species=Spread().species, radial_tangential=together)
        one = made(answer, workshop_order, spread)
        u = Points(len(one.inputs), 1).take(2**14)
        drawn = Drawn.make(u, [known.normal for known in one.inputs], {})
        states = [state_of(wood, drawn) for wood in one.woods.values()]
        for state in states:
            assert np.corrcoef(state.s_r, state.s_t)[0, 1] == pytest.approx(together, abs=0.01)
            assert np.std(state.s_r) / np.mean(state.s_r) == pytest.approx(0.15, rel=0.01)


def test_pieces_share_what_they_share(workshop_order):
    answer = named(workshop_order, "south, top")

    def radial(**how):
        one = made(answer, workshop_order, replace(NONE, species=Spread().species, **how))
        u = Points(len(one.inputs), 1).take(2**14)
        drawn = Drawn.make(u, [known.normal for known in one.inputs], {})
        found = {wood.timber.role: state_of(wood, drawn) for wood in one.woods.values()}
        return {role: state.s_r for role, state in found.items()}, len(one.woods)

    drawn, pieces = radial(alike=0.3)
    assert pieces == 3  # post, rafter and a plate that stands in two layers
    assert np.corrcoef(drawn["plate"], drawn["rafter"])[0, 1] == pytest.approx(0.3, abs=0.02)
    assert np.corrcoef(drawn["plate"], drawn["post"])[0, 1] == pytest.approx(0.0, abs=0.02)
    drawn, _ = radial(alike=0.3, one_log=(("plate", "rafter"),))
    assert_array_equal(drawn["plate"], drawn["rafter"])


def test_impossible_wood_is_cut_back_and_counted(workshop_order):
    wild = replace(NONE, species=replace(Spread().species, amount=1.0), alike=0.0)
    drawn = sampled.sample(made(named(workshop_order, "east, end"), workshop_order, wild), 2**12)
    cut = drawn.truncated["shrinkage"]
    # Two timbers, R and T: one in 6.3 draws is below zero.
    assert cut == pytest.approx(4 * 2**12 * stats.norm.cdf(-1), rel=0.05)
    assert drawn.closure.min() >= 0
    quiet = sampled.sample(made(named(workshop_order, "east, end"), workshop_order, NONE), 64)
    assert quiet.truncated == {}


def test_a_year_is_never_upside_down(workshop_order):
    spread = replace(NONE, air_low=replace(Spread().air_low, amount=6.0))
    drawn = sampled.sample(made(named(workshop_order, "east, end"), workshop_order, spread), 2**12)
    assert drawn.truncated["wettest month"] > 0 and drawn.truncated["driest month"] > 0
    assert np.isfinite(drawn.needed).all()


def test_weight_table_is_the_weights_quantiles():
    doubt = Doubt(0.1)
    table = weight_table(190.0, 240.0, 10.0, -30.0, doubt)
    z = np.random.default_rng(0).standard_normal((2, 200_000))
    plain = radial_weight(190.0, 240.0, 10.0 + 19.0 * z[0], -30.0 + 24.0 * z[1])
    at = [0.05, 0.25, 0.5, 0.75, 0.95]
    assert_allclose(np.interp(at, np.linspace(0, 1, 1025), table), np.quantile(plain, at),
                    atol=2e-3)  # fmt: skip
    assert (np.diff(table) >= 0).all()


@pytest.mark.parametrize("heart", ["boxed", "unknown", "flat", "quarter", "rift"])
def test_rings_spread_about_the_estimate(raw, answered, heart):
    raw["timber"]["post"] |= {"heart": heart, "section": "190 mm x 190 mm"}
    order = answered(raw)
    answer = named(order, "east, end")
    spread = replace(NONE, heart=Spread().heart, rings=Spread().rings,
                     unknown_rings=Spread().unknown_rings)  # fmt: skip
    drawn = sampled.sample(made(answer, order, spread), 2**12)
    still = sampled.sample(made(answer, order, NONE), 16).closure[0]
    least, most = drawn.closure.min(), drawn.closure.max()
    assert least <= still + 1e-6 and most >= still - 1e-6 and most - least > 0.05
    if heart in ("unknown", "free"):
        bracket = answer.driest
        assert_allclose([least, most], [bracket.least, bracket.most], rtol=2e-2)


def test_a_meter_narrows_and_a_dry_reading_closes_less(raw, answered):
    wet = answered(raw)
    for role in ("plate", "rafter", "post"):
        raw["timber"][role]["moisture"] = "18 %"
    dry = answered(raw)
    closures = [
        np.median(sampled.sample(made(named(order, "south, top"), order), 4096).closure)
        for order in (wet, dry)
    ]
    assert closures[1] < 0.7 * closures[0]


def test_air_and_reading_move_what_has_followed_them(dated):
    """With dates: drier air closes more by the end, and nothing before the heating."""
    answer = named(dated, "south, top")
    one = made(answer, dated, replace(NONE, air_low=Spread().air_low, air_high=Spread().air_high),
               all_times=True)  # fmt: skip
    rows = [known.key.split()[-1] for known in one.inputs]
    assert sorted(rows) == ["high", "low"]
    u = np.array([[0.02, 0.5, 0.98], [0.02, 0.5, 0.98]])
    track = sampled.path(one, Drawn.make(u, [True, True], {}))
    heated = answer.seasons.line.marks["heated"]
    assert_allclose(track[: heated + 1], track[: heated + 1, 1:2].repeat(3, axis=1), atol=1e-12)
    assert track[-1, 0] > track[-1, 1] + 0.3 > track[-1, 2] + 0.6


def test_progress_is_told(workshop_order):
    seen = []
    sampled.sample(made(moving(workshop_order)[0], workshop_order), 1000, chunk=250,
                   progress=seen.append)  # fmt: skip
    assert seen == [0.25, 0.5, 0.75, 1.0]
