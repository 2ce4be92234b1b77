"""The job file's `[[finish.*]]`: finish work and joinery to be worked out beside the panels."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator

from shrinkage import units
from shrinkage.errors import ShrinkageError
from shrinkage.job_fields import (
    AnyPercent,
    HeartAt,
    Length,
    LengthOrZero,
    Moisture,
    Name,
    Pitch,
    Role,
    Section,
    Spec,
)
from shrinkage.section import Heart

Side = Literal["width", "depth"]
Since = Literal["panels on", "foamed", "heated"]


def _held(*words: str) -> PlainValidator:
    """Return a reader of where a timber is held: one of some words, or a length."""

    def read(value: Any) -> str | float:
        if value in words:
            return str(value)
        try:
            mm = units.length(value)
        except ShrinkageError:
            mm = math.nan
        if not mm >= 0:
            raise ShrinkageError(
                f"cannot read {value!r}; accepted: {', '.join(words)}, or a length from the "
                f"{'left ' if 'left face' in words else ''}face, 0 or more"
            )
        return mm

    return PlainValidator(read)


class WallboardSpec(Spec):
    """Wallboard at a post: butted to its sides, or run behind it."""

    name: Name
    timber: Role = "post"
    side: Side = "width"
    held: Annotated[str | float, _held("centre", "left face", "right face")] = "centre"
    since: Since = "panels on"
    moisture: AnyPercent | None = None
    keep: LengthOrZero = 6.35
    tolerance: LengthOrZero = 3.175
    board_moves: LengthOrZero = 0.0


class TrimSpec(Spec):
    """Trim against a timber's face: scribed to it, or housed into it."""

    name: Name
    timber: Role = "post"
    side: Side = "width"
    held: Annotated[str | float, _held("centre", "far face")] = "centre"
    since: Since = "panels on"
    moisture: AnyPercent | None = None
    keep: LengthOrZero = 3.175
    tolerance: LengthOrZero = 1.5875
    trim_moves: LengthOrZero = 0.0


class BoardsSpec(Spec):
    """Tongue-and-groove boards."""

    name: Name
    species: str
    width: Length
    tongue: Length = 6.35
    rings: Literal["flat", "quarter", "rift", "unknown"] = "unknown"
    moisture: AnyPercent
    air: Literal["room", "outdoors"] = "room"
    run: Length
    gap: LengthOrZero = 0.0
    keep: LengthOrZero = 3.175
    room_at: Literal["both walls", "one wall"] = "both walls"


class ShoulderSpec(Spec):
    """A girt's shoulders on its posts."""

    name: Name
    post: Role = "post"
    girt: Role = "girt"
    side: Side = "width"
    length: Length
    held_by: Literal["posts", "pegs"] = "posts"
    share: Length | None = None
    housing: LengthOrZero = 0.0
    keep: LengthOrZero = 6.35
    tolerance: LengthOrZero = 1.5875


class BraceSpec(Spec):
    """A brace between a post and a beam."""

    name: Name
    post: Role = "post"
    beam: Role = "plate"
    species: str
    section: Section
    heart: HeartAt = Heart("unknown")
    moisture: Moisture = None
    angle: Pitch = math.radians(45.0)
    leg: Length
    post_share: LengthOrZero | None = None
    beam_share: LengthOrZero | None = None
    post_peg: LengthOrZero = 50.8
    beam_peg: LengthOrZero = 50.8


class TenonSpec(Spec):
    """A tenon in its mortise."""

    name: Name
    timber: Role = "girt"
    mortised: Role = "post"
    thickness: Length = 38.1
    depth: Length | None = None
    into: Side = "width"
    clearance: LengthOrZero = 0.0
    end_clearance: LengthOrZero = 0.0


class PeggedSpec(Spec):
    """A beam on a seat, held by pegs above it."""

    name: Name
    beam: Role = "tie"
    post: Role = "post"
    pegs: Annotated[list[Length], Field(min_length=1)]
    slack: LengthOrZero = 0.0
    tolerable: LengthOrZero = 0.79375


class FinishSpec(Spec):
    """All of them, each a list."""

    wallboard: list[WallboardSpec] = Field(default=[])
    trim: list[TrimSpec] = Field(default=[])
    boards: list[BoardsSpec] = Field(default=[])
    shoulder: list[ShoulderSpec] = Field(default=[])
    brace: list[BraceSpec] = Field(default=[])
    tenon: list[TenonSpec] = Field(default=[])
    pegged: list[PeggedSpec] = Field(default=[])
