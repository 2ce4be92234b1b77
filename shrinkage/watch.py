"""Watching: later readings against the band that was forecast, and the forecast they leave.

Readings are taken in by date. Each is held against the band forecast from the readings before it,
its own error included, and then used to weigh the draws of what is unknown: shrinkage of each
wood, section factor, speed of drying, where the hearts lie, the room's air. The weighted draws give
the new forecast of every gap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from shrinkage import particles
from shrinkage.bayes import BAND, weighted_quantile
from shrinkage.chance import Range
from shrinkage.errors import ShrinkageError
from shrinkage.order import Order
from shrinkage.site_log import KINDS, Entry, Kind, sort_out
from shrinkage.spread import Floats, Spread, spread_of
from shrinkage.watch_known import Known, known, weighted_range
from shrinkage.watch_model import (
    LEAST_ERROR,
    Building,
    Reading,
    Subject,
    around,
    building,
    covariance,
    day_of,
    expected,
    gap_subject,
    own_given,
    subject_of,
    timeline_of,
)

DRAWS = 4096
DRIFT, DRIFT_FROM = 1.96, 3
"""Score beyond which readings together drift (one in twenty by chance), and from how many on."""


@dataclass(frozen=True)
class Seen:
    """A reading and the band that was forecast for it from the readings before it.

    Parameters
    ----------
    reading : Reading
        What was read.
    step : particles.Step
        The band, where in it the reading lies, and whether it was used.
    """

    reading: Reading
    step: particles.Step

    @property
    def entry(self) -> Entry:
        """The log's own."""
        return self.reading.entry


@dataclass(frozen=True)
class GapForecast:
    """A gap through time, before any reading and after all of them.

    Parameters
    ----------
    place : str
        A panel edge, or a joint where none of its edges has been read.
    joint : str
        The joint's name.
    gap : float
        Ordered, on the day the panels go on [mm].
    before, after : ndarray, shape (3, times)
        5 %, median and 95 % of the gap [mm].
    least_before, least_after : Range
        Of the least gap ever left [mm].
    touching_before, touching_after : float
        Chance that wood ever touches panel [-].
    """

    place: str
    joint: str
    gap: float
    before: Floats
    after: Floats
    least_before: Range
    least_after: Range
    touching_before: float
    touching_after: float

    @property
    def narrower(self) -> float:
        """Width of the band of the least gap after the readings, as a share of that before [-]."""
        width = self.least_before.high - self.least_before.low
        return (self.least_after.high - self.least_after.low) / width if width else 1.0


@dataclass(frozen=True)
class Drift:
    """Readings of one kind that lie on one side together.

    Parameters
    ----------
    kind : str
        Of reading.
    count : int
        How many.
    score : float
        Their scores' sum over the root of their number: standard normal where all is as assumed,
        negative where they read less than forecast [-].
    """

    kind: Kind
    count: int
    score: float


@dataclass(frozen=True)
class Watch:
    """What the readings say.

    Parameters
    ----------
    order : Order
        The job's answer.
    days : ndarray, shape (times,)
        After sawing, of every forecast.
    seen : tuple of Seen
        Readings by date.
    gaps : tuple of GapForecast
        Gaps that were read, then one joint of each other kind.
    known : tuple of Known
        What was unknown, before and after.
    drifts : tuple of Drift
        Kinds of reading that drift.
    problems : tuple of str
        Readings that could not be used, by row.
    effective : float
        Effective number of draws that carry the answer.
    is_trusted : bool
        Whether they are enough.
    """

    order: Order
    days: Floats
    seen: tuple[Seen, ...]
    gaps: tuple[GapForecast, ...]
    known: tuple[Known, ...]
    drifts: tuple[Drift, ...]
    problems: tuple[str, ...]
    effective: float
    is_trusted: bool

    @property
    def sawn(self) -> date:
        """The day days count from."""
        sawn = timeline_of(self.order).sawn
        assert sawn is not None
        return sawn

    @property
    def alarms(self) -> tuple[Seen, ...]:
        """Readings outside the band forecast before them."""
        return tuple(one for one in self.seen if not one.step.is_inside)


def sorted_readings(
    order: Order, spread: Spread, entries: Sequence[Entry]
) -> tuple[list[Reading], list[Subject], list[str]]:
    """Sort a log's entries by date and find what each was read on.

    Parameters
    ----------
    order : Order
        The answer to the job.
    spread : Spread
        What is not known.
    entries : sequence of Entry
        Of the log.

    Returns
    -------
    readings : list of Reading
        By date, then in the log's order.
    subjects : list of Subject
        The places they were read at.
    problems : list of str
        One an entry that cannot be used; the rest is kept.
    """
    line = timeline_of(order)
    places: dict[tuple[Kind, str], int] = {}
    subjects: list[Subject] = []
    readings: list[Reading] = []
    kept, problems = sort_out(entries)
    for number, entry in enumerate(kept, start=1):
        try:
            day = day_of(line, entry.day)
            key = (entry.kind, entry.place)
            if key not in places:
                subjects.append(subject_of(order, spread, entry))
                places[key] = len(subjects) - 1
        except ShrinkageError as error:
            row = entry.source or f"reading {number}"
            problems.append(f"{row}: {entry.kind} at {entry.place}: {error.message}; set aside")
            continue
        readings.append(Reading(entry, places[key], day, corrected(order, entry)))
    readings.sort(key=lambda reading: reading.day)
    return readings, subjects, problems


