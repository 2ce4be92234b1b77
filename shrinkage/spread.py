"""What is not known: every input of the chain with its spread, its source, and the draws.

A spread is a distribution about the value the order is worked out with. All spreads at zero give
that value back. Draws are quasi-random (scrambled Sobol points), seeded, and the same whatever the
size of the batch they are taken in.
"""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from shrinkage.errors import ShrinkageError

if TYPE_CHECKING:
    from shrinkage.job import Job
    from shrinkage.jobfile import Source

Floats = NDArray[np.float64]
Shape = Literal["normal", "lognormal", "uniform", "triangular", "below"]
SHAPES: tuple[Shape, ...] = ("normal", "lognormal", "uniform", "triangular", "below")
CHUNK = 16384
"""Draws worked at a time: small enough for the processor's cache, a power of two for the points."""
MOST_DRAWS = 2**24
CERTAINTIES = (50.0, 99.99)


def need(extra: str, package: str) -> ShrinkageError:
    """Return the one-line message for a package that an optional part needs and does not find."""
    return ShrinkageError(
        f"{package} is not installed; this part needs it: pip install 'shrinkage[{extra}]'"
    )


@dataclass(frozen=True)
class Doubt:
    """The spread of one input about the value the order uses.

    Parameters
    ----------
    amount : float
        Standard deviation of a normal or lognormal, half the width of a uniform or triangular,
        the whole width of 'below', which lies evenly from the value down [unit].
    shape : {'normal', 'lognormal', 'uniform', 'triangular', 'below'}
        The distribution.
    unit : str
        Of the amount; '-' for a share of the value itself.
    what : str
        In words.
    source : str
        Where the amount comes from.
    basis : str
        How it was read: 'memory', 'assumed' or 'job file'.

    Raises
    ------
    ShrinkageError
        If the amount is negative or not a number, or the shape has no such name.
    """

    amount: float
    shape: Shape = "normal"
    unit: str = "-"
    what: str = "input"
    source: str = "no published source"
    basis: str = "assumed"

    def __post_init__(self) -> None:
        if not 0 <= self.amount < math.inf:
            raise ShrinkageError(f"spread of {self.what}: {self.amount!r}; accepted: 0 or more")
        if self.shape not in SHAPES:
            near = difflib.get_close_matches(str(self.shape), SHAPES, n=1, cutoff=0.5)
            hint = f" (nearest: {near[0]})" if near else ""
            raise ShrinkageError(
                f"spread of {self.what}: distribution {self.shape!r} is not known{hint}; "
                f"accepted: {', '.join(SHAPES)}"
            )
        if self.shape == "lognormal" and self.unit != "-":
            raise ShrinkageError(
                f"spread of {self.what}: lognormal spreads a share of a value; accepted here: "
                f"{', '.join(shape for shape in SHAPES if shape != 'lognormal')}"
            )

    @property
    def is_normal(self) -> bool:
        """Whether a draw is a plain function of a standard normal one."""
        return self.shape in ("normal", "lognormal")

    def of_normal(self, z: Floats) -> Floats:
        """Return deviations from the value for standard normal draws [unit]."""
        if self.shape == "normal":
            return np.asarray(self.amount * z)
        if self.shape == "lognormal":  # its median is the value
            return np.asarray(np.expm1(math.sqrt(math.log1p(self.amount**2)) * z))
        from scipy.special import ndtr

        return self.of_uniform(np.asarray(ndtr(z)))

    def of_uniform(self, u: Floats) -> Floats:
        """Return deviations from the value for draws between 0 and 1 [unit]."""
        if self.shape == "uniform":
            return np.asarray(self.amount * (2 * u - 1))
        if self.shape == "below":
            return np.asarray(-self.amount * u)
        if self.shape == "triangular":
            left = np.sqrt(2 * np.minimum(u, 0.5)) - 1
            right = 1 - np.sqrt(2 * np.minimum(1 - u, 0.5))
            return np.asarray(self.amount * np.where(u < 0.5, left, right))
        return self.of_normal(normal_quantile(u))


HANDBOOK = "Wood Handbook, FPL-GTR-190, ch. 4"


