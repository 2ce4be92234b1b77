"""What a value in the job file may be: readers that turn text with its unit into plain floats."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator

from shrinkage import units
from shrinkage.errors import ShrinkageError
from shrinkage.section import HEART_KINDS, Heart

LONGEST_MM = 100_000.0
"""No timber or wall of a house is longer than this [mm]; a slip of the decimal point is."""


def length_in(low: float, what_low: str) -> BeforeValidator:
    """Return a reader of lengths above a least [mm]."""

    def read(value: Any) -> float:
        mm = units.length(value)
        if not low < mm < LONGEST_MM:
            raise ShrinkageError(f"length: {value!r}; accepted: {what_low} and under 100 m")
        return mm

    return BeforeValidator(read)


def percent_in(low: float, high: float) -> BeforeValidator:
    """Return a reader of percentages within a range [%]."""

    def read(value: Any) -> float:
        number = units.percent(value)
        if not low <= number <= high:
            raise ShrinkageError(f"percentage: {value!r}; accepted: {low:g} % to {high:g} %")
        return number

    return BeforeValidator(read)


def read_section(value: Any) -> tuple[float, float]:
    """Read a section such as ``7-1/2 in x 7-1/2 in`` or ``8 x 10 in``: width and depth [mm]."""
    accepted = "width x depth, such as 7-1/2 in x 7-1/2 in"
    is_text = isinstance(value, str) and len(value) <= 2 * units.LONGEST_TEXT
    text = units.plain_marks(value) if is_text else ""
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


def read_day(value: Any) -> date:
    """Read a day such as ``2027-03-01``."""
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


Length = Annotated[float, length_in(0.0, "above 0")]
LengthOrZero = Annotated[float, length_in(-1e-9, "0 or more")]
AnyPercent = Annotated[float, percent_in(0.0, 100.0)]
# Of one argument: older versions of pydantic fill a second one in.
Temperature = Annotated[float, BeforeValidator(lambda value: units.temperature(value))]
Pitch = Annotated[float, BeforeValidator(lambda value: units.roof_pitch(value))]
Section = Annotated[tuple[float, float], BeforeValidator(read_section)]
Division = Annotated[Widths, PlainValidator(_division)]
LayoutLine = Annotated[str | float, PlainValidator(_layout_line)]
Role = Literal["post", "plate", "rafter", "girt", "sill", "tie", "purlin"]
Day = Annotated[date, BeforeValidator(read_day)]
HeartAt = Annotated[Heart, BeforeValidator(_heart)]
Moisture = Annotated[float | None, BeforeValidator(_moisture)]
OneLine = Annotated[str, Field(max_length=300), AfterValidator(_one_line)]
Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_one_line)]


class Spec(BaseModel):
    """A table of the job file: unknown keys refused, nothing changed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True,
                              allow_inf_nan=False)  # fmt: skip
