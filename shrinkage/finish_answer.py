"""A job's finishes and joinery worked out: from each `[[finish.*]]` of the file to its finding."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from shrinkage.boards import Boards, boards
from shrinkage.brace import Brace, brace
from shrinkage.errors import ShrinkageError
from shrinkage.finding import Finding
from shrinkage.finishes import Face, Hiding, trim, wallboard
from shrinkage.frame import Frame, own_species
from shrinkage.job_finish import (
    BoardsSpec,
    BraceSpec,
    FinishSpec,
    PeggedSpec,
    ShoulderSpec,
    TenonSpec,
    TrimSpec,
    WallboardSpec,
)
from shrinkage.joinery import Shoulder, Tenon, shoulder, tenon
from shrinkage.pegged import PeggedBeam, pegged
from shrinkage.species import Species, find
from shrinkage.timber import GREEN_NOTE, Timber

KINDS = tuple(FinishSpec.model_fields)
"""The kinds of finish and joinery a job file may hold, in the order they are answered."""


@dataclass(frozen=True)
class Wood:
    """What a job's finishes are made against.

    Parameters
    ----------
    frame : Frame
        Its timbers and airs.
    own : dict of str to Species
        The job's own species.
    """

    frame: Frame
    own: dict[str, Species]

    def timber(self, role: str) -> Timber:
        """Return a timber of the frame.

        Raises
        ------
        ShrinkageError
            If the frame has none of that role.
        """
        found = self.frame.timbers
        if role not in found:
            raise ShrinkageError(f"no [timber.{role}]; accepted: {', '.join(found)}")
        return found[role]

    def face(self, spec: WallboardSpec | TrimSpec) -> Face:
        """Return the face a finish meets, its share read from where the timber is held."""
        timber = self.timber(spec.timber)
        if spec.moisture is not None:
            if spec.since != "panels on":
                raise ShrinkageError(f"moisture with since {spec.since!r}; accepted: either: a "
                                     "reading on the day, or the day in the calendar")  # fmt: skip
            note = f"metered {spec.moisture:g} % on the day the finish goes in"
            timber = replace(timber, moisture=spec.moisture, course=None, moisture_note=note)
        size = timber.width if spec.side == "width" else timber.depth
        words = {"centre": size / 2, "left face": 0.0, "right face": size, "far face": size}
        share = words[spec.held] if isinstance(spec.held, str) else spec.held
        return Face(timber, spec.side, share, spec.since)


def findings(frame: Frame) -> tuple[Finding, ...]:
    """Work out every finish and joint a job asks for.

    Parameters
    ----------
    frame : Frame
        The job's frame.

    Returns
    -------
    tuple of Finding
        By kind, then in the file's order.

    Raises
    ------
    ShrinkageError
        Naming file, line and key.
    """
    source, found = frame.document.source, []
    job = frame.job
    own = {name: own_species(name, spec, source) for name, spec in job.species.items()}
    wood = Wood(frame, own)
    for kind in KINDS:
        for index, spec in enumerate(getattr(job.finish, kind)):
            with source.at("finish", kind, index):
                found.append(_MAKERS[kind](wood, spec))
    return tuple(found)


def _wallboard(wood: Wood, spec: WallboardSpec) -> Finding:
    return wallboard(
        spec.name, wood.face(spec), Hiding(spec.keep, spec.tolerance, spec.board_moves)
    )


def _trim(wood: Wood, spec: TrimSpec) -> Finding:
    return trim(spec.name, wood.face(spec), Hiding(spec.keep, spec.tolerance, spec.trim_moves))


def _boards(wood: Wood, spec: BoardsSpec) -> Finding:
    laid = Boards(
        species=find(spec.species, wood.own),
        air=wood.frame.room if spec.air == "room" else wood.frame.outdoors,
        free_sides=2 if spec.room_at == "both walls" else 1,
        **spec.model_dump(exclude={"name", "species", "air", "room_at"}),
    )
    return boards(spec.name, laid)


def _shoulder(wood: Wood, spec: ShoulderSpec) -> Finding:
    post = wood.timber(spec.post)
    if spec.held_by == "pegs" and spec.share is None:
        raise ShrinkageError("held_by pegs without share; accepted: share, the distance of the "
                             "pegs behind the post's face")  # fmt: skip
    size = post.width if spec.side == "width" else post.depth
    face = Face(post, spec.side, size / 2 if spec.share is None else spec.share)
    joint = Shoulder(face, wood.timber(spec.girt), spec.length, spec.held_by, spec.housing)
    return shoulder(spec.name, joint, Hiding(spec.keep, spec.tolerance))


def _brace(wood: Wood, spec: BraceSpec) -> Finding:
    post, beam = wood.timber(spec.post), wood.timber(spec.beam)
    species = find(spec.species, wood.own)
    green = spec.moisture is None
    piece = Timber(
        "brace", species, spec.section[0], spec.section[1], spec.heart,
        species.fibre_saturation if spec.moisture is None else spec.moisture, wood.frame.room,
        moisture_note=GREEN_NOTE if green else f"metered {spec.moisture:g} %",
    )  # fmt: skip
    shares = (
        post.width / 2 if spec.post_share is None else spec.post_share,
        beam.depth / 2 if spec.beam_share is None else spec.beam_share,
    )
    joint = Brace(
        Face(post, "width", shares[0]), Face(beam, "depth", shares[1]), piece, spec.angle,
        spec.leg, spec.post_peg, spec.beam_peg,
    )  # fmt: skip
    return brace(spec.name, joint)


def _tenon(wood: Wood, spec: TenonSpec) -> Finding:
    timber = wood.timber(spec.timber)
    joint = Tenon(
        timber, wood.timber(spec.mortised), spec.thickness, spec.depth or timber.depth, spec.into,
        spec.clearance, spec.end_clearance,
    )  # fmt: skip
    return tenon(spec.name, joint)


def _pegged(wood: Wood, spec: PeggedSpec) -> Finding:
    joint = PeggedBeam(
        wood.timber(spec.beam), wood.timber(spec.post), tuple(spec.pegs), spec.slack, spec.tolerable
    )
    return pegged(spec.name, joint)


_MAKERS: dict[str, Callable[[Wood, Any], Finding]] = {
    "wallboard": _wallboard,
    "trim": _trim,
    "boards": _boards,
    "shoulder": _shoulder,
    "brace": _brace,
    "tenon": _tenon,
    "pegged": _pegged,
}
