"""From a checked job file to the things the physics knows: air, timbers, stacks and joints."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass, field, replace

from shrinkage import details
from shrinkage.allowance import Rules
from shrinkage.calendar import (
    Calendar,
    Reading,
    Today,
    courses,
    green_moisture,
    timeline,
)
from shrinkage.climate import (
    AirYear,
    outdoors,
    regions,
    room_by_region,
    room_derived,
    room_stated,
)
from shrinkage.details import Covering, Footing, RoofSeat
from shrinkage.epw import air_year
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.fasteners import HoldDown, hold_down
from shrinkage.filling import Filling, filling, foam_of
from shrinkage.foam import Foam
from shrinkage.job import CoveringSpec, Job, RoomAir, SpeciesSpec, TimberSpec, WallSpec
from shrinkage.jobfile import Document, Source
from shrinkage.joint import Joint
from shrinkage.meter import Meter, meter_of
from shrinkage.species import Species, find
from shrinkage.timber import GREEN_NOTE, Sheet, Timber


@dataclass(frozen=True)
class Frame:
    """A building's frame, its air and its rules, ready for joints to be built.

    Parameters
    ----------
    document : Document
        The job it comes from.
    outdoors, room : AirYear
        The two airs.
    timbers : dict of str to Timber
        By role; 'tie' is the girt where the job gives none.
    wall_coverings, roof_coverings : tuple of Covering
        Layers between frame and panels.
    seat : RoofSeat
        How the roof sits on the walls.
    foam : Foam
        What fills the joints.
    rules : Rules
        Least gaps and tolerances.
    filling : Filling
        The foam as a material, and how it stands in the joints.
    hold_down : HoldDown or None
        What holds the roof panels down, if the job says.
    calendar : Calendar or None
        The frame's dates, if the job has them.
    notes : tuple of str
        What a reader should know of how the timbers dry.
    meter : Meter
        The job's moisture meter.
    """

    document: Document
    outdoors: AirYear
    room: AirYear
    timbers: dict[str, Timber]
    wall_coverings: tuple[Covering, ...]
    roof_coverings: tuple[Covering, ...]
    seat: RoofSeat
    foam: Foam
    rules: Rules
    filling: Filling
    hold_down: HoldDown | None = None
    calendar: Calendar | None = None
    notes: tuple[str, ...] = ()
    meter: Meter = field(default_factory=Meter)

    @property
    def job(self) -> Job:
        """The job file's contents."""
        return self.document.job

    @property
    def wall_covering(self) -> float:
        """Thickness of all layers between wall frame and panels [mm]."""
        return sum(covering.thickness for covering in self.wall_coverings)


def build(document: Document, today: Today | None = None) -> Frame:
    """Make a frame of a job.

    Parameters
    ----------
    document : Document
        From `jobfile.read_job` or `jobfile.check_job`.
    today : Today, optional
        A later day than the one the panels go on, to ask from.

    Returns
    -------
    Frame
        With every timber checked against its species and its air.

    Raises
    ------
    ShrinkageError
        Naming file, line and key.
    """
    job, source = document.job, document.source
    outside, room = _air(job, source)
    airs = {"outdoors": outside, "room": room}
    own = {name: own_species(name, spec, source) for name, spec in job.species.items()}
    meter = meter_of(job.meter, own, source)
    fresh = today.moistures if today else {}
    timbers: dict[str, Timber] = {
        role: _timber(role, spec, own, airs[spec.air], meter, fresh.get(role), source)
        for role, spec in job.timber.items()
    }
    calendar = _calendar(job, source)
    notes: tuple[str, ...] = ()
    if calendar is not None:
        timbers, notes = _dried(job, timbers, calendar, today, meter, outside, room, source)
    timbers.setdefault("tie", timbers["girt"])
    walls, roof = (
        tuple(_covering(i, spec, own, airs, source)
              for i, spec in enumerate(job.covering) if spec.on == place)
        for place in ("walls", "roof")
    )  # fmt: skip
    seat = _seat(job, timbers, roof, source)
    with source.at("foam"):
        foam, filled = foam_of(job.foam), filling(job.foam, job.panel.thickness)
    with source.at("holddown"):
        holds = hold_down(job.holddown, timbers, seat.pitch)
    return Frame(
        document=document,
        outdoors=outside,
        room=room,
        timbers=timbers,
        wall_coverings=walls,
        roof_coverings=roof,
        seat=seat,
        foam=foam,
        rules=_rules(job, source),
        filling=filled,
        hold_down=holds,
        calendar=calendar,
        notes=notes,
        meter=meter,
    )


