"""A wall or a slope of the roof drawn as it is ordered, with its gaps.

True scale, seen from outside. What is left between a panel and its opening as drawn is dark: those
strips are the gaps to be foamed. Every size and gap is written where it is.
"""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from shrinkage.allowance import Allowance
from shrinkage.errors import ShrinkageError
from shrinkage.order import Order, Panel
from shrinkage.paper import LEAD, POINTS, size_for, width_of, wrapped
from shrinkage.schedule import length_text
from shrinkage.units import System, show

GAP, PANEL = "#3d3d3d", "#e8ecef"
LEAST_LABEL = 4.5
"""A label that would have to be smaller than this [pt] is left to the table."""

HOW_MEASURED: dict[str, str] = {
    "eave": "square to the roof",
    "gable": "square to the roof",
    "corner": "along the wall",
    "ridge": "level across the ridge, shared by two panels",
    "spline": "between two panels",
    "opening": "all round the unit",
    "sill": "plumb, under the panel",
}


def places(order: Order) -> dict[str, str]:
    """Return every wall and slope of a job and what it is, in the job's order.

    Returns
    -------
    dict of str to str
        By name, such as 'Wall south, seen from outside'.
    """
    job = order.frame.job
    found = {wall.name: f"Wall {wall.name}, seen from outside" for wall in job.wall}
    found |= {
        roof.name: f"Roof {roof.name}, square to the slope, ridge at the top" for roof in job.roof
    }
    return found


def panels_of(order: Order, place: str) -> list[Panel]:
    """Return the panels of one wall or slope.

    Raises
    ------
    ShrinkageError
        If the job has no such place.
    """
    if place not in places(order):
        accepted = ", ".join(places(order))
        raise ShrinkageError(f"no wall or roof {place!r}; accepted: {accepted}")
    return [panel for panel in order.panels if panel.place == place]


def corner_of(panel: Panel) -> tuple[float, float]:
    """Return where a panel's lower left corner stands in its wall [mm]."""
    piece, edges = panel.piece, panel.edges
    return piece.left + edges["left"].off, piece.bottom + edges["bottom"].off


def joints_of(panels: list[Panel], order: Order) -> list[Allowance]:
    """Return the joints of some panels, each once, openings included."""
    found = [e.allowance for p in panels for e in p.edges.values() if e.allowance is not None]
    names = {f"{p.place}, {hole.name}" for p in panels for hole in (*p.cutouts, *p.piece.holes)}
    found += [a for a in order.allowances if a.joint.kind == "opening" and a.joint.name in names]
    return list({id(a): a for a in found}.values())


def new_figure(width: float = 10.0, height: float = 5.0) -> tuple[Figure, Axes]:
    """Return a figure with one axes for an elevation.

    Parameters
    ----------
    width, height : float
        Size [in].
    """
    figure = Figure(figsize=(width, height))
    return figure, figure.add_axes((0.005, 0.005, 0.99, 0.99))


def elevation(ax: Axes, order: Order, place: str, system: System | None = None) -> str:
    """Draw one wall or slope as it is ordered.

    Parameters
    ----------
    ax : Axes
        Cleared and drawn on; its figure's size sets how large the labels can be.
    order : Order
        The answer to a job.
    place : str
        Name of the wall or slope.
    system : {'imperial', 'metric'}, optional
        Of the labels; the job's own units otherwise.

    Returns
    -------
    str
        What the picture shows, in words.

    Raises
    ------
    ShrinkageError
        If the job has no such place.
    """
    panels = panels_of(order, place)
    return _Sheet(ax, order, panels, system or order.frame.job.units).draw(place)


