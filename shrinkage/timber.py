"""One timber from the day the panels go on into service: how much of each dimension it loses.

Without a calendar the answer runs end to end: from the moisture the timber has on the day (green,
or metered) to the driest and the wettest month of the air it will live in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shrinkage.climate import AirYear
from shrinkage.errors import ShrinkageError
from shrinkage.movement import change
from shrinkage.section import Heart, Weights, width_weights
from shrinkage.species import Species

Grain = Literal["width", "depth", "length"]
State = Literal["driest", "usual", "wettest"]
Case = Literal["least", "estimate", "most"]
Floats = NDArray[np.float64]
STATES: tuple[State, ...] = ("driest", "usual", "wettest")
CASES: tuple[Case, ...] = ("least", "estimate", "most")

GREEN_NOTE = "green: nothing lost yet"


@dataclass(frozen=True)
class Timeline:
    """The times at which the movement of every layer of a joint is known.

    Parameters
    ----------
    days : ndarray, shape (times,)
        Days after sawing; the first is the day the panels go on. Mere numbers without a calendar.
    foamed : int
        Which of them is the day the foam goes in.
    last_year : int
        From which on they belong to the last year looked at.
    damp : ndarray, shape (times,)
        Where the room's air stands between its driest (0) and its wettest month (1) [-].
    marks : mapping of str to int
        Events by name.
    sawn : datetime.date or None
        The day days count from; None without a calendar.
    """

    days: Floats
    foamed: int
    last_year: int
    damp: Floats
    marks: Mapping[str, int]
    sawn: date | None = None


END_TO_END = Timeline(
    days=np.arange(4.0),
    foamed=0,
    last_year=1,
    damp=np.array([0.0, 0.0, 0.5, 1.0]),
    marks={"panels on": 0, "foamed": 0},
)
"""Without dates: the day itself, then the driest month, the year's mean and the wettest month."""


@dataclass(frozen=True)
class Course:
    """How a timber dries through its calendar.

    Parameters
    ----------
    line : Timeline
        The times.
    radial, tangential : ndarray, shape (bands, times)
        Area means of ``f(M) cos^2 phi`` and ``f(M) sin^2 phi`` [-], for a slow, the usual and a
        fast diffusion coefficient.
    mean, surface, core : ndarray, shape (bands, times)
        Moisture content [%].
    """

    line: Timeline
    radial: Floats
    tangential: Floats
    mean: Floats
    surface: Floats
    core: Floats


