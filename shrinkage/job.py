"""The job file: one TOML file a building, read and checked field by field.

Lengths are tape-measure text, moistures and humidities carry their percent sign. Every key, its
default and its meaning stands in a model below; `docs/job_file.md` lists them. What is read here
is only checked for itself; `shrinkage.frame` makes timbers and joints of it.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    PlainValidator,
    Tag,
    model_validator,
)

from shrinkage import units
from shrinkage.errors import ShrinkageError
from shrinkage.section import HEART_KINDS, Heart

LONGEST_MM = 100_000.0
"""No timber or wall of a house is longer than this [mm]; a slip of the decimal point is."""


def _length_in(low: float, what_low: str) -> BeforeValidator:
    def read(value: Any) -> float:
        mm = units.length(value)
        if not low < mm < LONGEST_MM:
            raise ShrinkageError(f"length: {value!r}; accepted: {what_low} and under 100 m")
        return mm

    return BeforeValidator(read)


def _percent_in(low: float, high: float) -> BeforeValidator:
    def read(value: Any) -> float:
        number = units.percent(value)
        if not low <= number <= high:
            raise ShrinkageError(f"percentage: {value!r}; accepted: {low:g} % to {high:g} %")
        return number

    return BeforeValidator(read)


def read_section(value: Any) -> tuple[float, float]:
    """Read a section such as ``7-1/2 in x 7-1/2 in`` or ``8 x 10 in``: width and depth [mm]."""
    accepted = "width x depth, such as 7-1/2 in x 7-1/2 in"
    text = units.plain_marks(value) if isinstance(value, str) else ""
    parts = [part.strip() for part in re.split(r"\s*[x×]\s*", text)]
    if len(parts) != 2:
        raise ShrinkageError(f"section: cannot read {value!r}; accepted: {accepted}")
    if re.fullmatch(r"[\d\s./-]+", parts[0]):  # "8 x 10 in": the unit said once stands for both
        parts[0] += " " + re.sub(r"^[\d\s./-]+", "", parts[1])
    width, depth = (units.length(part, "section") for part in parts)
    if not (0 < width < 2000 and 0 < depth < 2000):
        accepted += ", each above 0 and under 2 m"
        raise ShrinkageError(f"section: {value!r}; accepted: {accepted}")
    return width, depth


def _heart(value: Any) -> Heart:
    accepted = f"{', '.join(HEART_KINDS)}, or {{pith = [across, up]}} from the section's centre"
    if isinstance(value, str) and value in HEART_KINDS:
        return Heart(value)  # type: ignore[arg-type]
    if isinstance(value, dict) and set(value) == {"pith"}:
        place = value["pith"]
        if isinstance(place, list) and len(place) == 2:
            return Heart("pith", *(units.length(part, "pith") for part in place))
    raise ShrinkageError(f"heart: cannot read {value!r}; accepted: {accepted}")


def _moisture(value: Any) -> float | None:
    if value == "green":
        return None
    try:
        return units.percent(value, "moisture")
    except ShrinkageError:
        message = f"moisture: cannot read {value!r}; accepted: green, or a percentage such as 19 %"
        raise ShrinkageError(message) from None


Widths = Literal["even", "full"] | tuple[float | None, ...]


def _division(value: Any) -> Widths:
    accepted = 'even, full, or a list of widths from the left, one of which may be "rest"'
    if value in ("even", "full"):
        return value  # type: ignore[no-any-return]
    if not isinstance(value, list) or not value or value.count("rest") > 1:
        raise ShrinkageError(f"divide: cannot read {value!r}; accepted: {accepted}")
    widths = tuple(None if part == "rest" else units.length(part, "divide") for part in value)
    if any(width is not None and width <= 0 for width in widths):
        raise ShrinkageError(f"divide: {value!r}; accepted: {accepted}, each above 0")
    return widths


def _day(value: Any) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        message = f"date: cannot read {value!r}; accepted: a day such as 2027-03-01"
        raise ShrinkageError(message) from None


def _layout_line(value: Any) -> str | float:
    if value in ("inner face", "centre", "outer face"):
        return str(value)
    try:
        return units.length(value, "layout")
    except ShrinkageError:
        raise ShrinkageError(
            f"layout: cannot read {value!r}; accepted: inner face, centre, outer face, or the "
            "length from the post's outer face to the girt's shoulder"
        ) from None


def _one_line(value: str) -> str:
    # Control characters break tables and terminals, and a workbook refuses them.
    if any(unicodedata.category(letter) == "Cc" for letter in value):
        raise ShrinkageError(f"{value!r}; accepted: text on one line, without control characters")
    return value


Length = Annotated[float, _length_in(0.0, "above 0")]
LengthOrZero = Annotated[float, _length_in(-1e-9, "0 or more")]
AnyPercent = Annotated[float, _percent_in(0.0, 100.0)]
Temperature = Annotated[float, BeforeValidator(units.temperature)]
Pitch = Annotated[float, BeforeValidator(units.roof_pitch)]
Section = Annotated[tuple[float, float], BeforeValidator(read_section)]
Division = Annotated[Widths, PlainValidator(_division)]
LayoutLine = Annotated[str | float, PlainValidator(_layout_line)]
Role = Literal["post", "plate", "rafter", "girt", "sill", "tie", "purlin"]
Day = Annotated[date, BeforeValidator(_day)]
HeartAt = Annotated[Heart, BeforeValidator(_heart)]
Moisture = Annotated[float | None, BeforeValidator(_moisture)]
Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_one_line)]


BRANCHES = ("(by name)", "(stated)")
"""Names pydantic puts into the path of a mistake in a field that may be text or a table."""


class Spec(BaseModel):
    """A table of the job file: unknown keys refused, nothing changed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True,
                              allow_inf_nan=False)  # fmt: skip


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

    place: str | None = None
    series: str | None = None
    room: Annotated[
        Annotated[str, Tag(BRANCHES[0])] | Annotated[RoomAir, Tag(BRANCHES[1])],
        Discriminator(lambda value: BRANCHES[isinstance(value, (dict, RoomAir))]),
    ] = "from outdoors"

    @model_validator(mode="after")
    def _one_outdoors(self) -> AirSpec:
        if (self.place is None) == (self.series is None):
            raise ShrinkageError("accepted: either place (of the outdoor table) or series (a CSV)")
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

    species: str
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
    species: str | None = None
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
    max_width: Annotated[float, _length_in(99.9, "100 mm or more")]
    max_length: Length
    expansion: AnyPercent = 0.0


class FoamSpec(Spec):
    """The foam; the defaults are assumed until its maker's sheet replaces them."""

    name: Name = "gap foam"
    squeeze_once: Annotated[float, _percent_in(1, 95)] = 50.0
    recovery: AnyPercent = 50.0
    works: Annotated[float, _percent_in(0.1, 100)] = 10.0
    least_width: Length = 9.525
    most_width: Length = 38.1
    source: Name | None = None


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
    opening: list[OpeningSpec] = []


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
    species: dict[str, SpeciesSpec] = {}
    timber: dict[Role, TimberSpec]
    calendar: CalendarSpec | None = None
    metered: list[MeterSpec] = []
    eave: EaveSpec
    corner: CornerSpec = CornerSpec()
    foot: FootSpec = FootSpec()
    covering: list[CoveringSpec] = []
    panel: PanelSpec
    foam: FoamSpec = FoamSpec()
    allow: AllowSpec = AllowSpec()
    wall: Annotated[list[WallSpec], Field(min_length=1)]
    roof: list[RoofSpec] = []

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
