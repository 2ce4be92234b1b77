"""Drawings of joinery: a girt's shoulder, a brace, a tenon in its mortise, a beam on its pegs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from shrinkage.boards import BoardsFinding
from shrinkage.brace import EDGES, BraceFinding
from shrinkage.drawing import Drawing, Point, times
from shrinkage.finding import Finding
from shrinkage.finish_words import go_by
from shrinkage.finishes import TrimFinding, WallboardFinding
from shrinkage.finishes_figures import (
    Picture,
    draw_boards,
    draw_trim,
    draw_wallboard,
    enlarged,
)
from shrinkage.joinery import ShoulderFinding, TenonFinding
from shrinkage.pegged import PeggedFinding
from shrinkage.timber import Floats
from shrinkage.units import System


def draw_shoulder(found: ShoulderFinding, system: System = "imperial") -> Picture:
    """Draw a girt's end at a post.

    Parameters
    ----------
    found : ShoulderFinding
        What was worked out.
    system : {'imperial', 'metric'}
        Of the lengths written.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    drawing, joint = Drawing(220, system), found.joint
    per = 150.0 / joint.face.size
    deep = max(joint.housing * per, 18.0 if joint.housing else 0.0)
    factor = times(per, max(found.gap.most, 1e-9))
    gap, face, end = max(found.gap.most, 0.0) * per * factor, 190.0, 440.0
    mouth, bottom = face - gap, face - deep - gap
    top, foot = 80.0, 150.0
    post = [(40.0, 34.0), (mouth, 34.0), (mouth, top), (bottom, top), (bottom, foot)]
    drawing.shape([*post, (mouth, foot), (mouth, 208.0), (40.0, 208.0)], "wood")
    drawing.box(bottom + 1.2, top + 1, face - deep, foot - 1, "open")
    drawing.box(face - deep, top + 1, end, foot - 1, "wood")
    drawing.line([(face, 34), (face, 208)], "before")
    held = face - joint.face.share * per
    drawing.line([(held, 28), (held, 214)], "held")
    gap_text, housing = go_by(found.gap, system), go_by(found.housing, system)
    drawing.label(270, 56, f"gap {gap_text}", to=(face - deep - gap / 2, top + 6))
    drawing.label(54, 52, "post")
    drawing.label(330, 120, "girt")
    drawing.label(220, 180, f"housing needed to hide it: {housing}")
    stays = "the post's centre stays" if joint.held_by == "posts" else "the pegs stay"
    words = (
        f"{found.name}: a gap of up to {gap_text} opens at each shoulder; a housing {housing} deep "
        f"hides it. On the chain line {stays}. {enlarged(factor)}"
    )
    return drawing.svg(found.name, words), words


def draw_tenon(found: TenonFinding, system: System = "imperial") -> Picture:
    """Draw a tenon in its mortise: across, and along the mortise.

    Parameters
    ----------
    found, system
        As `draw_shoulder`.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    drawing = Drawing(230, system)
    loose, short = max(0.0, found.loose.most), max(0.0, found.short.most)
    wide = 14.0 if loose else 0.0
    drawing.box(40, 52, 190, 182, "wood")
    drawing.box(88, 52, 142, 150, "hole")
    drawing.box(88 + wide / 2, 52, 142 - wide / 2, 148, "finish")
    for left in (88.8, 142 - wide / 2 + 0.6):
        drawing.box(left, 53, left + wide / 2 - 1.2, 149, "open")
    drawing.label(115, 44, "across", "middle")
    text = go_by(found.loose, system)
    binds = " or binds" if found.loose.least < 0 else ""
    drawing.label(14, 212, f"loose by {text} in all{binds}", to=(91, 148) if loose else None)
    drawing.box(270, 52, 430, 182, "wood")
    drawing.box(270, 72, 380, 164, "hole")
    drawing.box(270, 72 + OPEN_END, 380, 164, "finish")
    drawing.box(270, 73, 379, 72 + OPEN_END, "open")
    drawing.label(350, 44, "along", "middle")
    end = go_by(found.short, system)
    drawing.label(270, 212, f"opens {end} above it", to=(300, 84) if short else None)
    drawing.label(318, 130, "tenon", "middle")
    words = (
        f"{found.name}: across, the mortise ends up to {text} wider than the tenon{binds}; along, "
        f"the tenon sits on the lower end and up to {end} opens above it. Not to scale."
    )
    return drawing.svg(found.name, words), words


OPEN_END = 16.0
"""How wide the end of a mortise is drawn open [px]."""


def draw_pegged(found: PeggedFinding, system: System = "imperial") -> Picture:
    """Draw a beam on its seat and its pegs, from the side.

    Parameters
    ----------
    found, system
        As `draw_shoulder`.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    drawing, joint = Drawing(236, system), found.joint
    seat, tall, right = 200.0, 150.0, 350.0
    per = tall / joint.beam.depth
    factor = times(per, max(found.lift.most, 1e-9))
    lift = found.lift.most * per * factor
    hold = seat - joint.hold * per
    # Above the pegs the same wood comes down, in proportion.
    drop = lift * (joint.beam.depth - joint.hold) / joint.hold
    drop = min(drop, hold - (seat - tall) - 6)
    drawing.box(20, 30, 130, 226, "panel")
    drawing.box(130, seat, 162, 226, "panel")
    drawing.box(130, seat - tall + drop, right, seat - lift, "wood")
    drawing.box(131, seat - lift + 1.2, 162, seat, "open")
    drawing.box(130, seat - tall, right, seat, "before")
    drawing.line([(130, seat - tall + 8), (62, seat - tall + 8), (62, seat - 8), (130, seat - 8)],
                 "before")  # fmt: skip
    for peg in joint.pegs:
        drawing.peg(92, seat - peg * per)
    drawing.line([(70, hold), (right + 20, hold)], "held")
    highest = seat - found.highest.least * per
    drawing.line([(300, highest), (right + 26, highest)])
    off, limit = go_by(found.lift, system), go_by(found.highest, system)
    drawing.label(200, 222, f"lifts {off}", to=(150, seat - lift / 2))
    drawing.label(right + 8, highest + 16, f"pegs no higher\nthan {limit}")
    drawing.label(right + 8, hold - 8, "held here")
    drawing.label(26, 44, "post")
    drawing.label(230, 90, "beam")
    words = (
        f"{found.name}: shrinking toward its pegs, {drawing.mm(joint.hold)} above the seat, the "
        f"beam lifts up to {off} off it. With their middle no higher than {limit} it lifts by no "
        f"more than its slack and {drawing.mm(joint.tolerable)}. {enlarged(factor)}"
    )
    return drawing.svg(found.name, words), words


