"""The calendar: what has happened to every timber by the day the panels go on, and what is to come.

sawn -> cut -> raised -> enclosed -> foamed -> heated -> years in service. Until the building is
heated the air is that of yard and site (outdoors, under cover); after that it is the room's. All
faces are open until the panels go on; then the faces behind panels are covered. Every timber of a
frame, at a slow, the usual and a fast diffusion coefficient, is dried in one call.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from shrinkage import drying
from shrinkage.climate import AirYear
from shrinkage.errors import ShrinkageError
from shrinkage.species import Species
from shrinkage.timber import Course, Timber, Timeline

Floats = NDArray[np.float64]

EVENTS = ("sawn", "cut", "raised", "enclosed", "foamed", "heated")
BANDS = (0.5, 1.0, 2.0)
"""Slow, usual and fast diffusion coefficient: a factor of 2 either way is honest."""
USUAL = 1
MID_MONTH = np.array([15.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0,
                      349.5])  # fmt: skip
"""Days into the year at which a monthly mean is taken to hold."""
COVERED = {
    "post": ("right",), "plate": ("right",), "girt": ("right",), "sill": ("right", "bottom"),
    "rafter": ("top",), "purlin": ("top",), "tie": (),
}  # fmt: skip
"""Faces behind panels, or on the foundation: 'right' is a timber's outer face."""
GREEN_ASSUMED = 80.0
"""Green moisture of a wood the tables do not have [%]: assumed."""
HEART_SHARE = 2 / 3
"""Share of heartwood in a heavy timber: assumed."""
ROOM_TEMP = 20.0
"""Room temperature where only its moisture is known [deg C]: assumed."""
SEASON_END = (5, 1)
"""Month and day on which a heating season is over: assumed."""


@dataclass(frozen=True)
class Calendar:
    """The dates of a frame.

    Parameters
    ----------
    sawn, cut, raised, enclosed, foamed, heated : datetime.date
        Logs sawn, joints cut, frame raised, panels on, joints foamed, heating on.
    years : int
        Years in service to look ahead, 1 to 50.

    Raises
    ------
    ShrinkageError
        If they are out of order, naming the two.
    """

    sawn: dt.date
    cut: dt.date
    raised: dt.date
    enclosed: dt.date
    foamed: dt.date
    heated: dt.date
    years: int = 10

    def __post_init__(self) -> None:
        for first, then in (*pairwise(EVENTS[:5]), ("enclosed", "heated")):
            if getattr(self, then) < getattr(self, first):
                raise ShrinkageError(
                    f"{then} on {getattr(self, then)} is before {first} on {getattr(self, first)}; "
                    f"accepted: {', '.join(EVENTS[:5])} in that order, heated after enclosed"
                )
        if not 1 <= self.years <= 50:
            raise ShrinkageError(f"years {self.years}; accepted: 1 to 50")

    def day(self, event: str | dt.date) -> float:
        """Return an event, or any date, in days after sawing."""
        when = event if isinstance(event, dt.date) else getattr(self, event)
        return float((when - self.sawn).days)

    def on(self, day: dt.date) -> Calendar:
        """Return the calendar as a gap found on a day bends it: panels on by then, foam not yet in.

        Raises
        ------
        ShrinkageError
            If the day is before the raising.
        """
        if day < self.raised:
            raise ShrinkageError(
                f"measured on {day}, before raised on {self.raised}; accepted: a day from then on"
            )
        return replace(self, enclosed=min(self.enclosed, day), foamed=max(self.foamed, day))

    @property
    def season_end(self) -> dt.date:
        """The end of the first heating season."""
        end = dt.date(self.heated.year, *SEASON_END)
        return end if end > self.heated else end.replace(year=end.year + 1)


@dataclass(frozen=True)
class Reading:
    """A meter reading of a timber at an event.

    Parameters
    ----------
    role : str
        Which timber.
    event : str or datetime.date
        When: an event of the calendar, or any other day.
    moisture : float
        Corrected for the temperature of the wood [%].
    """

    role: str
    event: str | dt.date
    moisture: float


