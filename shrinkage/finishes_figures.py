"""Drawings of finishes: wallboard at a post, trim at a face, tongue-and-groove boards.

Plans and sections with the movement enlarged, as the words under each say.
"""

from __future__ import annotations

from shrinkage.boards import BoardsFinding
from shrinkage.drawing import WIDTH, Drawing, times
from shrinkage.finish_words import go_by
from shrinkage.finishes import TrimFinding, WallboardFinding
from shrinkage.units import System

Picture = tuple[str, str]
"""The SVG, and what it shows in words."""

POST = 96.0
BOARD = 16.0


def enlarged(factor: float) -> str:
    """Say how a drawing shows movement."""
    return f"Movement is drawn {factor:.0f} times too large; dashed on the day, bold at the driest."


def draw_wallboard(found: WallboardFinding, system: System = "imperial") -> Picture:
    """Draw a post in plan, wallboard butted to it and run behind it.

    Parameters
    ----------
    found : WallboardFinding
        What was worked out.
    system : {'imperial', 'metric'}
        Of the lengths written.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    drawing, per = Drawing(218, system), POST / found.face.size
    factor = times(per, max(found.left.most, found.right.most))
    moves = [amount.most * per * factor for amount in (found.left, found.right)]
    held = found.face.share * per
    for middle, behind in ((112.0, False), (348.0, True)):
        left, right, back = middle - POST / 2, middle + POST / 2, 168.0
        inner = back - BOARD
        foot = inner if behind else back
        drawing.box(middle - 104, back, middle + 104, back + 20, "panel")
        # A lap is drawn as what the post draws back and a little more: to scale none would show.
        laps = [move + 12 if behind else 0.0 for move in moves]
        drawing.box(middle - 104, inner, left + laps[0], back, "finish")
        drawing.box(right - laps[1], inner, middle + 104, back, "finish")
        drawing.box(left + moves[0], foot - POST, right - moves[1], foot, "wood")
        if not behind:
            drawing.box(left, inner, left + moves[0], back, "open")
            drawing.box(right - moves[1], inner, right, back, "open")
        drawing.box(left, foot - POST, right, foot, "before")
        drawing.line([(left + held, foot - POST - 6), (left + held, foot + 4)], "held")
        drawing.label(middle, 40, "run behind" if behind else "butted", "middle")
        drawing.label(middle, back + 15, "panel", "middle")
    _wallboard_labels(drawing, found, moves)
    words = (
        f"Plan of {found.name}. Butted, a line opens of up to {go_by(found.left, system)} on "
        f"the left and {go_by(found.right, system)} on the right; run behind, nothing opens "
        f"with laps of {go_by(found.lap_left, system)} and "
        f"{go_by(found.lap_right, system)}. {enlarged(factor)} The chain line is where "
        "the post is held; laps are not to scale."
    )
    return drawing.svg(found.name, words), words


def _wallboard_labels(drawing: Drawing, found: WallboardFinding, moves: list[float]) -> None:
    half, at, foot, system = POST / 2, 168.0 - BOARD / 2, 206.0, drawing.system
    for side, moved, opens, lap in (
        (-1, moves[0], found.left, found.lap_left),
        (1, moves[1], found.right, found.lap_right),
    ):
        anchor = "end" if side > 0 else "start"
        gap = (112 + side * (half - moved / 2), at)
        text = f"opens {go_by(opens, system)}"
        drawing.label(112 + side * 104, foot, text, anchor, gap if moved else None)
        edge = (348 + side * (half - moved - 12), at)
        drawing.label(348 + side * 104, foot, f"lap {go_by(lap, system)}", anchor, edge)


def draw_trim(found: TrimFinding, system: System = "imperial") -> Picture:
    """Draw trim at a timber's face, scribed to it and housed into it.

    Parameters
    ----------
    found, system
        As `draw_wallboard`.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    drawing, per = Drawing(196, system), POST / found.face.size
    factor = times(per, found.opens.most)
    move = found.opens.most * per * factor
    deep = 40.0  # for the eye: a housing to scale would not show
    for left, housed in ((14.0, False), (246.0, True)):
        face, top, foot, end = left + POST, 56.0, 176.0, left + 200
        mouth = face - move
        drawing.box(left, top, mouth, foot, "wood")
        tip = face - deep + 6 if housed else face
        if housed:
            drawing.box(face - deep, 106, mouth + 1.4, 126, "finish")
        drawing.box(tip, 108, end, 124, "finish")
        if not housed:
            drawing.box(mouth + 1.2, 108, face, 124, "open")
        drawing.line([(face, top), (face, foot)], "before")
        drawing.label(left + 98, 42, "housed" if housed else "scribed", "middle")
    drawing.label(126, 82, f"opens {go_by(found.opens, system)}",
                  to=(110 - move / 2, 108))  # fmt: skip
    drawing.label(352, 82, f"housing {go_by(found.housing, system)}", to=(322, 108))
    drawing.label(20, 72, found.face.timber.role)
    drawing.label(212, 120, "trim", "end")
    words = (
        f"Plan of {found.name}. Scribed tight, a line opens of up to "
        f"{go_by(found.opens, system)}; a housing {go_by(found.housing, system)} deep "
        f"keeps the edge hidden. {enlarged(factor)} The depth of the housing is not to scale."
    )
    return drawing.svg(found.name, words), words