def _calendar(job: Job, source: Source) -> Calendar | None:
    if job.calendar is None:
        return None
    spec = job.calendar
    with source.at("calendar"):
        return Calendar(
            spec.sawn, spec.cut or spec.raised, spec.raised, spec.enclosed, spec.foamed,
            spec.heated, spec.years,
        )  # fmt: skip


def _dried(
    job: Job, timbers: dict[str, Timber], calendar: Calendar, today: Today | None, meter: Meter,
    outside: AirYear, room: AirYear, source: Source,
) -> tuple[dict[str, Timber], tuple[str, ...]]:  # fmt: skip
    """Take the timbers through the calendar; return them with what a reader should know."""
    readings, fresh = [], today.moistures if today else {}
    for index, spec in enumerate(job.metered):
        if spec.timber not in timbers:
            with source.at("metered", index, "timber"):
                raise ShrinkageError(f"{spec.timber!r}; accepted: {', '.join(timbers)}")
        species = timbers[spec.timber].species
        moisture = meter.corrected(spec.reading, species, spec.wood_temperature).moisture
        readings.append(Reading(spec.timber, spec.at, moisture))
    for role, timber_spec in job.timber.items():
        if timber_spec.moisture is not None and role not in fresh:
            readings.append(Reading(role, "enclosed", timbers[role].moisture))
    if today:
        readings += [Reading(role, today.day, timbers[role].moisture) for role in fresh]
        with source.at("calendar"):
            calendar = calendar.on(today.day)
    line = timeline(calendar, room, today.day if today else None)
    with warnings.catch_warnings(record=True) as caught, source.at("calendar"):
        warnings.simplefilter("always", RangeWarning)
        found = courses(timbers, calendar, outside, line, tuple(readings))
    notes = [f"{role}: {green_moisture(timber.species)[1]}" for role, timber in timbers.items()]
    notes += [str(warning.message) for warning in caught]
    dried = {role: replace(timber, course=found[role]) for role, timber in timbers.items()}
    return dried, tuple(dict.fromkeys(notes))


def _air(job: Job, source: Source) -> tuple[AirYear, AirYear]:
    with source.at("air", "series" if job.air.series else "place"):
        if job.air.series:
            outside = air_year(source.folder / job.air.series, job.air.series)
        else:
            outside = outdoors(job.air.place or "")
    stated = job.air.room
    with source.at("air", "room"):
        if isinstance(stated, RoomAir):
            ends = [(at.temperature, at.humidity) for at in (stated.winter, stated.summer)]
            return outside, room_stated(ends[0], ends[1])
        if stated.startswith("from outdoors"):
            return outside, room_derived(outside, crowded=stated.endswith("crowded"))
        try:
            return outside, room_by_region(stated)
        except ShrinkageError:
            raise ShrinkageError(
                f"{stated!r}; accepted: from outdoors; from outdoors, crowded; "
                f"{'; '.join(regions())}; or winter and summer temperature and humidity"
            ) from None


def own_species(name: str, spec: SpeciesSpec, source: Source) -> Species:
    """Return a species of the user's own, as the job file gives it."""
    with source.at("species", name):
        return Species(
            name=name,
            s_r=spec.radial / 100,
            s_t=spec.tangential / 100,
            s_l=spec.longitudinal / 100,
            fibre_saturation=spec.fibre_saturation,
            gravity=spec.specific_gravity,
            source=spec.source,
            basis="given by the user",
        )


def _timber(
    role: str, spec: TimberSpec, own: dict[str, Species], air: AirYear, meter: Meter,
    fresh: tuple[float, str] | None, source: Source,
) -> Timber:  # fmt: skip
    with source.at("timber", role, "species"):
        species = find(spec.species, own)
        _ = species.tangential  # a table row without one must fail here, where the key is known
    moisture, note = species.fibre_saturation, GREEN_NOTE
    if fresh is not None:
        moisture, note = fresh
    elif spec.moisture is not None:
        found = meter.corrected(spec.moisture, species, spec.wood_temperature)
        moisture, note = found.moisture, found.how
    with source.at("timber", role, "moisture"):
        return Timber(
            role, species, spec.section[0], spec.section[1], spec.heart, moisture, air,
            spec.section_factor, note,
        )  # fmt: skip