def draw_brace(found: BraceFinding, system: System = "imperial") -> Picture:
    """Draw a brace between its post and beam, and the gaps at the ends of its shoulders.

    Parameters
    ----------
    found, system
        As `draw_shoulder`.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    drawing, joint = Drawing(300, system), found.joint
    edges = list(joint.edges().values())
    reach = max(edges[3][0], -edges[1][1])
    per = 190.0 / reach
    gaps = [found.foot_upper, found.foot_lower, found.head_near, found.head_far]
    factor = times(per, max(max(abs(gap.most) for gap in gaps), 1e-9))

    def at(place: Floats) -> Point:
        return 90.0 + float(place[0]) * per, 84.0 - float(place[1]) * per

    foot_in, foot_out, head_in, head_out = (at(edge) for edge in edges)
    away = [gap.most * per * factor for gap in gaps]
    drawing.box(24, 30, 90, 296, "panel")
    drawing.box(90, 30, 340, 84, "panel")
    solid = [(foot_in[0] + away[0], foot_in[1]), (foot_out[0] + away[1], foot_out[1]),
             (head_out[0], head_out[1] + away[3]), (head_in[0], head_in[1] + away[2])]  # fmt: skip
    drawing.shape(solid, "wood")
    for edge, moved in (((foot_in, foot_out), solid[:2]), ((head_out, head_in), solid[2:])):
        drawing.shape([edge[0], edge[1], moved[1], moved[0]], "open")
    drawing.shape([foot_in, foot_out, head_out, head_in], "before")
    texts = [go_by(gap, system) for gap in gaps]
    drawing.label(300, 150, f"head, by the post: {texts[2]}")
    drawing.label(300, 168, f"head, far edge: {texts[3]}")
    drawing.label(300, 194, f"foot, upper edge: {texts[0]}")
    drawing.label(300, 212, f"foot, lower edge: {texts[1]}")
    drawing.label(34, 160, "post")
    drawing.label(270, 62, "beam")
    worst = int(np.argmax([gap.most for gap in gaps]))
    words = (
        f"{found.name}: the shoulder opens most at its {EDGES[worst]}, up to {texts[worst]}; "
        f"between its pegs the brace is up to {go_by(found.pull, system)} short. "
        f"{enlarged(factor)} Post and beam are drawn where their faces are afterwards."
    )
    return drawing.svg(found.name, words), words


_DRAWN: dict[type[Finding], Callable[[Any, System], Picture]] = {
    WallboardFinding: draw_wallboard,
    TrimFinding: draw_trim,
    BoardsFinding: draw_boards,
    ShoulderFinding: draw_shoulder,
    BraceFinding: draw_brace,
    TenonFinding: draw_tenon,
    PeggedFinding: draw_pegged,
}


def draw(found: Finding, system: System = "imperial") -> Picture:
    """Draw any finding.

    Parameters
    ----------
    found, system
        As `draw_shoulder`.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    return _DRAWN[type(found)](found, system)
