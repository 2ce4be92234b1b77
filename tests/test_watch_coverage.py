"""Synthetic buildings: the band after the readings holds the truth as often as it says.

No outside source: a building is drawn from the spread itself, read with errors, and judged by other
draws of the same spread, so that a 90 % band must hold the truth in nine of ten (calibration in the
sense of Dawid 1982 and Cook, Gelman and Rubin 2006, from memory). What is simulated here is the
readings; wood that is not as the model has it is outside this test.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from shrinkage import bayes, particles
from shrinkage.jobfile import check_job
from shrinkage.order import order
from shrinkage.site_log import Entry
from shrinkage.spread import Spread
from shrinkage.watch import sorted_readings
from shrinkage.watch_model import around, building, covariance, expected, own_given, timeline_of

WORKSHOP = Path(__file__).resolve().parents[1] / "data" / "workshop.toml"
DATES = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
         "foamed": "2027-07-07", "heated": "2027-10-15", "years": 5}  # fmt: skip
DRAWS, BUILDINGS = 16384, 300
READ = {  # what a crew reads with tape, caliper and meter: kind, place, error
    ("gap", "south 1, top"): 0.8,
    ("gap", "east 1, top"): 0.8,
    ("width", "plate"): 0.4,
    ("depth", "rafter"): 0.4,
    ("moisture", "plate"): 1.5,
}
VISITS = ("2027-06-01", "2027-09-15", "2028-01-10", "2028-06-01", "2029-01-10")


@dataclass
class Told:
    """One building of many: whether each band held, how wide it was, how many draws carried it.

    Rows of ``inside`` and ``width``: the gap's, the closing's; columns: before, after the readings.
    """

    inside: np.ndarray
    width: np.ndarray
    effective: float


@pytest.fixture(scope="module")
def told():
    answer = order(check_job(tomllib.loads(WORKSHOP.read_text("utf-8")) | {"calendar": DATES}))
    spread = Spread()
    entries = [
        Entry(dt.date.fromisoformat(day), kind, place, 20.0, error)
        for day in VISITS for (kind, place), error in READ.items()
        if kind != "moisture" or day != VISITS[0]
    ]  # fmt: skip
    readings, subjects, problems = sorted_readings(answer, spread, entries)
    assert not problems
    line = timeline_of(answer)
    times = np.union1d(around(line, readings), np.arange(line.last_year, len(line.days)))
    made = building(answer, spread, subjects, times)
    z = particles.start(len(made.inputs), DRAWS, 1)
    truth = particles.start(len(made.inputs), 512, 2)[:, :BUILDINGS]
    should, really = expected(made, readings, z), expected(made, readings, truth)
    errors = covariance(made, readings)
    at = [subject.place for subject in subjects].index("south 1, top")
    final, true_final = (made.track(at, made.drawn(u))[-13:].mean(axis=0) for u in (z, truth))
    return _judge(readings, subjects[at], should, really, errors, final, true_final)


def _judge(readings, subject, should, really, errors, final, true_final):
    """Hold every building's mean gap and mean closing of the last year against its bands."""
    random = np.random.default_rng(12)
    rows = [i for i, reading in enumerate(readings) if reading.entry.place == subject.place]
    sharp = np.array([readings[i].entry.error for i in rows])
    setting = random.permutation(particles.start(1, DRAWS, 3)[0])
    shared = np.zeros_like(errors)
    shared[np.ix_(rows, rows)] = subject.own**2  # drawn by itself here, to know the truth
    others = np.linalg.cholesky(errors - shared)
    even = np.full(DRAWS, 1 / DRAWS)

    def bands(gap, weights):
        two = np.stack([gap, subject.base - final])
        return bayes.weighted_quantile(two, weights, bayes.BAND)[[0, 2]]

    before = bands(final + subject.own * setting, even)
    found = []
    for should_be, end in zip(really.T, true_final, strict=True):
        hung = subject.own * random.standard_normal()
        read = should_be + others @ random.standard_normal(len(readings))
        read[rows] += hung
        weights = bayes.normalised(bayes.log_likelihood(should, read, errors))
        mean, deviation = own_given(subject.own, sharp, read[rows, None] - should[rows])
        ends = np.stack([before, bands(final + mean + deviation * setting, weights)], axis=-1)
        truth = np.array([[end + hung], [subject.base - end]])
        inside = (ends[0] <= truth) & (truth <= ends[1])
        found.append(Told(inside, ends[1] - ends[0], bayes.effective_size(weights)))
    return found


def test_the_band_holds_the_truth_as_often_as_it_says(told):
    """85 to 95 %: three standard errors of 300 buildings are 5.2 %."""
    share = np.mean([one.inside for one in told], axis=0)
    print(f"held, gap and closing, before and after: {100 * share}")
    assert len(told) >= 200
    assert (share >= 0.85).all()
    assert (share <= 0.95).all()


def test_the_band_is_narrower(told):
    width = np.mean([one.width for one in told], axis=0)
    print(f"width [mm], gap and closing, before and after: {width}, {width[:, 1] / width[:, 0]}")
    assert width[0, 1] < 0.25 * width[0, 0]
    assert width[1, 1] < 0.6 * width[1, 0]
    assert all(one.width[0, 1] < one.width[0, 0] for one in told)


def test_enough_draws_carry_the_bands(told):
    """Re-weighting alone carries nearly every building; `follow` would move where few are left."""
    effective = np.array([one.effective for one in told])
    print(
        f"effective draws: least {effective.min():.0f}, median {np.median(effective):.0f}, "
        f"below {particles.ENOUGH:.0f}: {100 * np.mean(effective < particles.ENOUGH):.1f} %"
    )
    assert np.median(effective) > 1000
    assert np.mean(effective < particles.ENOUGH) < 0.15