@dataclass(frozen=True)
class Today:
    """A day on site, from which the rest of the way is asked.

    Parameters
    ----------
    day : datetime.date
        Which day.
    moistures : dict of str to (float, str)
        Read that day, by role: corrected [%], and where it comes from; they replace the job's.
    """

    day: dt.date
    moistures: dict[str, tuple[float, str]]


def timeline(calendar: Calendar, room: AirYear, since: dt.date | None = None) -> Timeline:
    """Return the dates every history is given at, from the day the panels go on.

    Parameters
    ----------
    calendar : Calendar
        The frame's dates.
    room : AirYear
        The air in service.
    since : datetime.date, optional
        A later day to count from; what was due before then is taken for that day's.

    Returns
    -------
    Timeline
        Monthly, and on every event.
    """
    start = calendar.day(since or "enclosed")
    stop = max(calendar.day("heated"), start) + 365.0 * calendar.years
    due = {
        "panels on": start,
        "foamed": calendar.day("foamed"),
        "heated": calendar.day("heated"),
        "first heating season over": calendar.day(calendar.season_end),
    }
    marks = {name: max(start, day) for name, day in due.items()}
    days = np.unique([*np.arange(start, stop, 365.0 / 12), stop, *marks.values()])
    days = days[days <= max(stop, marks["foamed"])]
    return Timeline(
        days=days,
        foamed=int(np.searchsorted(days, marks["foamed"])),
        last_year=int(np.searchsorted(days, stop - 365.0)),
        damp=_damp(room, days + _year_day(calendar.sawn)),
        marks={name: int(np.searchsorted(days, day)) for name, day in marks.items()},
        sawn=calendar.sawn,
    )


def _year_day(date: dt.date) -> float:
    return float(date.timetuple().tm_yday - 1)


def _damp(room: AirYear, clock: Floats) -> Floats:
    """Return where the room's air stands between its driest and its wettest month [-]."""
    level = np.interp(clock, MID_MONTH, room.emc, period=365.0)
    width = room.high - room.low
    return (level - room.low) / width if width else np.zeros_like(level)


def year_air(year: AirYear) -> drying.Air:
    """Return a year of air as the solver takes it, repeated; its clock starts on 1 January."""
    temp = ROOM_TEMP if year.temp is None else year.temp
    return drying.air(MID_MONTH, year.emc, temp, repeat_year=True)


def green_moisture(species: Species) -> tuple[float, str]:
    """Return the green moisture of a heavy timber and what it rests on.

    Two thirds heartwood and one third sapwood (assumed) of GTR-190 Table 4-1; 80 % (assumed) where
    the table does not have the wood.

    Returns
    -------
    moisture : float
        Mean moisture content [%].
    source : str
        In words.
    """
    heart, sap = species.green_heart, species.green_sap
    if heart is None and sap is None:
        return GREEN_ASSUMED, f"assumed {GREEN_ASSUMED:g} %: Table 4-1 does not have the wood"
    heart = sap if heart is None else heart
    sap = heart if sap is None else sap
    mean = HEART_SHARE * float(heart or 0) + (1 - HEART_SHARE) * float(sap or 0)
    return mean, f"two thirds heartwood of Table 4-1 (assumed): {mean:.0f} %"


def _pith(timber: Timber) -> tuple[float, float]:
    """Return a pith for the solver; a far one stands for straight rings."""
    far, kind = 1e6, timber.heart.kind
    if kind == "pith":
        return timber.heart.x, timber.heart.y
    if kind == "rift":
        return far, far
    if kind in ("flat", "quarter"):
        weight = timber.weights("width").estimate
        return (far, 0.0) if weight > 0.5 else (0.0, far)
    return 0.0, 0.0


