"""The job file's `[spread]`: how sure the inputs are. Without it the defaults here hold."""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from shrinkage.errors import ShrinkageError
from shrinkage.job_fields import AnyPercent, Role, Spec, percent_in


def _degrees(value: Any) -> float:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:deg|degrees|°)\s*", str(value))
    if not found or float(found[1]) > 90:
        raise ShrinkageError(f"angle: {value!r}; accepted: 0 deg to 90 deg, such as 10 deg")
    return float(found[1])


Degrees = Annotated[float, BeforeValidator(_degrees)]
Certainty = Annotated[float, percent_in(50.0, 99.99)]


class SpreadSpec(Spec):
    """What spreads about its value, and the certainty asked for; the order itself stays as it is.

    The amounts are the standard deviation of a normal spread, half the width of a uniform one.
    """

    species: AnyPercent = 15.0
    alike: float = Field(default=0.5, ge=0, le=1)
    radial_tangential: float = Field(default=0.5, ge=-1, le=1)
    along_grain: AnyPercent = 0.05
    heart: AnyPercent = 10.0
    rings: Degrees = 10.0
    unknown_rings: Degrees = 45.0
    section_factor_low: float = Field(default=0.6, ge=0.5, le=1)
    green: AnyPercent = 4.0
    moisture: AnyPercent = 2.0
    air_low: AnyPercent = 1.0
    air_high: AnyPercent = 1.5
    drying: float = Field(default=0.5, ge=0)
    tolerances: AnyPercent = 50.0
    foam: AnyPercent = 15.0
    shapes: dict[str, str] = Field(default={})
    one_log: tuple[tuple[Role, ...], ...] = ()
    certainty: Certainty = 95.0
    draws: int = Field(default=65536, ge=16, le=2**24)
    seed: int = Field(default=1, ge=0)
