"""The job file's `[meter]` and `[site]`: the user's moisture meter, and what is done on site."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from shrinkage.job_fields import (
    AnyPercent,
    Length,
    LengthOrZero,
    Name,
    Spec,
    Temperature,
    percent_in,
)

Points = Annotated[float, percent_in(-20.0, 20.0)]
Share = Annotated[float, percent_in(0.0, 20.0)]


class MoistureMeterSpec(Spec):
    """The user's moisture meter, by its own booklet."""

    name: Name
    calibrated_at: Temperature = 21.1
    correction: dict[Name, Points] = Field(default={})
    error: AnyPercent | None = None
    error_above_30: AnyPercent = 10.0


class SiteSpec(Spec):
    """What is measured on site, and what may be done about it there."""

    tape: LengthOrZero = 0.79375
    uneven: Length = 3.175
    most_trim: Share = 1.0
    most_pack: LengthOrZero = 38.1
    fresh: int = Field(default=7, ge=0, le=60)
