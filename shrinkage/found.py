"""As found: what to do about each gap as it was measured on site, and what it still has to close.

The tolerances of plant, frame and setting are spent: they are in the gap that was measured. What
remains is the closing from that day on and the error of the tape. The rules by which an answer is
chosen are common practice, no published source; docs/site.md lists them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from shrinkage.allowance import Allowance, Rules, allow
from shrinkage.calendar import Today
from shrinkage.chance import touching
from shrinkage.errors import ShrinkageError
from shrinkage.found_choice import Case, Choice, choose
from shrinkage.frame import Frame, build, opening_joint, ridge_joint, wall_joints
from shrinkage.joint import Joint
from shrinkage.measures import GapEdge, beside
from shrinkage.order import SIDES, Order
from shrinkage.sampled import Sample, plan, sample
from shrinkage.site_log import Entry
from shrinkage.spread import Spread, spread_of
from shrinkage.units import System

WITHIN_ERRORS = 2.0
"""A tape's tolerance in standard deviations, as `spread.Spread.tolerances` takes one."""


@dataclass(frozen=True)
class Found:
    """One gap as it was found.

    Parameters
    ----------
    edge : GapEdge
        Where.
    day : datetime.date
        When it was measured.
    readings : tuple of Entry
        At one or more places along it.
    today : Allowance
        The joint from that day on: its gap is the least that was read, its tolerance the tape's.
    touching : float
        Chance that wood touches panel if it is left as it is [-].
    choice : Choice
        What to do, and why.
    """

    edge: GapEdge
    day: date
    readings: tuple[Entry, ...]
    today: Allowance
    touching: float
    choice: Choice

    @property
    def gap(self) -> float:
        """The gap that was found, at its narrowest [mm]."""
        return self.today.gap

    @property
    def least(self) -> float:
        """Narrowest gap that does, from that day on [mm]."""
        return self.today.needed

    @property
    def most(self) -> float:
        """Widest gap that can be foamed when the foam is due [mm]."""
        return self.today.gap_most

    @property
    def closing(self) -> float:
        """The most it still closes [mm]."""
        return self.today.closing

    @property
    def estimate(self) -> float:
        """What it is expected to close by the driest time [mm]."""
        return self.today.driest.estimate


@dataclass(frozen=True)
class AsFound:
    """Every gap as it was found.

    Parameters
    ----------
    order : Order
        The job as ordered.
    found : tuple of Found
        In the order's sequence.
    moistures : dict of date to dict of str to (float, str)
        The timbers' own readings that were used, by day and role: corrected [%], and how.
    problems : tuple of str
        Readings that could not be used, and why.
    """

    order: Order
    found: tuple[Found, ...]
    moistures: dict[date, dict[str, tuple[float, str]]]
    problems: tuple[str, ...]


def as_found(
    order: Order, entries: Iterable[Entry], draws: int | None = None, system: System | None = None
) -> AsFound:
    """Answer every gap that was measured.

    A gap measured on several days is answered for the last of them. Moisture readings of the same
    day, or of up to `site.fresh` days before, stand in place of the job's.

    Parameters
    ----------
    order : Order
        The answer to the job.
    entries : iterable of Entry
        From `measures.read_measures` or the site log.
    draws : int, optional
        For the chance of touching, instead of the spread's own.
    system : {'imperial', 'metric'}, optional
        Of the reasons; the job's own units otherwise.

    Returns
    -------
    AsFound
        One answer a gap.

    Raises
    ------
    ShrinkageError
        If no gap was measured, or a day is before the frame was raised.
    """
    entries = list(entries)
    gaps = _gaps(order, [entry for entry in entries if entry.kind == "gap"])
    if not gaps:
        raise ShrinkageError("no gap was measured; accepted: at least one, at a panel's edge")
    known = {GapEdge(panel, side).place for panel in order.panels for side in SIDES}
    problems = [
        f"{entry.source or entry.day}: no panel edge {entry.place!r} in this job; set aside"
        for entry in entries if entry.kind == "gap" and entry.place not in known
    ]  # fmt: skip
    found: list[Found] = []
    moistures = {}
    for day in sorted({readings[0].day for _, readings in gaps}):
        metered = [entry for entry in entries if entry.kind == "moisture"]
        fresh, error, wrong = _fresh(order.frame, metered, day)
        moistures[day] = fresh
        problems += wrong
        site = _Site(order, Today(day, fresh), error, draws, system or order.frame.job.units)
        found += [site.answer(edge, reads) for edge, reads in gaps if reads[0].day == day]
    place = {edge.place: number for number, (edge, _) in enumerate(gaps)}
    found.sort(key=lambda one: place[one.edge.place])
    return AsFound(order, tuple(found), moistures, tuple(dict.fromkeys(problems)))