@dataclass(frozen=True)
class Spread:
    """What spreads, and how the answer is asked for.

    Parameters
    ----------
    species : Doubt
        R and T of a piece of wood about the table's value, a share of it [-].
    alike : float
        Correlation between two pieces of one species, 0 to 1: what they share is drawn once [-].
    radial_tangential : float
        Correlation of R and T in one piece, -1 to 1 [-].
    along_grain : Doubt
        Shrinkage along the grain, green to oven-dry [%].
    heart : Doubt
        Place of a pith that is given or taken at the centre, each way, as a share of the side [-].
    rings, unknown_rings : Doubt
        Angle of the rings where it is named (flat, quarter, rift), and where nothing or only 'free
        of heart' is known [deg].
    section_factor_low : float
        The section factor lies evenly between this and the job's own, where that is higher [-].
    green : Doubt
        Mean moisture of a timber called green, down from fibre saturation [%].
    moisture : Doubt
        A meter reading [%].
    air_low, air_high : Doubt
        Moisture that wood settles at in the driest and the wettest month [%].
    drying : Doubt
        The diffusion coefficient, in doublings: 1 is a factor of 2 [doublings].
    tolerances : Doubt
        Cutting, frame and setting errors, as a share of the tolerance allowed for each [-].
    foam : Doubt
        What the foam takes, gives back and follows, each a share of its value [-].
    one_log : tuple of tuple of str
        Roles cut from one log: their R and T are one draw.
    certainty : float
        Of never touching [%], 50 to 99.99.
    draws, seed : int
        How many, and where the points start.

    Raises
    ------
    ShrinkageError
        Naming the setting, its value and what is accepted.
    """

    species: Doubt = Doubt(0.15, "normal", "-", "radial and tangential shrinkage",
                            f"{HANDBOOK}: about 15 % between pieces", "memory")  # fmt: skip
    alike: float = 0.5
    radial_tangential: float = 0.5
    along_grain: Doubt = Doubt(0.05, "uniform", "%", "shrinkage along the grain",
                                f"{HANDBOOK}: 0.1 to 0.2 %", "memory")  # fmt: skip
    heart: Doubt = Doubt(0.10, "normal", "-", "where the heart lies, share of the side")
    rings: Doubt = Doubt(10.0, "normal", "deg", "angle of the rings, named")
    unknown_rings: Doubt = Doubt(45.0, "uniform", "deg", "angle of the rings, not known")
    section_factor_low: float = 0.6
    green: Doubt = Doubt(4.0, "below", "%", "moisture of a timber called green")
    moisture: Doubt = Doubt(2.0, "normal", "%", "meter reading")
    air_low: Doubt = Doubt(1.0, "normal", "%", "wood in the driest month")
    air_high: Doubt = Doubt(1.5, "normal", "%", "wood in the wettest month")
    drying: Doubt = Doubt(0.5, "normal", "doublings", "speed of drying",
                           "a factor of 2 is taken as two standard deviations")  # fmt: skip
    tolerances: Doubt = Doubt(0.5, "normal", "-", "error, share of the tolerance allowed",
                               "a tolerance is taken as two standard deviations")  # fmt: skip
    foam: Doubt = Doubt(0.15, "normal", "-", "what the foam takes")
    one_log: tuple[tuple[str, ...], ...] = ()
    certainty: float = 95.0
    draws: int = 65536
    seed: int = 1

    def __post_init__(self) -> None:
        low, high = CERTAINTIES
        if not low <= self.certainty <= high:
            raise ShrinkageError(f"certainty {self.certainty:g} %; accepted: {low:g} to {high:g} %")
        for key, least in (("radial_tangential", -1.0), ("alike", 0.0)):
            if not least <= getattr(self, key) <= 1:
                raise ShrinkageError(
                    f"correlation {key} {getattr(self, key):g}; accepted: {least:g} to 1"
                )
        if not 0.5 <= self.section_factor_low <= 1:
            raise ShrinkageError(
                f"section_factor_low {self.section_factor_low:g}; accepted: 0.5 to 1"
            )
        if not 16 <= self.draws <= MOST_DRAWS:
            raise ShrinkageError(f"draws {self.draws}; accepted: 16 to {MOST_DRAWS}")
        if not 0 <= self.seed < 2**63:
            raise ShrinkageError(f"seed {self.seed}; accepted: 0 or more")
        named = [role for log in self.one_log for role in log]
        if len(named) != len(set(named)):
            raise ShrinkageError(f"one_log {self.one_log}; accepted: each timber once at most")

    @property
    def doubts(self) -> dict[str, Doubt]:
        """Every spread by its key."""
        found = {key: getattr(self, key) for key in self.__dataclass_fields__}
        return {key: value for key, value in found.items() if isinstance(value, Doubt)}

    def without(self, *keys: str) -> Spread:
        """Return the same with some spreads at zero; all of them where none is named.

        Parameters
        ----------
        keys : str
            Of `doubts`, or 'section_factor'.
        """
        still = keys or (*self.doubts, "section_factor")
        changes: dict[str, Any] = {
            key: replace(doubt, amount=0.0) for key, doubt in self.doubts.items() if key in still
        }
        if "section_factor" in still:
            changes["section_factor_low"] = 1.0
        return replace(self, **changes)


