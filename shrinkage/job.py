"""The job file: one TOML file a building, read and checked field by field.

Lengths are tape-measure text, moistures and humidities carry their percent sign. Every key, its
default and its meaning stands in a model below; `docs/job_file.md` lists them. What is read here
is only checked for itself; `shrinkage.frame` makes timbers and joints of it.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag, model_validator

from shrinkage.errors import ShrinkageError
from shrinkage.job_fields import (
    AnyPercent,
    Day,
    Division,
    HeartAt,
    LayoutLine,
    Length,
    LengthOrZero,
    Moisture,
    Name,
    OneLine,
    Pitch,
    Role,
    Section,
    Temperature,
    length_in,
)
from shrinkage.job_fields import Spec as Spec
from shrinkage.job_fields import read_section as read_section
from shrinkage.job_finish import FinishSpec
from shrinkage.job_foam import FoamSpec, HoldDownSpec
from shrinkage.job_sheet import SheetSpec
from shrinkage.job_site import MoistureMeterSpec, SiteSpec
from shrinkage.job_spread import SpreadSpec
from shrinkage.job_watch import WatchSpec
from shrinkage.section import Heart

BRANCHES = ("(by name)", "(stated)")
"""Names pydantic puts into the path of a mistake in a field that may be text or a table."""


class AirAt(Spec):
    """Room air at one end of the year."""

    temperature: Temperature
    humidity: AnyPercent


class RoomAir(Spec):
    """Room air stated for midwinter and midsummer."""

    winter: AirAt
    summer: AirAt


class AirSpec(Spec):
    """Where the building stands and what its rooms are like."""

    place: OneLine | None = None
    series: OneLine | None = None
    room: Annotated[
        Annotated[OneLine, Tag(BRANCHES[0])] | Annotated[RoomAir, Tag(BRANCHES[1])],
        Discriminator(lambda value: BRANCHES[isinstance(value, (dict, RoomAir))]),
    ] = "from outdoors"

    @model_validator(mode="after")
    def _one_outdoors(self) -> AirSpec:
        if (self.place is None) == (self.series is None):
            raise ShrinkageError(
                "accepted: either place (of the outdoor table) or series (a CSV or weather file)"
            )
        return self


class SpeciesSpec(Spec):
    """A species of the user's own."""

    radial: AnyPercent
    tangential: AnyPercent
    longitudinal: AnyPercent = 0.15
    fibre_saturation: AnyPercent = 30.0
    specific_gravity: float | None = None
    source: Name


class TimberSpec(Spec):
    """One timber by its role."""

    species: Name
    section: Section
    heart: HeartAt = Heart("unknown")
    moisture: Moisture = None
    wood_temperature: Temperature | None = None
    air: Literal["room", "outdoors"] = "room"
    section_factor: float = Field(default=1.0, ge=0.5, le=1.0)
    length: Length | None = None


class EaveSpec(Spec):
    """How the roof sits on the walls."""

    pitch: Pitch
    rafter_above_seat: Length | None = None
    rafter_housed: LengthOrZero = 0.0
    purlin_above_seat: Length | None = None
    layout: Literal["centre", "inner face", "outer face"] = "centre"
    panel_top: Literal["parallel", "square"] = "parallel"


class CornerSpec(Spec):
    """How far the moving wood at a corner reaches."""

    layout: LayoutLine = "inner face"


class FootSpec(Spec):
    """What the wall panels stand on."""

    panel_on: Literal["sill", "foundation", "hung"] = "sill"
    frame_on: Literal["sill", "foundation"] = "sill"


class CoveringSpec(Spec):
    """A layer between frame and panels."""

    name: Name
    on: Literal["walls", "roof"]
    thickness: Length
    dries: AnyPercent = 0.0
    swells_back: AnyPercent = 0.0
    species: Name | None = None
    heart: HeartAt = Heart("flat")
    moisture: Moisture = 12.0


class CalendarSpec(Spec):
    """The frame's dates; without it the answer runs from the day the panels go on to the driest."""

    sawn: Day
    cut: Day | None = None
    raised: Day
    enclosed: Day
    foamed: Day
    heated: Day
    years: int = Field(default=10, ge=1, le=50)