def _gaps(order: Order, entries: list[Entry]) -> list[tuple[GapEdge, list[Entry]]]:
    """Return each gap with its readings of the last day, both sides of a spline as one."""
    by_place: dict[str, list[Entry]] = {}
    for entry in entries:
        by_place.setdefault(entry.place, []).append(entry)
    gaps: dict[str, tuple[GapEdge, list[Entry]]] = {}
    for panel in order.panels:
        for side in SIDES:
            edge = GapEdge(panel, side)
            read = by_place.get(edge.place)
            if read is None:
                continue
            if neighbour := beside(order, panel, side):
                edge = GapEdge(neighbour, "left")
            gaps.setdefault(edge.place, (edge, []))[1].extend(read)
    return [
        (edge, [one for one in read if one.day == max(other.day for other in read)])
        for edge, read in gaps.values()
    ]


def _fresh(
    frame: Frame, metered: list[Entry], day: date
) -> tuple[dict[str, tuple[float, str]], float, list[str]]:
    """Return the timbers' readings for a day by role, the largest error of them, and problems."""
    fresh, problems, largest = {}, [], 0.0
    since = day - timedelta(days=frame.job.site.fresh)
    for role, timber in frame.timbers.items():
        read = [one for one in metered if one.role == role and since <= one.day <= day]
        if not read:
            continue
        values = [frame.meter.corrected(one.value, timber.species, one.temperature) for one in read]
        moistures = np.array([value.moisture for value in values])
        mean = float(moistures.mean())
        how = values[0].how if len(read) == 1 else (
            f"mean of {len(read)} readings, {moistures.min():.1f} to {moistures.max():.1f} %: "
            f"{mean:.1f} %; the first {values[0].how}"
        )  # fmt: skip
        try:
            replace(timber, moisture=mean, course=None)
        except ShrinkageError as error:
            problems.append(f"{read[0].source or day}: {error.message}; the job's own is used")
            continue
        fresh[role] = (mean, how)
        # A meter's error is shared by its readings and does not average out; what the pieces
        # differ by comes on top.
        errors = np.array([one.error for one in read])
        largest = max(largest, float(np.sqrt((errors**2).mean() + moistures.var())))
    return fresh, largest, problems


def joints_of(frame: Frame) -> Mapping[str, Joint]:
    """Return every joint a frame can have that moves, by kind and name."""
    job = frame.job
    walls = range(len(job.wall))
    joints = [joint for index in walls for joint in wall_joints(frame, index).values()]
    joints += [
        opening_joint(frame, index, number)
        for index in walls for number in range(len(job.wall[index].opening))
    ]  # fmt: skip
    joints += [ridge_joint(frame, index) for index in range(len(job.roof))]
    return {f"{joint.kind} {joint.name}": joint for joint in joints}


class _Site:
    """The building on one day: its joints from then on, each drawn once."""

    def __init__(
        self, order: Order, today: Today, error: float, draws: int | None, system: System
    ) -> None:
        self.order, self.day, self.draws, self.system = order, today.day, draws, system
        self.job = order.frame.job
        self.joints = joints_of(build(order.frame.document, today))
        base = spread_of(self.job, order.frame.document.source)
        if error:
            base = replace(base, moisture=replace(base.moisture, amount=error))
        self.spread: Spread = base
        self.samples: dict[tuple[str, float], Sample] = {}

    def answer(self, edge: GapEdge, readings: list[Entry]) -> Found:
        """Answer one gap."""
        ordered = edge.panel.edges[edge.side].allowance
        assert ordered is not None
        key = f"{ordered.joint.kind} {ordered.joint.name}"
        least = min(readings, key=lambda one: one.value)
        rules = replace(
            self.order.frame.rules, cutting=WITHIN_ERRORS * least.error, frame=0.0, setting=0.0
        )
        ready = allow(self.joints.get(key, ordered.joint), ordered.foam, rules)
        today = _with_gap(ready, least.value)
        share = touching(self._drawn(key, today, rules), least.value) if least.value > 0 else 1.0
        uneven = max(one.value for one in readings) - least.value
        site, most_trim = self.job.site, edge.across * self.job.site.most_trim / 100
        case = Case(
            today, rules, uneven, site.uneven, most_trim, site.most_pack, self.system
        )  # fmt: skip
        return Found(edge, self.day, tuple(readings), today, share, choose(case))

    def _drawn(self, key: str, today: Allowance, rules: Rules) -> Sample:
        found = self.samples.get((key, rules.cutting))
        if found is None:
            tape = replace(self.spread.tolerances, amount=1 / WITHIN_ERRORS, shape="normal")
            made = plan(today.joint, today.foam, rules, replace(self.spread, tolerances=tape))
            found = self.samples[key, rules.cutting] = sample(made, self.draws)
        return found


def _with_gap(ready: Allowance, gap: float) -> Allowance:
    """Return a joint's answer for the gap that was found instead of the one it would ask for."""
    return replace(ready, gap=gap, widest=ready.widest + gap - ready.gap)
