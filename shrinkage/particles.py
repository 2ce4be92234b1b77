"""Draws on their way through the readings: each reading forecast, then used.

The unknowns are standard normal, independent; a model turns them into what each reading should be.
Where the weights gather on few draws, the draws are taken anew by weight and moved (sequential
importance sampling with moves: Chopin, Biometrika 89 (2002), from memory); a reading that is too
sharp for one step is let in by degrees. Moves are proposed from the normal fitted to the draws and
accepted after Metropolis and Hastings.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shrinkage.bayes import (
    BAND,
    effective_size,
    log_likelihood,
    mixture_below,
    mixture_quantile,
    normalised,
    one_ahead,
    resample,
)
from shrinkage.spread import Floats, Points, normal_quantile

Model = Callable[[Floats], Floats]
"""From unknowns, shape (inputs, draws), to what each reading should be, shape (readings, draws)."""
ENOUGH = 400.0
"""Effective draws below which a 90 % band is not to be trusted: its ends rest on 20 draws each."""
HALF = 0.5
"""Share of effective draws below which draws are taken anew and moved."""
MOVES, STRIDE = 5, 0.8
"""Moves a time, and how far each leaves where it was: 0 stays, 1 forgets [-]."""
FAR = 1e-5
"""A reading with no more chance than this to lie so far out is explained by no draw [-]."""


@dataclass(frozen=True)
class Step:
    """One reading against the band forecast from the readings before it.

    Parameters
    ----------
    low, median, high : float
        The band, its reading error included [unit of the reading].
    score : float
        Where in the forecast the reading lies: standard normal where all is as assumed [-].
    used : bool
        Whether it was let in: no draw explains a reading that was not.
    """

    low: float
    median: float
    high: float
    score: float
    used: bool

    @property
    def is_inside(self) -> bool:
        """Whether the reading lies in the band."""
        return bool(abs(self.score) <= normal_quantile(np.array([BAND[2]]))[0])


@dataclass(frozen=True)
class Posterior:
    """What is known after the readings.

    Parameters
    ----------
    z : ndarray, shape (inputs, draws)
        Unknowns, standard normal before any reading [-].
    weights : ndarray, shape (draws,)
        They add up to 1 [-].
    steps : tuple of Step
        One a reading.
    moved : int
        How often the draws were taken anew and moved.
    accepted : float
        Least share of moves that was accepted; 1 without moves [-].
    """

    z: Floats
    weights: Floats
    steps: tuple[Step, ...]
    moved: int
    accepted: float

    @property
    def effective(self) -> float:
        """Effective number of draws."""
        return effective_size(self.weights)

    @property
    def is_trusted(self) -> bool:
        """Whether enough draws carry the answer."""
        return self.effective >= ENOUGH and self.accepted >= 0.1


def start(inputs: int, draws: int, seed: int) -> Floats:
    """Return quasi-random standard normal unknowns, shape (inputs, draws) [-]."""
    return normal_quantile(Points(inputs, seed).take(draws)) if inputs else np.empty((0, draws))


def follow(
    model: Model, observed: Floats, covariance: Floats, z: Floats, seed: int = 1
) -> Posterior:
    """Take readings in, one after another, each forecast from those before it.

    Parameters
    ----------
    model : callable
        What each reading should be, for unknowns of shape (inputs, draws).
    observed : ndarray, shape (readings,)
        What was read, in the order of time.
    covariance : ndarray, shape (readings, readings)
        Of the readings' errors.
    z : ndarray, shape (inputs, draws)
        From `start`.
    seed : int
        Of the moves.

    Returns
    -------
    Posterior
        The same for the same seed.
    """
    cloud = _Cloud(model, observed, covariance, z, np.random.default_rng(seed))
    steps = [cloud.take_in(reading) for reading in range(len(observed))]
    return Posterior(cloud.z, normalised(cloud.log), tuple(steps), cloud.moved, cloud.accepted)


class _Cloud:
    """The draws on their way through the readings."""

    def __init__(
        self, model: Model, observed: Floats, covariance: Floats, z: Floats,
        random: np.random.Generator,
    ) -> None:  # fmt: skip
        self.model, self.observed, self.covariance = model, observed, covariance
        self.z, self.random = z, random
        self.predicted = model(z) if len(observed) else np.empty((0, z.shape[1]))
        self.log = np.zeros(z.shape[1])
        self.known: list[int] = []
        self.moved, self.accepted = 0, 1.0

    def take_in(self, reading: int) -> Step:
        """Forecast a reading, then use it unless no draw explains it."""
        weights, value = normalised(self.log), self.observed[reading : reading + 1]
        means, deviation = self._ahead(self.predicted, reading)
        low, median, high = mixture_quantile(means, deviation, weights, BAND)
        below = mixture_below(value, means, deviation, weights)
        above = mixture_below(-value, -means, deviation, weights)
        side = -1.0 if below[0] < above[0] else 1.0
        tail = np.minimum(below, above)
        is_used = bool(2 * tail[0] > FAR)
        if is_used:
            self._let_in(reading)
            self.known.append(reading)
        score = -side * float(normal_quantile(tail)[0])
        return Step(float(low), float(median), float(high), score, is_used)

    def _ahead(self, predicted: Floats, reading: int) -> tuple[Floats, float]:
        return one_ahead(predicted, self.observed, self.covariance, self.known, reading)

    def _newest(self, predicted: Floats, reading: int) -> Floats:
        means, deviation = self._ahead(predicted, reading)
        return np.asarray(-0.5 * ((self.observed[reading] - means) / deviation) ** 2)

    def _let_in(self, reading: int) -> None:
        """Weigh the draws by a reading; by degrees, with moves between, where it is too sharp."""
        done = 0.0
        while done < 1.0:
            newest = self._newest(self.predicted, reading)
            part = self._part(newest, 1.0 - done)
            self.log = self.log + part * newest
            done = 1.0 if part >= 1.0 - done else done + part
            if done < 1.0 or self._size(self.log) < HALF:
                self._move(reading, done)

    def _size(self, log: Floats) -> float:
        return effective_size(normalised(log)) / len(log)

    def _part(self, newest: Floats, most: float) -> float:
        """Return how much of a reading leaves at least a third of the draws effective."""
        if self._size(self.log + most * newest) >= HALF / 1.5:
            return most
        low, high = 0.0, most
        for _ in range(30):
            middle = (low + high) / 2
            if self._size(self.log + middle * newest) >= HALF / 1.5:
                low = middle
            else:
                high = middle
        return max(low, 1e-6)

    def _target(self, predicted: Floats, reading: int, done: float) -> Floats:
        rows = np.asarray(self.known, dtype=np.intp)
        before = log_likelihood(
            predicted[rows], self.observed[rows], self.covariance[np.ix_(rows, rows)]
        )
        return np.asarray(before + done * self._newest(predicted, reading))

    def _move(self, reading: int, done: float) -> None:
        """Take the draws anew by weight and move each a few times."""
        weights = normalised(self.log)
        middle = self.z @ weights
        off = self.z - middle[:, None]
        spread = (off * weights) @ off.T + 1e-6 * np.eye(len(middle))
        root = np.asarray(np.linalg.cholesky(spread), dtype=np.float64)
        again = resample(weights, float(self.random.random()))
        self.z, self.predicted = self.z[:, again], self.predicted[:, again]
        self.log = np.zeros(len(again))
        target = self._target(self.predicted, reading, done)
        accepted = [self._step(middle, root, target, reading, done) for _ in range(MOVES)]
        self.moved += 1
        self.accepted = min(self.accepted, float(np.mean(accepted)))

    def _step(
        self, middle: Floats, root: Floats, target: Floats, reading: int, done: float
    ) -> float:
        """Move every draw once, `target` with it; return the share that was accepted."""
        keep = np.sqrt(1 - STRIDE**2)
        white = np.asarray(np.linalg.solve(root, self.z - middle[:, None]), dtype=np.float64)
        new_white = keep * white + STRIDE * self.random.standard_normal(white.shape)
        new = middle[:, None] + root @ new_white
        predicted = self.model(new)
        new_target = self._target(predicted, reading, done)

        # The proposal leaves the fitted normal as it is: what counts is prior over fit.
        prior = _half_square(self.z) - _half_square(new)
        fit = _half_square(white) - _half_square(new_white)
        ratio = new_target - target + prior - fit
        yes = np.log(self.random.random(len(ratio))) < ratio
        self.z = np.where(yes, new, self.z)
        self.predicted = np.where(yes, predicted, self.predicted)
        target[yes] = new_target[yes]
        return float(yes.mean())


def _half_square(z: Floats) -> Floats:
    return np.asarray(0.5 * np.einsum("id,id->d", z, z))