class MeterSpec(Spec):
    """A meter reading of a timber at one of the calendar's events."""

    timber: Role
    at: Literal["cut", "raised", "enclosed", "foamed", "heated"]
    reading: AnyPercent
    wood_temperature: Temperature | None = None


class PanelSpec(Spec):
    """The panels."""

    thickness: Length
    max_width: Annotated[float, length_in(99.9, "100 mm or more")]
    max_length: Length
    expansion: AnyPercent = 0.0


class AllowSpec(Spec):
    """Least gaps, tolerances and the plant's fraction."""

    keep_clear: LengthOrZero = 3.175
    cutting: LengthOrZero = 3.175
    frame: LengthOrZero = 3.175
    setting: LengthOrZero = 3.175
    add_tolerances: Literal["root-sum-square", "sum"] = "root-sum-square"
    fraction: Length = 3.175
    spline_fill: LengthOrZero = 3.175


class OpeningSpec(Spec):
    """A window or door, by the unit that goes in."""

    name: Name
    left: LengthOrZero
    foot: LengthOrZero = 0.0
    width: Length
    height: Length
    held_by: Literal["panel", "frame"] = "panel"


class WallSpec(Spec):
    """One wall, seen from outside, by its frame."""

    name: Name
    top: Literal["eave", "gable"]
    length: Length
    height: Length
    ends: tuple[Literal["laps", "butts", "free"], Literal["laps", "butts", "free"]]
    divide: Division = "even"
    opening: list[OpeningSpec] = Field(default=[])


class RoofSpec(Spec):
    """One slope of the roof."""

    name: Name
    length: Length
    slope: Length
    divide: Division = "even"


class Job(Spec):
    """A whole job file."""

    title: Name
    units: Literal["imperial", "metric"] = "imperial"
    air: AirSpec
    species: dict[Name, SpeciesSpec] = Field(default={})
    timber: dict[Role, TimberSpec]
    calendar: CalendarSpec | None = None
    metered: list[MeterSpec] = Field(default=[])
    meter: MoistureMeterSpec | None = None
    eave: EaveSpec
    corner: CornerSpec = CornerSpec()
    foot: FootSpec = FootSpec()
    covering: list[CoveringSpec] = Field(default=[])
    panel: PanelSpec
    foam: FoamSpec = FoamSpec()
    holddown: HoldDownSpec | None = None
    allow: AllowSpec = AllowSpec()
    spread: SpreadSpec | None = None
    watch: WatchSpec = WatchSpec()
    finish: FinishSpec = FinishSpec()
    sheet: SheetSpec | None = None
    site: SiteSpec = SiteSpec()
    wall: Annotated[list[WallSpec], Field(min_length=1)]
    roof: list[RoofSpec] = Field(default=[])

    @model_validator(mode="after")
    def _names_once(self) -> Job:
        named = [("wall or roof", [w.name for w in self.wall] + [r.name for r in self.roof])]
        named += [(f"opening in {w.name}", [o.name for o in w.opening]) for w in self.wall]
        for what, names in named:
            twice = {name for name in names if names.count(name) > 1}
            if twice:
                message = f"name {sorted(twice)[0]!r} given twice; accepted: a name for each {what}"
                raise ShrinkageError(message)
        return self

    @model_validator(mode="after")
    def _metered_needs_dates(self) -> Job:
        if self.metered and self.calendar is None:
            raise ShrinkageError("[[metered]] without [calendar]; accepted: both, or moisture in "
                                 "[timber] for the day the panels go on")  # fmt: skip
        return self

    @model_validator(mode="after")
    def _needed_timbers(self) -> Job:
        missing = [role for role in ("post", "plate", "rafter", "girt") if role not in self.timber]
        if missing:
            raise ShrinkageError(
                f"no [timber.{missing[0]}]; accepted: post, plate, rafter and girt at least"
            )
        if {self.foot.panel_on, self.foot.frame_on} == {"sill", "foundation"} and (
            "sill" not in self.timber
        ):
            raise ShrinkageError(
                f"no [timber.sill], but foot.panel_on is {self.foot.panel_on} and foot.frame_on is "
                f"{self.foot.frame_on}; accepted: a sill timber, or both on the same"
            )
        return self