class _Sheet:
    """Draws one elevation: scale first, then bodies, then labels."""

    def __init__(self, ax: Axes, order: Order, panels: list[Panel], system: System) -> None:
        self.ax, self.order, self.panels, self.system = ax, order, panels, system
        self.x0 = min(p.piece.left for p in panels)
        self.x1 = max(p.piece.right for p in panels)
        self.y1 = max(y for p in panels for _, y in p.piece.top)
        box, (wide, high) = ax.get_position(), ax.figure.get_size_inches()  # type: ignore[union-attr]
        room = (box.width * wide * POINTS, box.height * high * POINTS)
        self.text = 7.5 if room[0] < 800 else 9.5
        side, above, below = 5.5 * self.text, 4.5 * self.text, 13 * self.text
        self.per_mm = min(
            (room[0] - 2 * side) / (self.x1 - self.x0), (room[1] - above - below) / self.y1
        )
        spare = room[1] - self.y1 * self.per_mm - above - below
        middle, half = (self.x0 + self.x1) / 2, room[0] / 2 / self.per_mm
        ax.clear()
        ax.set_axis_off()
        ax.set_xlim(middle - half, middle + half)
        foot = -(below + spare / 2) / self.per_mm
        ax.set_ylim(foot, foot + room[1] / self.per_mm)
        ax.set_aspect("equal")

    def draw(self, place: str) -> str:
        for panel in self.panels:
            self._body(panel)
        for panel in self.panels:
            self._inside(panel)
        self._chain()
        words = [self._top(), *self._ends(), self._splines(), *self._openings(), self._foot()]
        title = places(self.order)[place]
        count = "1 panel" if len(self.panels) == 1 else f"{len(self.panels)} panels"
        said = "; ".join(dict.fromkeys(word for word in words if word))
        return f"{title}: {count}, {self._size(self.x1 - self.x0)} from end to end; {said}."

    def _size(self, mm: float) -> str:
        return length_text(mm, self.system, self.order.frame.rules.fraction)

    def _gap(self, answer: Allowance | None) -> str:
        if answer is None or answer.status == "bearing":
            return ""
        return show(answer.gap, self.system)

    def _body(self, panel: Panel) -> None:
        """Draw the opening dark, the panel light over it, and its cut-outs with their units."""
        piece = panel.piece
        nominal = [(piece.left, piece.bottom), (piece.right, piece.bottom), *reversed(piece.top)]
        plain: dict[str, Any] = {"ec": "none", "fc": GAP}
        self.ax.add_patch(Polygon(nominal, closed=True, zorder=1, **plain))
        dx, dy = corner_of(panel)
        outline = [(x + dx, y + dy) for x, y in panel.outline]
        self.ax.add_patch(Polygon(outline, closed=True, fc=PANEL, ec="black", lw=0.5, zorder=2))
        for hole in panel.cutouts:
            self.ax.add_patch(
                Rectangle((hole.left + dx, hole.foot + dy), hole.width, hole.height, zorder=3,
                          **plain)
            )  # fmt: skip

    def _label(
        self, x: float, y: float, lines: list[str], wide: float, high: float, most: float,
        **how: Any,
    ) -> bool:  # fmt: skip
        """Write lines into a place [mm], upright or turned, whichever can be larger."""
        room = (0.94 * wide * self.per_mm, 0.94 * high * self.per_mm)
        level, turned = size_for(lines, *room, most), size_for(lines, room[1], room[0], most)
        is_turned = turned > 1.15 * level and level < 0.8 * most
        size = turned if is_turned else level
        if size < LEAST_LABEL:
            return False
        self.ax.text(
            x, y, "\n".join(lines), fontsize=size, ha="center", va="center", zorder=6,
            rotation=90 if is_turned else 0, linespacing=LEAD / 1.16, **how,
        )  # fmt: skip
        return True

    def _inside(self, panel: Panel) -> None:
        """Write a panel's number and order size where no cut-out is."""
        dx, dy = corner_of(panel)
        short = panel.mark[len(panel.place) :].strip() or panel.mark
        left, right = self._size(panel.left_height), self._size(panel.right_height)
        lines = [short, f"{self._size(panel.width)} wide"]
        lines += [f"{left} high"] if left == right else [f"left {left}", f"right {right}"]
        if panel.peak:
            lines += [f"peak {self._size(panel.peak[1])}", f"at {self._size(panel.peak[0])}"]
        least = min(panel.left_height, panel.right_height)
        foot, head = 0.0, least
        if panel.cutouts:
            over = max(h.head for h in panel.cutouts)
            under = min(h.foot for h in panel.cutouts)
            foot, head = (over, panel.height) if panel.height - over > under else (0.0, under)
        middle = (dx + panel.width / 2, dy + (foot + head) / 2)
        if not self._label(*middle, lines, panel.width, head - foot, self.text):
            self._label(*middle, [short], panel.width, head - foot, self.text)

    def _chain(self) -> None:
        """Write under the wall how far each panel's left edge is from the frame's left corner."""
        per = 1 / self.per_mm
        level = -3.2 * self.text * per
        self.ax.plot([self.x0, self.x1], [level, level], "k-", lw=0.6)
        edges = sorted({round(corner_of(p)[0], 3) for p in self.panels})
        edges.append(max(corner_of(p)[0] + p.width for p in self.panels))
        longest = max(width_of(self._size(x), self.text) for x in edges)
        last = -float("inf")
        for x in edges:
            self.ax.plot([x, x], [level - 3 * per, level + 3 * per], "k-", lw=0.6)
            if x - last < 1.25 * self.text * per:
                continue  # no room: the table has it
            last = x
            self.ax.text(x, level - 5 * per, self._size(x), fontsize=self.text, rotation=90,
                         ha="center", va="top")  # fmt: skip
        is_roof = any(roof.name == self.panels[0].place for roof in self.order.frame.job.roof)
        start = "the slope's left end" if is_roof else "the frame's left corner"
        text = f"panel edges from {start}; {self._foot()}"
        middle, low = (self.x0 + self.x1) / 2, level - (9 + longest) * per
        self.ax.text(middle, low, text, fontsize=0.9 * self.text, ha="center", va="top")

    def _callout(self, text: str, tip: tuple[float, float], at: tuple[float, float]) -> None:
        # Kept on the paper: a label wider than what is left of it is moved in.
        half = width_of(text, self.text) / 2 / self.per_mm
        low, high = self.ax.get_xlim()
        x = min(max(at[0], low + half), high - half)
        self.ax.annotate(
            text, xy=tip, xytext=(x, at[1]), fontsize=self.text, ha="center", va="center",
            arrowprops={"arrowstyle": "-|>", "lw": 0.8, "fc": "black", "shrinkB": 0}, zorder=7,
            bbox={"boxstyle": "round,pad=0.2", "fc": "white", "ec": "none"},
        )  # fmt: skip

    def _top(self) -> str:
        """Call out the gap at the top of the wall, at the panel that has most room beside it."""
        panel = max(self.panels, key=lambda p: (p.piece.edges["top"] != "opening", -p.piece.left))
        answer = panel.edges["top"].allowance
        if not (gap := self._gap(answer)):
            return ""
        piece = panel.piece
        x = piece.left + 0.3 * (piece.right - piece.left)
        y = piece.top_at(x) - panel.edges["top"].off / 2
        how = HOW_MEASURED[answer.joint.kind] if answer else ""
        lift = self.y1 + 2.8 * self.text / self.per_mm
        at = (max(x, self.x0 + 0.16 * (self.x1 - self.x0)), lift if y > 0.8 * self.y1 else y)
        text = f"gap {gap} {how}"
        if y <= 0.8 * self.y1:  # a gable: room over its low end
            at = (self._rake_at(0.86 * self.y1) - 0.6 * width_of(text, self.text) / self.per_mm,
                  0.9 * self.y1)  # fmt: skip
        self._callout(text, (x, y), at)
        return f"gap at the top {gap} {how}"

    def _rake_at(self, high: float) -> float:
        """Return where the top first reaches a height, from the left [mm]."""
        for panel in sorted(self.panels, key=lambda p: p.piece.left):
            left, wide = panel.piece.left, panel.piece.right - panel.piece.left
            for part in range(11):
                if panel.piece.top_at(left + wide * part / 10) >= high:
                    return left + wide * part / 10
        return self.x0

    def _ends(self) -> list[str]:
        """Write along both ends what the wall does there."""
        words, off = [], 1.6 * self.text / self.per_mm
        for side, x, out in (("left", self.x0, -off), ("right", self.x1, off)):
            panel = (min if side == "left" else max)(self.panels, key=lambda p: p.piece.left)
            edge = panel.edges[side]
            gap = self._gap(edge.allowance)
            text = f"gap {gap} {HOW_MEASURED['corner']}" if gap else edge.why
            high = min(panel.left_height, panel.right_height)
            size = size_for([text], max(high, 1.0) * self.per_mm, 99.0, self.text)
            if size < LEAST_LABEL:
                text, size = f"gap {gap}" if gap else edge.kind, self.text
            self.ax.text(x + out, high / 2, text, rotation=90, fontsize=size, ha="center",
                         va="center")  # fmt: skip
            words.append(f"{side} end: {text}")
        return words

    def _splines(self) -> str:
        """Call out the gap between panels once: it is the same at all of them."""
        panel = next((p for p in self.panels if p.edges["left"].kind == "spline"), None)
        if panel is None or not (gap := self._gap(panel.edges["left"].allowance)):
            return ""
        off = panel.edges["left"].off
        text, per = f"gap {gap} between panels", 1 / self.per_mm
        low = -1.6 * self.text * per
        at = (panel.piece.left + 0.62 * width_of(text, self.text) * per + 12 * per, low)
        self._callout(text, (panel.piece.left + off / 2, 0.02 * self.y1), at)
        return text

    def _foot(self) -> str:
        """Return what the wall's foot does."""
        edge = next((p for p in self.panels if p.piece.bottom == 0), self.panels[0]).edges["bottom"]
        gap = self._gap(edge.allowance)
        return f"foot: gap {gap} {HOW_MEASURED['sill']}" if gap else f"foot: {edge.why}"

    def _openings(self) -> list[str]:
        """Draw each unit white inside its cut-out, with its name and gap."""
        words, done = [], set()
        for hole in (h for p in self.panels for h in p.piece.holes if h.name not in done):
            if hole.name in done:
                continue
            done.add(hole.name)
            self._unit(hole.left, hole.foot, hole.width, hole.height)
            name = f"{self.panels[0].place}, {hole.name}"
            found = (a for a in self.order.allowances if a.joint.kind == "opening")
            gap = self._gap(next((a for a in found if a.joint.name == name), None))
            size = f"{self._size(hole.width)} x {self._size(hole.height)}"
            name_room = 0.94 * max(hole.width, hole.height) * self.per_mm
            named = wrapped(hole.name, self.text, name_room)[:3]
            lines = [*named, size, f"gap {gap}", "all round"]
            middle = (hole.left + hole.width / 2, hole.foot + hole.height / 2)
            for shown in (lines, named):
                if self._label(*middle, shown, hole.width, hole.height, self.text):
                    break
            words.append(f"{hole.name} {size}, gap {gap} all round")
        return words

    def _unit(self, x: float, y: float, wide: float, high: float) -> None:
        look: dict[str, Any] = {"fc": "white", "ec": "black", "lw": 0.5}
        self.ax.add_patch(Rectangle((x, y), wide, high, zorder=4, **look))