def courses(
    timbers: Mapping[str, Timber],
    calendar: Calendar,
    outdoors: AirYear,
    line: Timeline,
    readings: tuple[Reading, ...] = (),
) -> dict[str, Course]:
    """Dry all timbers of a frame through the calendar.

    Parameters
    ----------
    timbers : mapping of str to Timber
        By role; each goes on in its own air once the building is heated.
    calendar : Calendar
        The dates.
    outdoors : AirYear
        The air of yard and site.
    line : Timeline
        Dates to report, from `timeline`.
    readings : tuple of Reading
        Meter readings at events; the field is brought to each, see `drying.rescale`.

    Returns
    -------
    dict of str to Course
        Local shrink integrals and moistures by role, shape (bands, dates).

    Raises
    ------
    ShrinkageError
        If a species has no specific gravity.
    """
    roles = list(timbers)
    everyone = [timbers[role] for role in roles for _ in BANDS]
    before, after = (_sections(roles, everyone, covered) for covered in (False, True))
    start = _year_day(calendar.sawn)
    field: drying.MoistureField | Floats = np.array(
        [green_moisture(timber.species)[0] for timber in everyone]
    )
    parts: list[drying.Drying] = []
    for now, then, is_after, around in _phases(calendar, line, outdoors, everyone, readings):
        dates = np.unique([*line.days[(line.days >= now) & (line.days <= then)], then])
        part = drying.dry(after if is_after else before, around, field, dates + start,
                          start=now + start)  # fmt: skip
        parts.append(part)
        field = _metered(part.state, after if is_after else before, roles, calendar, then,
                         readings, around.at(np.array([then + start]))[0, :, 0])  # fmt: skip
    return _by_role(roles, parts, line, start)


def _phases(
    calendar: Calendar, line: Timeline, outdoors: AirYear, everyone: list[Timber],
    readings: tuple[Reading, ...],
) -> list[tuple[float, float, bool, drying.Air]]:  # fmt: skip
    """Return (from, to, panels on, air) of each stretch between events and readings."""
    outside = year_air(outdoors)
    rooms = [year_air(timber.air) for timber in everyone]
    inside = drying.Air(
        rooms[0].time, np.concatenate([air.values for air in rooms], axis=1), rooms[0].period
    )
    enclosed, heated, stop = calendar.day("enclosed"), calendar.day("heated"), float(line.days[-1])
    events = (*EVENTS, *(reading.event for reading in readings))
    edges = sorted({0.0, *map(calendar.day, events), stop})
    return [
        (now, then, now >= enclosed, inside if now >= heated else outside)
        for now, then in pairwise(edges)
    ]


def _sections(roles: list[str], everyone: list[Timber], covered: bool) -> drying.Sections:
    faces = []
    for role in roles:
        shut = COVERED.get(role, ()) if covered else ()
        faces += [[face for face in drying.FACES if face not in shut]] * len(BANDS)
    for timber in everyone:
        if timber.species.gravity is None:
            raise ShrinkageError(
                f"{timber.role}: {timber.species.name} has no specific gravity, which drying "
                "needs; accepted: another species, or one of your own with specific_gravity"
            )
    return drying.sections(
        [timber.width for timber in everyone],
        [timber.depth for timber in everyone],
        [float(timber.species.gravity or 0) for timber in everyone],
        faces,
        pith=[_pith(timber) for timber in everyone],
        fibre_saturation=[timber.species.fibre_saturation for timber in everyone],
        d_scale=np.tile(BANDS, len(roles)),
    )


def _metered(
    state: drying.MoistureField, timbers: drying.Sections, roles: list[str], calendar: Calendar,
    day: float, readings: tuple[Reading, ...], emc: Floats,
) -> drying.MoistureField:  # fmt: skip
    """Bring the field to the readings taken on this day, if any."""
    due = {r.role: r.moisture for r in readings if calendar.day(r.event) == day}
    if not due:
        return state
    read = np.repeat([due.get(role, np.nan) for role in roles], len(BANDS))
    return drying.rescale(state, timbers, read, np.broadcast_to(emc, read.shape))


def _by_role(
    roles: list[str], parts: list[drying.Drying], line: Timeline, start: float
) -> dict[str, Course]:
    """Gather the phases' results on the timeline."""
    days = np.concatenate([part.days for part in parts]) - start
    # On the day of a reading two parts meet: the later one starts from what was read.
    at = np.searchsorted(days, line.days + 1e-9) - 1

    def of(name: str) -> Floats:
        joined = np.concatenate([getattr(part, name) for part in parts], axis=1)[:, at]
        return np.asarray(joined.reshape(len(roles), len(BANDS), len(at)))

    found = {name: of(name) for name in ("radial", "tangential", "mean", "surface", "core")}
    return {
        role: Course(line, *(found[name][number] for name in found))
        for number, role in enumerate(roles)
    }