def _covering(
    index: int,
    spec: CoveringSpec,
    own: dict[str, Species],
    airs: dict[str, AirYear],
    source: Source,
) -> Covering:
    if spec.species is None:
        sheet = Sheet(spec.name, spec.dries / 100, spec.swells_back / 100)
        return Covering(sheet, spec.thickness)
    with source.at("covering", index, "species"):
        species = find(spec.species, own)
    moisture = species.fibre_saturation if spec.moisture is None else spec.moisture
    with source.at("covering", index, "moisture"):
        # A board's width does not matter here: wide enough that its thickness is the lesser side.
        wood = Timber(
            spec.name, species, 10 * spec.thickness, spec.thickness, spec.heart, moisture,
            airs["room"], moisture_note=f"stated {moisture:g} %",
        )  # fmt: skip
        return Covering(wood, spec.thickness)


def _seat(
    job: Job, timbers: dict[str, Timber], coverings: tuple[Covering, ...], source: Source
) -> RoofSeat:
    spec, purlin = job.eave, timbers.get("purlin")
    with source.at("eave"):
        return RoofSeat(
            plate=timbers["plate"],
            rafter=timbers["rafter"],
            pitch=spec.pitch,
            housing=spec.rafter_housed,
            above_seat=spec.rafter_above_seat or timbers["rafter"].depth,
            purlin=purlin,
            purlin_above=(spec.purlin_above_seat or purlin.depth) if purlin else 0.0,
            coverings=coverings,
        )


def _rules(job: Job, source: Source) -> Rules:
    with source.at("allow"):
        return Rules(**job.allow.model_dump())


def footing(frame: Frame, wall: WallSpec) -> Footing:
    """Return what a wall's frame and panels stand on.

    The post is taken as long as the wall is high unless the job gives its length.
    """
    post = frame.job.timber["post"]
    return Footing(
        post=frame.timbers["post"],
        post_length=post.length or wall.height,
        sill=frame.timbers.get("sill"),
        panel_on=frame.job.foot.panel_on,
        frame_on=frame.job.foot.frame_on,
    )


def shoulder(frame: Frame) -> float:
    """Return the cross-grain wood from the girts' shoulder to a corner post's outer face [mm]."""
    width, line = frame.timbers["post"].width, frame.job.corner.layout
    if isinstance(line, str):
        return {"inner face": width, "centre": width / 2, "outer face": 0.0}[line]
    return line


def wall_joints(frame: Frame, index: int) -> dict[str, Joint]:
    """Build every joint a wall can have.

    Parameters
    ----------
    frame : Frame
        The building.
    index : int
        Which wall of the job, from 0.

    Returns
    -------
    dict of str to Joint
        Keyed by edge kind: 'eave' or 'gable', 'corner', 'sill', 'spline'.

    Raises
    ------
    ShrinkageError
        Naming file, line and key.
    """
    job, source = frame.job, frame.document.source
    wall, growth = job.wall[index], job.panel.expansion / 100
    stands = footing(frame, wall)
    with source.at("corner", "layout"):
        end = details.corner(
            f"{wall.name}, end", frame.timbers["post"], shoulder(frame), frame.timbers["girt"],
            frame.job.timber["girt"].length or wall.length, frame.wall_coverings,
        )  # fmt: skip
    top = _top_joint(frame, wall, stands)
    return {
        wall.top: details.with_expansion(top, growth, wall.height, details.UP),
        "corner": details.with_expansion(end, growth, wall.length / 2, details.OUT),
        "sill": details.foot(f"{wall.name}, foot", stands),
        "spline": details.spline(f"{wall.name}, between panels"),
    }


def _top_joint(frame: Frame, wall: WallSpec, stands: Footing) -> Joint:
    job, name = frame.job, f"{wall.name}, top"
    if wall.top == "gable":
        return details.gable(name, frame.seat, stands, frame.timbers["tie"], wall.length / 2)
    width = frame.timbers["plate"].width
    share = {"inner face": width, "centre": width / 2, "outer face": 0.0}[job.eave.layout]
    cut = job.eave.panel_top
    return details.eave(name, frame.seat, stands, share, cut, job.panel.thickness)


def opening_joint(frame: Frame, index: int, number: int) -> Joint:
    """Build the joint round one opening of a wall."""
    wall = frame.job.wall[index]
    spec = wall.opening[number]
    name = f"{wall.name}, {spec.name}"
    post = frame.timbers["post"]
    return details.opening(name, spec.held_by == "frame", post, spec.foot)


def ridge_joint(frame: Frame, index: int) -> Joint:
    """Build the joint at the top of one slope of the roof."""
    roof, seat = frame.job.roof[index], frame.seat
    half_span = roof.slope * math.cos(seat.pitch)
    return details.ridge(f"{roof.name}, ridge", seat, frame.timbers["tie"], half_span)
