"""What is read on site, as the drawn building gives it: gaps, sizes and moistures by date.

One set of draws serves every timber and joint of a building, so that a reading of one says
something of all others that share its species, its air or its speed of drying. What no draw knows
(how a panel was set, how a timber was sawn, how a meter reads this wood) is an error that all
readings of one place share.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from shrinkage.allowance import WHICH_TOLERANCES, Allowance
from shrinkage.draw_plan import Columns, Input, Plan, plan
from shrinkage.drawn import Drawn
from shrinkage.errors import ShrinkageError
from shrinkage.joint import Joint, Layer
from shrinkage.moisture_drawn import moisture_drawn
from shrinkage.order import SIDES, Order
from shrinkage.sampled import path
from shrinkage.site_log import Entry, Kind
from shrinkage.spread import Floats, Spread
from shrinkage.timber import Grain, Timber, Timeline
from shrinkage.woods_drawn import Wood, make_wood

ACROSS = (1.0, 0.0)


@dataclass(frozen=True)
class Subject:
    """One place that can be read.

    Parameters
    ----------
    kind : {'gap', 'moisture', 'width', 'depth'}
        What is read there.
    place : str
        As the log names it.
    base : float
        What the order has on the day the panels go on; 0 for a moisture [mm or %].
    own : float
        Standard deviation of what all readings of the place share and no draw knows [mm or %].
    joint : Joint or None
        What closes the gap, or takes from the size.
    timber : Timber or None
        Whose moisture is read.
    """

    kind: Kind
    place: str
    base: float
    own: float
    joint: Joint | None = None
    timber: Timber | None = None

    @property
    def joint_name(self) -> str:
        """What the order calls the joint."""
        return self.joint.name if self.joint else self.place

    @property
    def timbers(self) -> list[Timber]:
        """Every timber it depends on."""
        if self.joint is None:
            return [self.timber] if self.timber else []
        return [layer.wood for layer in self.joint.layers if isinstance(layer.wood, Timber)]


def gap_subject(order: Order, spread: Spread, place: str, answer: Allowance) -> Subject:
    """Return a gap as it was ordered, with the doubt of cutting, frame and setting."""
    rules = order.frame.rules
    errors = [getattr(rules, name) for name in WHICH_TOLERANCES[answer.joint.kind]]
    own = spread.tolerances.amount * math.hypot(*errors)
    return Subject("gap", place, answer.gap, own, answer.joint)


def subject_of(order: Order, spread: Spread, entry: Entry) -> Subject:
    """Return what an entry of the log was read on.

    Parameters
    ----------
    order : Order
        The answer to the job.
    spread : Spread
        What is not known.
    entry : Entry
        The reading.

    Raises
    ------
    ShrinkageError
        If the job has no such place, or nothing of the frame moves there.
    """
    if entry.kind == "gap":
        return gap_subject(order, spread, entry.place, _answer(order, entry.place))
    timber = order.frame.timbers.get(entry.role)
    if timber is None:
        _unknown(f"{entry.kind} of {entry.role!r}", entry.role, list(order.frame.timbers))
    assert timber is not None
    if entry.kind == "moisture":
        return Subject("moisture", entry.place, 0.0, spread.moisture.amount, timber=timber)
    grain: Grain = entry.kind
    size = timber.width if grain == "width" else timber.depth
    layer = Layer(grain, timber, grain, size, ACROSS)
    lone = Joint("corner", entry.place, (layer,), ACROSS)
    return Subject(entry.kind, entry.place, size, order.frame.job.watch.sawn, lone)


def _answer(order: Order, place: str) -> Allowance:
    """Return the joint at a panel edge, or the one that is called so itself."""
    by_name = {answer.joint.name: answer for answer in order.allowances}
    for panel in order.panels:
        for side in SIDES:
            edge = panel.edges[side].allowance
            if edge is not None:
                by_name.setdefault(f"{panel.mark}, {side}", edge)
    found = by_name.get(place)
    if found is None:
        _unknown(f"gap at {place!r}", place, list(by_name))
    assert found is not None
    if not found.joint.layers or found.status == "bearing":
        raise ShrinkageError(
            f"gap at {place!r}: no wood that dries moves this joint; accepted: a joint of the order"
            " that closes or opens"
        )
    return found


def _unknown(what: str, name: str, there: Sequence[str]) -> None:
    near = difflib.get_close_matches(name, there, n=1, cutoff=0.5)
    hint = f" (nearest: {near[0]})" if near else ""
    few = ", ".join(there[:8]) + (f" and {len(there) - 8} more" if len(there) > 8 else "")
    raise ShrinkageError(f"{what}: the job has no such place{hint}; accepted: {few}")


@dataclass(frozen=True)
class Building:
    """Places of a building made ready to be drawn together, at some times of its calendar.

    Parameters
    ----------
    line : Timeline
        The calendar's times.
    times : ndarray of int
        Which of them are followed; the first is the day the panels go on.
    pins : float
        Depth of a meter's pins [mm].
    subjects : tuple of Subject
        The places.
    plans : tuple of Plan or None
        For each place with a joint.
    woods : dict of int to Wood
        Every timber by identity.
    inputs : tuple of Input
        One for each row of draws; the same whatever the times.
    """

    line: Timeline
    times: NDArray[np.intp]
    pins: float
    subjects: tuple[Subject, ...]
    plans: tuple[Plan | None, ...]
    woods: dict[int, Wood]
    inputs: tuple[Input, ...]

    def drawn(self, z: Floats) -> Drawn:
        """Return standard normal unknowns, shape (inputs, draws), as the sampler takes them."""
        from scipy.special import ndtr

        normal = [known.normal for known in self.inputs]
        rows = [row if is_normal else ndtr(row) for row, is_normal in zip(z, normal, strict=True)]
        return Drawn(rows, normal, {}, z.shape[1], {})

    def track(self, number: int, drawn: Drawn) -> Floats:
        """Return one place at each time that is followed, shape (times, draws) [mm or %]."""
        subject, made = self.subjects[number], self.plans[number]
        if made is not None:
            return np.asarray(subject.base - path(made, drawn))
        wood = self.woods[id(subject.timber)]
        return moisture_drawn(wood, drawn, self.pins, self.times)


def building(
    order: Order, spread: Spread, subjects: Sequence[Subject], times: NDArray[np.intp]
) -> Building:
    """Make places ready to be drawn together.

    Parameters
    ----------
    order : Order
        The answer to a job with a calendar.
    spread : Spread
        What is not known.
    subjects : sequence of Subject
        The places; the same ones in the same order give the same inputs.
    times : ndarray of int
        Times of the calendar to follow; the first is 0.
    """
    columns, woods = Columns(), {}
    line = timeline_of(order)
    for subject in subjects:
        for timber in subject.timbers:
            if id(timber) not in woods:
                woods[id(timber)] = make_wood(timber, spread, columns, line, times)

    def ready(joint: Joint) -> Plan:
        own = {id(layer.wood): woods[id(layer.wood)] for layer in joint.layers
               if isinstance(layer.wood, Timber)}  # fmt: skip
        bare = plan(joint, order.frame.foam, order.frame.rules, spread)
        return replace(bare, woods=own, times=times)

    plans = tuple(ready(subject.joint) if subject.joint else None for subject in subjects)
    return Building(line, times, order.frame.job.watch.pins, tuple(subjects), plans, woods,
                    tuple(columns.inputs))  # fmt: skip


def timeline_of(order: Order) -> Timeline:
    """Return the times of a job's calendar.

    Raises
    ------
    ShrinkageError
        If the job has none.
    """
    course = order.frame.timbers["post"].course
    if course is None:
        raise ShrinkageError(
            "the job has no [calendar], so nothing says when a reading should be what; accepted: "
            "a job with its dates (sawn, raised, enclosed, foamed, heated)"
        )
    return course.line


def day_of(line: Timeline, when: date) -> float:
    """Return a date in days after sawing.

    Raises
    ------
    ShrinkageError
        If it lies before the panels went on, or after the last day looked ahead to.
    """
    assert line.sawn is not None
    day = float((when - line.sawn).days)
    first, last = (date.fromordinal(line.sawn.toordinal() + int(at)) for at in line.days[[0, -1]])
    if day < line.days[0]:
        raise ShrinkageError(
            f"{when} is before the panels went on; accepted: {first} (calendar.enclosed) or later"
        )
    if day > line.days[-1]:
        raise ShrinkageError(
            f"{when} is after the last day looked ahead to; accepted: up to {last}, or more "
            "calendar.years"
        )
    return day


@dataclass(frozen=True)
class Reading:
    """One reading, ready to be compared.

    Parameters
    ----------
    entry : Entry
        As the log has it.
    subject : int
        Number of its place.
    day : float
        After sawing [days].
    value : float
        With the meter's corrections [mm or %].
    """

    entry: Entry
    subject: int
    day: float
    value: float


def around(line: Timeline, readings: Sequence[Reading]) -> NDArray[np.intp]:
    """Return the times of a calendar that lie about the readings, and the first."""
    after = np.searchsorted(line.days, [reading.day for reading in readings])
    return np.unique([0, *after, *np.maximum(after - 1, 0)])


def expected(made: Building, readings: Sequence[Reading], z: Floats) -> Floats:
    """Return what each reading should be, without its own errors, linear between the times.

    Parameters
    ----------
    made : Building
        At the times `around` the readings.
    readings : sequence of Reading
        What was read.
    z : ndarray, shape (inputs, draws)
        Standard normal unknowns [-].

    Returns
    -------
    ndarray, shape (readings, draws)
        Unit of each reading [mm or %].
    """
    drawn, days = made.drawn(z), made.line.days[made.times]
    out = np.empty((len(readings), z.shape[1]))
    for number in {reading.subject for reading in readings}:
        track = made.track(number, drawn)
        for row, reading in enumerate(readings):
            if reading.subject == number:
                at = float(np.interp(reading.day, days, np.arange(len(days))))
                low = min(int(at), len(days) - 1)
                high = min(low + 1, len(days) - 1)
                out[row] = track[low] + (at - low) * (track[high] - track[low])
    return out


LEAST_ERROR = 0.1
"""A reading is no better than this [mm or %]."""


def covariance(made: Building, readings: Sequence[Reading]) -> Floats:
    """Return the covariance of the readings' errors: their own, and what a place shares.

    Returns
    -------
    ndarray, shape (readings, readings)
        Squared units of the readings.
    """
    errors = np.array([max(reading.entry.error, LEAST_ERROR) for reading in readings])
    places = np.array([reading.subject for reading in readings], dtype=np.intp)
    own = np.array([made.subjects[place].own for place in places])
    same = places[:, None] == places[None, :]
    return np.asarray(np.diag(errors**2) + same * np.outer(own, own))


def own_given(
    own: float, errors: Floats, off: Floats
) -> tuple[Floats, float]:  # fmt: skip
    """Return what a place's readings say of what they share, for each draw.

    Normal prior and normal errors: precisions add up.

    Parameters
    ----------
    own : float
        Standard deviation before [mm].
    errors : ndarray, shape (readings,)
        Of each reading [mm].
    off : ndarray, shape (readings, draws)
        Readings less what they should be [mm].

    Returns
    -------
    mean : ndarray, shape (draws,)
        Of what they share [mm].
    deviation : float
        The same for all draws [mm].
    """
    precision = 1 + own**2 * float(np.sum(errors**-2.0))
    mean = own**2 * (errors**-2.0 @ off) / precision
    return np.asarray(mean), own / math.sqrt(precision)