SHARES = {"species", "heart", "tolerances", "foam"}


def spread_of(job: Job, source: Source) -> Spread:
    """Return the spread a job asks for: its ``[spread]`` table and its meter's over the defaults.

    Parameters
    ----------
    job : Job
        The job file's contents.
    source : Source
        Where it came from.

    Raises
    ------
    ShrinkageError
        Naming file, line and key.
    """
    base = Spread()
    given = job.spread.model_fields_set if job.spread else ()
    stated = {key: getattr(job.spread, key) for key in given}
    if job.meter and job.meter.error is not None:
        stated.setdefault("moisture", job.meter.error)
    shapes = stated.pop("shapes", {})
    changes: dict[str, Any] = {}
    for key in {**stated, **shapes}:
        with source.at("spread", *([key] if key in stated else ["shapes", key])):
            default = getattr(base, key, None)
            if not isinstance(default, Doubt):
                if key in shapes:
                    raise ShrinkageError(f"{key!r}; accepted: {', '.join(base.doubts)}")
                changes[key] = stated[key]
                continue
            amount = stated.get(key, default.amount)
            scale = 0.01 if key in SHARES and key in stated else 1.0
            shape = shapes.get(key, default.shape)
            changes[key] = replace(
                default, amount=amount * scale, shape=shape, source="the job file",
                basis="job file",
            )  # fmt: skip
    with source.at("spread"):
        return replace(base, **changes)


# Acklam's rational approximation of the normal quantile in its middle part (from memory; checked
# against scipy's in the tests: 2e-9), four times faster than the exact one, which does the tails.
_NUM = (-3.969683028665376e01, 2.209460984245205e02, -2.759285104469687e02, 1.383577518672690e02,
        -3.066479806614716e01, 2.506628277459239e00)  # fmt: skip
_DEN = (-5.447609879822406e01, 1.615858368580409e02, -1.556989798598866e02, 6.680131188771972e01,
        -1.328068155288572e01, 1.0)  # fmt: skip
_MIDDLE = 0.475
_NEAREST = 2.0**-32


def normal_quantile(u: Floats) -> Floats:
    """Return the standard normal quantile of draws between 0 and 1, to about 1e-9.

    Parameters
    ----------
    u : ndarray
        From 0 to 1; nearer than 2e-10 to either end counts as that far [-].

    Returns
    -------
    ndarray
        Of the same shape [standard deviations].
    """
    from scipy.special import ndtri

    if u.ndim > 1:  # row by row stays in the processor's cache
        return np.stack([normal_quantile(row) for row in u])
    q = u - 0.5
    r = q * q
    num, den = _NUM[0] * r, _DEN[0] * r
    for a, b in zip(_NUM[1:-1], _DEN[1:-1], strict=True):
        num += a
        num *= r
        den += b
        den *= r
    num += _NUM[-1]
    num *= q
    den += _DEN[-1]
    num /= den
    tails = np.flatnonzero(np.abs(q, out=q) > _MIDDLE)
    num[tails] = ndtri(np.clip(u[tails], _NEAREST, 1 - _NEAREST))
    return num


class Points:
    """Scrambled Sobol points, handed out in order; the same whatever the batches.

    Parameters
    ----------
    dimensions : int
        Inputs that spread.
    seed : int
        Where the scrambling starts.
    plain : bool
        Pseudo-random instead, to compare with.
    """

    def __init__(self, dimensions: int, seed: int, plain: bool = False) -> None:
        self.dimensions = dimensions
        self._random = np.random.default_rng(seed) if plain else None
        if plain or not dimensions:
            return
        try:
            from scipy.stats import qmc
        except ImportError:
            raise need("review", "scipy") from None
        self._sobol = qmc.Sobol(dimensions, scramble=True, rng=seed)

    def take(self, count: int) -> Floats:
        """Return the next points, shape (dimensions, count), from 0 to below 1."""
        if not self.dimensions:
            return np.empty((0, count))
        if self._random is not None:
            return np.asarray(self._random.random((count, self.dimensions)).T.copy())
        if self._sobol.num_generated == 0 and count & (count - 1):
            # scipy warns of a first batch that is no power of two; the points are the same.
            first = self._sobol.random(1)
            rest = self._sobol.random(count - 1) if count > 1 else first[:0]
            points = np.concatenate([first, rest])
        else:
            points = self._sobol.random(count)
        return np.ascontiguousarray(points.T)


@lru_cache(maxsize=3)
def kept_points(dimensions: int, seed: int, count: int) -> Floats:
    """Return points that a page asks for again and again, kept between two moves of a slider."""
    points = Points(dimensions, seed).take(count)
    points.setflags(write=False)
    return points
