"""Where a meter's pins read between face and core, and what that does in the draws."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage import drying, particles
from shrinkage.calendar import USUAL
from shrinkage.jobfile import check_job
from shrinkage.moisture_drawn import core_share, moisture_drawn
from shrinkage.order import order
from shrinkage.site_log import Entry
from shrinkage.spread import Spread
from shrinkage.watch import sorted_readings
from shrinkage.watch_model import building

WORKSHOP = Path(__file__).resolve().parents[1] / "data" / "workshop.toml"
DATES = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
         "foamed": "2027-07-07", "heated": "2027-10-15", "years": 3}  # fmt: skip
SIDE = 190.5


@pytest.mark.parametrize("covered", [None, "right", "top"])
def test_profile_against_the_solvers_own_field(covered):
    """At 5/16 in below the middle of an open face, from three months on; wood from 80 % at 10 %."""
    faces = [[face for face in drying.FACES if face != covered]]
    timbers = drying.sections([SIDE], [SIDE], [0.35], faces)
    air = drying.air(np.array([0.0]), np.array([10.0]), 15.0)
    days = np.array([90.0, 180.0, 365.0, 730.0])
    dried = drying.dry(timbers, air, np.array([80.0]), days, start=0.0, snapshots=True)
    wide = np.asarray(dried.state.cell_x)[0]
    field = dried.snapshots[0][:, :, dried.snapshots.shape[3] // 2]
    solved = [np.interp(7.94, np.cumsum(wide) - wide / 2, line) for line in field]
    share = core_share(dried, 7.94, SIDE)
    ours = (dried.surface + share * (dried.core - dried.surface))[0]
    off = np.abs(ours - solved)
    assert off[0] < 3.1
    assert (off[1:] < 1.6).all()


def test_face_core_and_the_pin_depth_that_reads_the_mean():
    """Trade rule: pins a fifth to a quarter in read the mean of a drying board (0.211 by theory).

    The rule is for a board, a parabola one way; a square section's mean lies a little further in
    from a face's middle: 1 - (1 - 2 d)^2 = 4/9 at d = 0.127.
    """
    course = SimpleNamespace(mean=np.array([[10 + 4 / 9 * 6]]), surface=np.array([[10.0]]),
                             core=np.array([[16.0]]))  # fmt: skip
    assert_allclose(core_share(course, 0.0, 100.0), 0.0)
    assert_allclose(core_share(course, 50.0, 100.0), 1.0)
    assert_allclose(core_share(course, 80.0, 100.0), 1.0)
    assert_allclose(core_share(course, 12.7, 100.0), 4 / 9, atol=1e-3)
    assert_allclose(core_share(course, 21.13, 100.0), 2 / 3, atol=1e-3)


@pytest.fixture(scope="module")
def post():
    answer = order(check_job(tomllib.loads(WORKSHOP.read_text("utf-8")) | {"calendar": DATES}))
    entry = Entry(dt.date(2028, 1, 1), "moisture", "post", 12.0, 1.0)
    _, subjects, _ = sorted_readings(answer, Spread(), [entry])
    times = np.arange(len(answer.frame.timbers["post"].course.line.days))
    return lambda spread: building(answer, spread, subjects, times)


def test_without_spread_it_is_the_solvers_own(post):
    made = post(Spread().without())
    wood = next(iter(made.woods.values()))
    drawn = made.drawn(np.empty((0, 3)))
    course = wood.timber.course
    found = moisture_drawn(wood, drawn, 1000.0, made.times)
    assert_allclose(found, np.repeat(course.core[USUAL][:, None], 3, axis=1))
    face = moisture_drawn(wood, drawn, 0.0, made.times)
    assert_allclose(face, np.repeat(course.surface[USUAL][:, None], 3, axis=1))


def test_what_is_off_comes_through_at_the_face_first(post):
    """Air 2 % wetter all year: whole at the face once heated, by and by at the core, not before."""
    made = post(Spread(alike=0.0))
    wood = next(iter(made.woods.values()))
    keys = [known.key for known in made.inputs]
    z = np.zeros((len(keys), 2))
    for row, key in enumerate(keys):
        if key.startswith("room") and key.endswith(("low", "high")):
            z[row, 1] = 2.0 / made.inputs[row].doubt.amount
    drawn, heated = made.drawn(z), made.line.marks["heated"]
    face, core = (moisture_drawn(wood, drawn, depth, made.times) for depth in (0.0, 1000.0))
    by_face, by_core = face[:, 1] - face[:, 0], core[:, 1] - core[:, 0]
    assert_allclose(by_face[: heated + 1], 0.0, atol=1e-12)
    assert_allclose(by_face[heated + 1 :], 2.0)
    assert_allclose(by_core[: heated + 1], 0.0, atol=1e-12)
    assert (np.diff(by_core) > -0.05).all()
    assert 0.5 < by_core[heated + 6] < by_core[-1] <= 2.0


def test_faster_drying_reads_drier_and_is_the_fast_band_at_one_doubling(post):
    made = post(Spread())
    wood = next(iter(made.woods.values()))
    at = [known.key for known in made.inputs].index("drying")
    z = np.zeros((len(made.inputs), 2))
    z[at, 1] = 1.0 / made.inputs[at].doubt.amount
    usual, fast = moisture_drawn(wood, made.drawn(z), 7.94, made.times).T
    course = wood.timber.course
    share = core_share(course, 7.94, min(wood.timber.width, wood.timber.depth))[2]
    assert_allclose(fast, course.surface[2] + share * (course.core[2] - course.surface[2]))
    assert (fast[1:] < usual[1:]).all()
    assert np.isfinite(particles.start(len(made.inputs), 4, 1)).all()