def corrected(order: Order, entry: Entry) -> float:
    """Return a reading with the meter's corrections, a length as it is [mm or %]."""
    if entry.kind != "moisture":
        return entry.value
    frame = order.frame
    species = frame.timbers[entry.role].species
    return frame.meter.corrected(entry.value, species, entry.temperature).moisture


def watch(
    order: Order, entries: Sequence[Entry], draws: int | None = None, problems: Sequence[str] = ()
) -> Watch:
    """Hold a log's readings against the forecast, and forecast anew.

    Parameters
    ----------
    order : Order
        The answer to a job with a calendar.
    entries : sequence of Entry
        From the site log.
    draws : int, optional
        Of the unknowns; as many as the job's spread asks for, 4096 at most, otherwise.
    problems : sequence of str
        What reading the log has found already.

    Returns
    -------
    Watch
        The same for the same log.

    Raises
    ------
    ShrinkageError
        If the job has no calendar, or no entry can be used.
    """
    spread = spread_of(order.frame.job, order.frame.document.source)
    readings, subjects, wrong = sorted_readings(order, spread, entries)
    if not readings:
        reasons = "; ".join([*problems, *wrong]) or "it is empty"
        raise ShrinkageError(f"site log: no reading can be used ({reasons}); accepted: one or more")
    everything = subjects + _others(order, spread, subjects)
    line = timeline_of(order)
    made = building(order, spread, everything, around(line, readings))
    count = draws or min(DRAWS, spread.draws)
    z = particles.start(len(made.inputs), count, spread.seed)
    found = particles.follow(
        lambda z: expected(made, readings, z),
        np.array([reading.value for reading in readings]), covariance(made, readings), z,
        spread.seed,
    )  # fmt: skip
    seen = tuple(Seen(*both) for both in zip(readings, found.steps, strict=True))
    whole = building(order, spread, everything, np.arange(len(line.days)))
    return Watch(
        order=order,
        days=line.days,
        seen=seen,
        gaps=_forecasts(whole, seen, expected(made, readings, found.z), z, found),
        known=known(made, z, found),
        drifts=drifts(seen),
        problems=(*problems, *wrong),
        effective=found.effective,
        is_trusted=found.is_trusted,
    )


def _others(order: Order, spread: Spread, subjects: Sequence[Subject]) -> list[Subject]:
    """Return one joint of each kind that no reading stands at."""
    there = {subject.joint.kind for subject in subjects if subject.joint and subject.kind == "gap"}
    found = []
    for answer in order.allowances:
        if answer.joint.layers and answer.status != "bearing" and answer.joint.kind not in there:
            there.add(answer.joint.kind)
            found.append(gap_subject(order, spread, answer.joint.name, answer))
    return found


def _forecasts(
    whole: Building, seen: Sequence[Seen], should: Floats, z: Floats, found: particles.Posterior
) -> tuple[GapForecast, ...]:
    """Return every gap through time, before and after the readings."""
    before, after = _tracks(whole, z), _tracks(whole, found.z)
    even = np.full(z.shape[1], 1 / z.shape[1])
    # One more unknown for each draw, even and in an order of its own: how the panel was set.
    shuffled = np.random.default_rng(7).permutation(z.shape[1])
    setting = particles.start(1, z.shape[1], 11)[0][shuffled]
    out = []
    for number, subject in enumerate(whole.subjects):
        if number not in before:
            continue
        rows = [i for i, one in enumerate(seen) if one.reading.subject == number and one.step.used]
        errors = np.array([max(seen[i].entry.error, LEAST_ERROR) for i in rows])
        read = np.array([seen[i].reading.value for i in rows])
        mean, deviation = own_given(subject.own, errors, read[:, None] - should[rows])
        old = before[number] + subject.own * setting
        new = after[number] + mean + deviation * setting
        least_old, least_new = old.min(axis=0), new.min(axis=0)
        out.append(
            GapForecast(
                subject.place, subject.joint_name, subject.base,
                weighted_quantile(old, even, BAND), weighted_quantile(new, found.weights, BAND),
                weighted_range(least_old, even), weighted_range(least_new, found.weights),
                float(np.mean(least_old <= 0)), float((least_new <= 0) @ found.weights),
            )
        )  # fmt: skip
    return tuple(out)


def _tracks(whole: Building, z: Floats) -> dict[int, Floats]:
    """Return every gap through time, shape (times, draws), by its subject's number [mm]."""
    drawn = whole.drawn(z)
    return {
        number: whole.track(number, drawn)
        for number, subject in enumerate(whole.subjects)
        if subject.kind == "gap"
    }


def drifts(seen: Sequence[Seen]) -> tuple[Drift, ...]:
    """Return kinds of reading whose scores lie on one side more than chance would have it.

    Where all is as assumed, scores of one-step-ahead forecasts are independent and standard normal
    (Dawid, J. R. Statist. Soc. A 147 (1984), from memory), so their sum over the root of their
    number is too.

    Parameters
    ----------
    seen : sequence of Seen
        Readings by date.
    """
    out = []
    for kind in KINDS:
        scores = [one.step.score for one in seen if one.entry.kind == kind and one.step.used]
        together = sum(scores) / math.sqrt(max(len(scores), 1))
        if len(scores) >= DRIFT_FROM and abs(together) >= DRIFT:
            out.append(Drift(kind, len(scores), together))
    return tuple(out)
