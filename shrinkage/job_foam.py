"""The job file's `[foam]` and `[holddown]`: what fills the joints and what it pushes against."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainValidator, model_validator

from shrinkage import units
from shrinkage.errors import ShrinkageError
from shrinkage.foam_kinds import FoamKind, find_kind
from shrinkage.foam_stress import Curve
from shrinkage.job_fields import (
    AnyPercent,
    Length,
    Name,
    Spec,
    Temperature,
    percent_in,
)

DepthChoice = Literal["full", "core", "two beads"]


def _load_in(kind: str, most: float, has_zero: bool = False) -> BeforeValidator:
    def read(value: Any) -> float:
        number = units.load(value, kind)
        if not (0 < number <= most or (has_zero and number == 0)):
            least = "0 or more" if has_zero else "above 0"
            accepted = f"{least}, up to {most:g} {_IN[kind]}"
            raise ShrinkageError(f"{kind}: {value!r}; accepted: {accepted}")
        return number

    return BeforeValidator(read)


MOST_POINTS = 500
"""A data sheet gives a dozen points of its curve."""
_IN = {"pressure": "kPa", "density": "kg/m3", "force": "N", "volume": "L"}


def _curve(value: Any) -> Curve:
    accepted = 'points of strain and stress, such as [["5 %", "20 kPa"], ["10 %", "25 kPa"]]'
    if not isinstance(value, list) or not all(isinstance(p, list) and len(p) == 2 for p in value):
        raise ShrinkageError(f"curve: cannot read {value!r}; accepted: {accepted}")
    if len(value) > MOST_POINTS:
        raise ShrinkageError(f"curve: {len(value)} points; accepted: up to {MOST_POINTS}")
    strains = tuple(units.percent(point[0], "curve strain") / 100 for point in value)
    stresses = tuple(units.load(point[1], "pressure", "curve stress") for point in value)
    return Curve(strains, stresses)


def _kind(value: Any) -> str:
    return find_kind(value).kind


class FoamSpec(Spec):
    """The foam; the defaults are assumed until its maker's sheet replaces them.

    What is not given is the kind's own; the defaults below are those of the gun foam.
    """

    name: Name = "gap foam"
    kind: Annotated[str, BeforeValidator(_kind)] = "gun foam"
    squeeze_once: Annotated[float, percent_in(1, 95)] = 50.0
    recovery: AnyPercent = 50.0
    works: Annotated[float, percent_in(0.1, 100)] = 10.0
    stretch: Annotated[float, percent_in(0.1, 100)] | None = None
    cure: Annotated[float, percent_in(-20, 20)] = 0.0
    least_width: Length = 9.525
    most_width: Length = 38.1
    density: Annotated[float, _load_in("density", 600.0)] = 20.0
    stress_at_10: Annotated[float, _load_in("pressure", 5000.0)] = 25.0
    curve: Annotated[Curve | None, PlainValidator(_curve)] = None
    relaxation: Annotated[float, Field(gt=0.0, le=1.0)] = 1.0
    relaxation_source: Name | None = None
    depth: DepthChoice = "full"
    facing: Length = 11.1125
    bead: Length = 25.4
    litres_per_can: Annotated[float, _load_in("volume", 1000.0)] | None = 40.0
    waste: Annotated[float, percent_in(0, 200)] = 20.0
    temperature: Temperature | None = None
    hole: Length | None = None
    hole_spacing: Length = 304.8
    source: Name | None = None

    @model_validator(mode="after")
    def _relaxation_has_a_source(self) -> FoamSpec:
        if self.relaxation < 1 and self.relaxation_source is None:
            raise ShrinkageError(
                f"relaxation {self.relaxation:g} without relaxation_source; accepted: both, or "
                "neither: the full stress"
            )
        return self

    def resolved(self, key: str) -> tuple[Any, str]:
        """Return a setting and where it is from: 'job file', the kind's name or 'default'."""
        value = getattr(self, key)
        if key in self.model_fields_set:
            return value, "job file"
        if key == "stretch" and "works" in self.model_fields_set:
            return self.works, "as works"
        kind = find_kind(self.kind)
        if key in FoamKind.SETTINGS:
            value = kind.setting(key)
            same = self.kind == type(self).model_fields["kind"].default
            return value, "default" if same else f"kind: {self.kind}"
        return value, "default"


class HoldDownSpec(Spec):
    """What holds the roof panels down where the foam pushes them up."""

    roof_load: Annotated[float, _load_in("pressure", 20.0, True)] = 0.0
    eave_share: Length | None = None
    gable_share: Length | None = None
    fastener: Literal["none", "lag screw", "wood screw", "rated"] = "none"
    diameter: Length | None = None
    thread: Length | None = None
    timber: Literal["plate", "rafter", "purlin"] = "rafter"
    gravity: float | None = Field(default=None, gt=0.2, lt=1.0)
    rated: Annotated[float, _load_in("force", 100_000.0)] | None = None
    rated_source: Name | None = None
    spacing: Length | None = None
    duration: float = Field(default=0.9, gt=0.0, le=1.0)

    @model_validator(mode="after")
    def _complete(self) -> HoldDownSpec:
        needs: dict[str, tuple[str, ...]] = {
            "none": (),
            "rated": ("rated", "rated_source", "spacing"),
            "lag screw": ("diameter", "thread", "spacing"),
            "wood screw": ("diameter", "thread", "spacing"),
        }
        wanted = needs[self.fastener]
        missing = [key for key in wanted if getattr(self, key) is None]
        if missing:
            raise ShrinkageError(
                f"fastener {self.fastener!r} without {', '.join(missing)}; accepted: a fastener "
                f"with {', '.join(wanted)}"
            )
        given = ("diameter", "thread", "rated", "rated_source", "spacing", "gravity")
        idle = [k for k in given if k not in (*wanted, "gravity") and k in self.model_fields_set]
        if idle and self.fastener in ("none", "rated"):
            raise ShrinkageError(
                f"{', '.join(idle)} with fastener {self.fastener!r}, which takes none; "
                "accepted: a lag screw or wood screw with diameter, thread and spacing, or rated"
            )
        if self.roof_load and self.eave_share is None and self.gable_share is None:
            raise ShrinkageError(
                "roof_load without eave_share or gable_share; accepted: the length of roof panel, "
                "along its slope, whose weight comes on the line"
            )
        if self.fastener == "none" and not self.roof_load:
            raise ShrinkageError(
                "neither roof_load nor fastener: nothing would hold; accepted: either, or no "
                "[holddown] at all"
            )
        return self