@dataclass(frozen=True)
class Timber:
    """A timber in its place.

    Parameters
    ----------
    role : str
        What it is in the frame, such as 'plate'.
    species : Species
        Its wood.
    width, depth : float
        Section [mm]: width across (horizontal), depth up and down or normal to the slope.
    heart : Heart
        Where the pith lies.
    moisture : float
        Moisture content on the day the panels go on [%].
    air : AirYear
        The air it will live in.
    section_factor : float
        Share of the table's cross-grain shrinkage that a heavy section shows in its first drying
        [-], 0.5 to 1. The seasons after that work at the table's rate.
    moisture_note : str
        Where the moisture on the day comes from.
    course : Course or None
        How it dries, where the job has a calendar.

    Raises
    ------
    ShrinkageError
        If a size, moisture or factor is impossible, or the timber is drier than its air will be.
    """

    role: str
    species: Species
    width: float
    depth: float
    heart: Heart
    moisture: float
    air: AirYear
    section_factor: float = 1.0
    moisture_note: str = GREEN_NOTE
    course: Course | None = None

    def __post_init__(self) -> None:
        if not (0 < self.width < np.inf and 0 < self.depth < np.inf):
            raise ShrinkageError(
                f"{self.role}: section {self.width:g} x {self.depth:g} mm; accepted: above zero"
            )
        if not 0.0 <= self.moisture <= self.species.most_moisture:
            raise ShrinkageError(
                f"{self.role}: moisture {self.moisture:g} %; accepted: 0 to "
                f"{self.species.most_moisture:.0f} % for {self.species.name}"
            )
        if self.moisture < self.air.low:
            raise ShrinkageError(
                f"{self.role}: moisture {self.moisture:g} % is below the {self.air.low:.1f} % of "
                f"the driest month ({self.air.name}): it could only swell; accepted: "
                f"{self.air.low:.1f} % or more, or check the reading"
            )
        if not 0.5 <= self.section_factor <= 1.0:
            raise ShrinkageError(
                f"{self.role}: section factor {self.section_factor:g}; accepted: 0.5 to 1"
            )

    def weights(self, grain: Grain) -> Weights:
        """Return the weight of radial shrinkage in the width or the depth."""
        across = width_weights(self.width, self.depth, self.heart)
        return across if grain == "width" else across.other()

    def total(self, grain: Grain, case: Case = "estimate") -> float:
        """Return shrinkage from green to oven-dry in one dimension [-].

        Parameters
        ----------
        grain : {'width', 'depth', 'length'}
            The dimension.
        case : {'least', 'estimate', 'most'}
            Which end of the bracket of ring directions.
        """
        if grain == "length":
            return self.species.s_l
        weights = self.weights(grain)
        radial, tangential = self.species.s_r, self.species.tangential
        by_weight = [w * radial + (1 - w) * tangential for w in (weights.low, weights.high)]
        if case == "estimate":
            return weights.estimate * radial + (1 - weights.estimate) * tangential
        return max(by_weight) if case == "most" else min(by_weight)

    def shrink(self, grain: Grain) -> Floats:
        """Return what a dimension has lost since the panels went on, in each season of service.

        The first drying to the driest month is scaled by the section factor; from there the
        seasons work at the full rate.

        Parameters
        ----------
        grain : {'width', 'depth', 'length'}
            The dimension.

        Returns
        -------
        ndarray, shape (3, 3)
            Fraction of the dimension on the day, positive shrinks [-]; rows `STATES`, columns
            `CASES`.
        """
        totals = np.array([self.total(grain, case) for case in CASES])
        seasons = np.array([[self.air.low], [self.air.mean], [self.air.high]])
        table_rate = change(totals, self.moisture, seasons, self.species.fibre_saturation)
        scale = 1.0 if grain == "length" else self.section_factor
        return np.asarray(table_rate - (1 - scale) * table_rate[0])

    def history(self, grain: Grain, line: Timeline = END_TO_END) -> Floats:
        """Return what a dimension has lost since the panels went on, through time.

        Parameters
        ----------
        grain : {'width', 'depth', 'length'}
            The dimension.
        line : Timeline
            The times; those of `course` where the timber has one.

        Returns
        -------
        ndarray, shape (bands, times, 3)
            Fraction of the dimension on the day, positive shrinks [-]; last axis `CASES`. One
            band without a calendar, three with.
        """
        if self.course is None:
            return self._following(grain, line)
        green = self._from_green(grain)[..., None] if self._ringed(grain) else self._by_case(grain)
        if grain != "length":
            # The first drying is the deepest the timber has been so far; what it swells back from
            # there, the seasons work at the table's rate.
            deepest = np.maximum.accumulate(green, axis=1)
            green = green - (1 - self.section_factor) * deepest
        day = green[:, :1]
        history = (green - day) / (1 - day)
        return np.ascontiguousarray(np.broadcast_to(history, (*history.shape[:2], len(CASES))))

    def _following(self, grain: Grain, line: Timeline) -> Floats:
        """Return the history of wood that follows its air: end to end, or a board in a calendar."""
        if line is END_TO_END:
            return np.concatenate([np.zeros((1, len(CASES))), self.shrink(grain)])[None]
        totals = np.array([self.total(grain, case) for case in CASES])
        level = self.air.low + line.damp * (self.air.high - self.air.low)
        level[: max(1, line.marks.get("heated", 0))] = self.moisture
        lost = change(totals, self.moisture, level[:, None], self.species.fibre_saturation)
        return np.asarray(lost[None])

    def _ringed(self, grain: Grain) -> bool:
        """Tell whether the local field can be used: the rings' place is known."""
        return grain != "length" and self.heart.kind not in ("free", "unknown")

    def _from_green(self, grain: Grain) -> Floats:
        """Return shrinkage from green where the pith is known, shape (bands, times) [-]."""
        course, radial, tangential = self.course, self.species.s_r, self.species.tangential
        assert course is not None
        if grain == "depth":
            radial, tangential = tangential, radial
        return np.asarray(radial * course.radial + tangential * course.tangential)

    def _by_case(self, grain: Grain) -> Floats:
        """Return shrinkage from green for each case, shape (bands, times, 3) [-]."""
        course = self.course
        assert course is not None
        totals = np.array([self.total(grain, case) for case in CASES])
        return np.asarray((course.radial + course.tangential)[..., None] * totals)


@dataclass(frozen=True)
class Sheet:
    """A sheet that is not timber, such as wallboard: its own movement, as its maker gives it.

    Parameters
    ----------
    role : str
        What it is.
    dry, swing : float
        Fraction of its thickness lost by the driest month, and regained by the wettest [-].

    Raises
    ------
    ShrinkageError
        If a fraction is not a number between -0.5 and 0.5.
    """

    role: str
    dry: float = 0.0
    swing: float = 0.0

    def __post_init__(self) -> None:
        for key, number in (("dry", self.dry), ("swing", self.swing)):
            if not -0.5 < number < 0.5:
                raise ShrinkageError(
                    f"{self.role}: {key} is {number!r}; accepted: a fraction from -0.5 to 0.5"
                )

    def shrink(self, grain: Grain) -> Floats:
        """Return what the thickness has lost since the panels went on, as a `Timber` does [-]."""
        seasons = self.dry - self.swing * np.array([[0.0], [0.5], [1.0]])
        return np.repeat(seasons, len(CASES), axis=1)

    def history(self, grain: Grain, line: Timeline = END_TO_END) -> Floats:
        """Return what the thickness has lost since the panels went on, following the room's air.

        Parameters
        ----------
        grain : {'width', 'depth', 'length'}
            Taken for the thickness whatever it says.
        line : Timeline
            The times.

        Returns
        -------
        ndarray, shape (1, times, 3)
            As `Timber.history`; nothing is lost before the foam is in [-].
        """
        seasons = self.dry - self.swing * line.damp
        seasons[: line.foamed + 1] = 0.0
        return np.repeat(seasons[None, :, None], len(CASES), axis=2)