def draw_boards(found: BoardsFinding, system: System = "imperial") -> Picture:
    """Draw tongue-and-groove boards in section at the driest, and their run between walls.

    Parameters
    ----------
    found, system
        As `draw_wallboard`.

    Returns
    -------
    (str, str)
        SVG, and its words.
    """
    drawing, laid = Drawing(252, system), found.boards
    tongue = 28.0
    per = tongue / laid.tongue
    gap, cover = found.gap.most * per, max(0.0, found.cover.least) * per
    slot = tongue * 1.15
    for number in range(2):
        left = 14 + number * (200 + gap)
        right = left + 200
        _board(drawing, (left, right), tongue if number == 0 else 0.0, slot if number else 0.0)
    joint = 214.0
    if gap:
        drawing.box(joint + 1.2, 74, joint + gap - 1.2, 92, "open")
        drawing.box(joint + 1.2, 108, joint + gap - 1.2, 126, "open")
    drawing.label(150, 52, f"gap {go_by(found.gap, system)}", to=(joint + gap / 2, 76))
    drawing.label(262, 52, f"tongue covered {go_by(found.cover, system)}",
                  to=(joint + gap + cover / 2, 100))  # fmt: skip
    _run(drawing, found)
    where = "each wall" if laid.free_sides == 2 else "the one free wall"
    words = (
        f"Section of {found.name} at the driest: joints open to {go_by(found.gap, system)}, "
        f"{go_by(found.cover, system)} of the tongue stays covered (to scale with the "
        f"tongue, the boards shortened). Below, the run of {laid.joints} boards: by the wettest "
        f"month it wants {go_by(found.room, system)} of room at {where}."
    )
    return drawing.svg(found.name, words), words


def _board(drawing: Drawing, ends: tuple[float, float], tongue: float, slot: float) -> None:
    """Draw one board, face down, with its tongue on the right and its groove on the left."""
    (left, right), top, foot = ends, 74.0, 126.0
    high, low = 92.0, 108.0
    points = [(left, top), (right, top)]
    points += [(right, high), (right + tongue, high), (right + tongue, low), (right, low)]
    points += [(right, foot), (left, foot)]
    points += [(left, low), (left + slot, low), (left + slot, high), (left, high)]
    drawing.shape(points, "wood")


def _run(drawing: Drawing, found: BoardsFinding) -> None:
    """Draw the run between its walls, with the room it wants."""
    laid, left, right = found.boards, 40.0, WIDTH - 40
    room = 14.0 if found.room.most > 0 else 0.0
    sides = (room, room if laid.free_sides == 2 else 0.0)
    drawing.box(left - 22, 176, left, 226, "panel")
    drawing.box(right, 176, right + 22, 226, "panel")
    drawing.box(left, 192, left + sides[0], 208, "open")
    drawing.box(right - sides[1], 192, right, 208, "open")
    start, stop = left + sides[0], right - sides[1]
    shown = min(laid.joints, 24)
    for number in range(shown):
        step = (stop - start) / shown
        drawing.box(start + number * step, 192, start + (number + 1) * step, 208, "finish")
    drawing.label(WIDTH / 2, 182, f"{laid.joints} boards", "middle")
    text = f"room {go_by(found.room, drawing.system)}" if room else "no room needed"
    drawing.label(left + 2, 240, text, to=(left + sides[0] / 2, 208) if room else None)
    if sides[1]:
        drawing.label(right - 2, 240, text, "end", to=(right - sides[1] / 2, 208))
