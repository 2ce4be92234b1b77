"""The crew card: which gaps are meant, how wide on the day, and what to do where they are not.

One page in large type. `crew_card` gathers it from an order; `write_crew_card` sets it as PDF, and
the page that is handed over shows the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from shrinkage import paper
from shrinkage.allowance import Allowance
from shrinkage.elevation import HOW_MEASURED
from shrinkage.order import Order
from shrinkage.quantity import quantity_rows
from shrinkage.schedule import CAUTIONS
from shrinkage.units import TAPE_STEP, System, round_to, show

KINDS: dict[str, str] = {
    "eave": "Wall top at the eave",
    "gable": "Wall top at the gable",
    "corner": "Corner",
    "ridge": "Ridge",
    "sill": "Under a hung wall panel",
    "spline": "Between two panels",
    "opening": "Round a window or door",
}
TOO_WIDE = "too wide to foam as ordered: call before setting"
MEANT = (
    "These gaps are meant. The green frame dries, the gaps close by themselves. Wood that touches "
    "a panel pushes it: a tight roof joint lifts the roof."
)
RULES = (
    ("Gap between “not under” and “not over”", "It is as meant: foam it when the foam is due."),
    ("Narrower", "Do not foam it, do not force or shave the panel. Shift the panel if that evens "
     "two gaps out; otherwise stop and call."),
    ("Wider", "Do not fill it with foam alone. Stop and call."),
    ("Uneven, a panel lifted, a check through the joint",
     "Stop and call: the engineer looks before anything is foamed."),
    ("Shims, blocks, spacers", "Pull them before foaming. Nothing hard stays in a gap."),
)  # fmt: skip
"""What to do, by what is found."""


@dataclass(frozen=True)
class CrewLine:
    """One gap, for one or more places that share it.

    Parameters
    ----------
    kind : str
        Which joint, in the crew's words.
    places : tuple of str
        Where.
    hold : str
        Gap to hold on the day.
    least, most : str
        Between which a gap that is found may lie; empty where it cannot be foamed as it stands.
    measured : str
        How it is measured.
    warning : str
        What is wrong with it, empty where nothing is.
    note : str
        What is said of it instead of how it is measured.
    answer : str
        What to do; where it is empty, room to write what is found.
    """

    kind: str
    places: tuple[str, ...]
    hold: str
    least: str
    most: str
    measured: str
    warning: str = ""
    note: str = ""
    answer: str = ""


@dataclass(frozen=True)
class Card:
    """What a crew card says: of gaps to hold, or of gaps as they were found.

    Parameters
    ----------
    lines : tuple of CrewLine
        Its gaps.
    head, message : str
        Title, and what stands below it in large type.
    columns : tuple of str
        Over the numbers: the gap, its least and most, and the last column.
    shares : tuple of float
        Where they start, as a share of the width [-].
    otherwise : str
        Where to look where there are too many lines to show.
    rules : tuple of (str, str)
        What to do, by what is found.
    smallest : float
        Text size below which there is one line a kind [pt].
    """

    lines: tuple[CrewLine, ...]
    head: str = "CREW CARD: GAPS TO HOLD"
    message: str = MEANT
    columns: tuple[str, str, str, str] = ("hold on the day", "not under", "not over", "found")
    shares: tuple[float, float, float, float] = (0.46, 0.66, 0.79, 0.92)
    otherwise: str = "read each off its order sheet"
    rules: tuple[tuple[str, str], ...] = RULES
    smallest: float = 9.0


def crew_card(order: Order, system: System | None = None) -> list[CrewLine]:
    """Return the gaps of a job as a crew needs them, places with the same gap together.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.

    Returns
    -------
    list of CrewLine
        By kind of joint, in the order of `KINDS`.
    """
    system = system or order.frame.job.units
    square = order.frame.job.eave.panel_top == "square"
    found: dict[CrewLine, list[str]] = {}
    for kind in KINDS:
        for answer in order.allowances:
            if answer.joint.kind == kind and answer.status != "bearing":
                line = _line(answer, system, square)
                found.setdefault(line, []).append(_where(answer))
    return [replace(line, places=tuple(names)) for line, names in found.items()]


def foam_line(order: Order) -> str:
    """Return the foam to bring, by kind of joint and in all, with waste."""
    *kinds, everything = quantity_rows(order)
    parts = ", ".join(f"{kind} {litres}" for kind, _, litres, _ in kinds)
    cans = f", {everything[3]} cans" if everything[3] else ""
    return f"{everything[2]}{cans} in all ({parts}). Cold cans and cold air yield less."


def _line(answer: Allowance, system: System, square: bool) -> CrewLine:
    """Return the line of one joint, its limits rounded to the safe side."""
    step = TAPE_STEP[system]
    kind = answer.joint.kind
    measured = HOW_MEASURED[kind]
    if square and kind == "eave":
        measured += ", at the panel's outer edge"
    hold = show(answer.gap, system)
    if answer.status != "ok":
        return CrewLine(KINDS[kind], (), hold, "", "", measured, TOO_WIDE)
    least = min(round_to(answer.gap_least, step, "up"), answer.gap)
    most = max(round_to(answer.gap_most, step, "down"), answer.gap)
    return CrewLine(KINDS[kind], (), hold, show(least, system), show(most, system), measured)


def _where(answer: Allowance) -> str:
    """Return a joint's name without what the line's kind already says."""
    name, kind = answer.joint.name, answer.joint.kind
    tails = {"eave": ", top", "gable": ", top", "corner": ", end", "ridge": ", ridge",
             "spline": ", between panels", "sill": ", foot"}  # fmt: skip
    return name.removesuffix(tails.get(kind, "")) if kind != "opening" else name


def write_crew_card(
    order: Order, path: Path, system: System | None = None, card: Card | None = None
) -> int:
    """Write the crew card as a PDF of one page; Letter or A4, upright.

    Parameters
    ----------
    order : Order
        The answer to a job.
    path : Path
        Where to.
    system : {'imperial', 'metric'}, optional
        Of text and page; the job's own units otherwise.
    card : Card, optional
        What it says instead of the gaps to hold.

    Returns
    -------
    int
        Number of pages: 1.
    """
    with paper.plain_text():
        figure = card_page(order, system, card)
    return paper.write_pages(path, [figure], f"Crew card: {order.frame.job.title}")


MARGIN = paper.SMALL_MARGIN
SIZE = 12.0
"""Text of what to do [pt]."""


def card_page(order: Order, system: System | None = None, card: Card | None = None) -> Figure:
    """Return the crew card as a page: type as large as its lines allow.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.
    card : Card, optional
        What it says instead of the gaps to hold.
    """
    system = system or order.frame.job.units
    figure, sheet = paper.page(system)
    wide, high = (inches * paper.POINTS for inches in figure.get_size_inches())
    room = wide - 2 * MARGIN
    card = card or Card(tuple(crew_card(order, system)))
    y = _head(sheet, order, card, room)
    rules = _Rules(room, order, card.rules)
    foot = high - MARGIN - rules.height
    table = _Gaps(card, room, foot - y - 10)
    table.draw(sheet, MARGIN, y)
    rules.draw(sheet, MARGIN, foot)
    return figure


def _head(sheet: Axes, order: Order, card: Card, room: float) -> float:
    """Set title, the message in large type, and the table's place below it [pt]."""
    y = MARGIN - 8
    paper.put(sheet, MARGIN, y, card.head, 22, True)
    y += 28
    title = paper.cut(order.frame.job.title, 12, room)
    paper.put(sheet, MARGIN, y, title, 12)
    return paper.paragraph(sheet, MARGIN, y + 20, card.message, 13.5, room, True) + 6


TRIED = (
    *((size, 9) for size in (24.0, 22.0, 20.0, 18.0, 16.0, 15.0, 14.0, 13.0, 12.0)),
    *((size, 2) for size in (16.0, 14.0, 12.0, 11.0, 10.0, 9.0, 8.0, 7.0)),
)
"""Text size [pt] and most lines of places, in the order they are tried."""


class _Gaps:
    """The table of gaps, fitted to its height: smaller type first, then one line a kind."""

    def __init__(self, card: Card, room: float, height: float) -> None:
        self.room, self.card = room, card
        for self.size, most_lines in TRIED:
            if self.size < card.smallest:
                break
            self.rows = [self._row(line, most_lines) for line in card.lines]
            if self._height() <= height:
                return
        for self.size in (20.0, 16.0, 12.0, 9.0):
            self.rows = [self._row(line, 2) for line in _by_kind(card)]
            if self._height() <= height:
                return

    def _row(self, line: CrewLine, most_lines: int) -> list[tuple[list[str], float, bool]]:
        """Return the stacked texts of a row's wide column: lines, size, bold."""
        width = self.card.shares[0] * self.room - 8
        small = max(0.5 * self.size, min(9.0, self.size))
        places = paper.wrapped("; ".join(line.places), small, width)
        if len(places) > most_lines:
            places = places[:most_lines]
            places[-1] = paper.cut(places[-1] + " …", small, width)
        note = paper.wrapped(line.warning or line.note or f"measured {line.measured}", small, width)
        large = max(0.62 * self.size, small)
        title = paper.wrapped(line.kind, large, width, True)
        numbers = (line.hold, line.least, line.most, line.answer)
        self._texts = getattr(self, "_texts", {})
        self._texts[id(places)] = (numbers, line.warning)
        return [(title, large, True), (places, small, False), (note, small, False)]

    def _height(self) -> float:
        return 1.5 * 11 + sum(self._row_height(row) for row in self.rows)

    def _row_height(self, row: list[tuple[list[str], float, bool]]) -> float:
        return sum(len(t) * s * paper.LEAD for t, s, _ in row) + 0.35 * self.size

    def draw(self, sheet: Axes, x: float, y: float) -> None:
        """Draw the table with its top left at a place [pt]."""
        edges = [x + share * self.room for share in (*self.card.shares, 1.0)]
        for text, at in zip(self.card.columns, edges[:-1], strict=True):
            paper.put(sheet, at, y, text, 9.5, True)
        y += 15
        for row in self.rows:
            paper.rule(sheet, x, x + self.room, y, 1.0)
            tall, top = self._row_height(row), y + 0.15 * self.size
            for lines, size, bold in row:
                for line in lines:
                    paper.put(sheet, x, top, line, size, bold)
                    top += size * paper.LEAD
            numbers, warning = self._texts[id(row[1][0])]
            self._numbers(sheet, edges, y + 0.25 * self.size, numbers, bool(warning))
            y += tall
        paper.rule(sheet, x, x + self.room, y, 1.0)

    def _numbers(
        self, sheet: Axes, edges: list[float], y: float, numbers: tuple[str, ...], wrong: bool
    ) -> None:
        small = max(0.68 * self.size, min(10.0, self.size))
        for number, text in enumerate(numbers):
            at, room = edges[number], edges[number + 1] - edges[number]
            bold = number in (0, 3)
            size = self.size if number == 0 else small
            fit = paper.size_for([text], room - 8, 99.0, size, bold)
            paper.put(sheet, at, y + 0.5 * (self.size - fit), text, fit, bold)
        if wrong:
            paper.put(sheet, edges[1], y, "STOP: CALL", 0.62 * self.size, True)
        elif not numbers[3]:
            paper.rule(sheet, edges[3], edges[4], y + 1.2 * self.size, 0.8)


def _by_kind(card: Card) -> list[CrewLine]:
    """Return one line a kind, where there are too many to show: the range and where to look."""
    found = []
    for kind in KINDS.values():
        same = [line for line in card.lines if line.kind == kind]
        if not same:
            continue
        first, places = same[0], sum(len(line.places) for line in same)
        if len(same) == 1:
            found.append(first)
            continue
        where = f"{places} places with {len(same)} different gaps: {card.otherwise}"
        wrong = next((line.warning for line in same if line.warning), "")
        found.append(CrewLine(kind, (where,), "see sheet", "", "", first.measured, wrong))
    return found


class _Rules:
    """What to do, and the cautions, measured before they are set."""

    def __init__(self, room: float, order: Order, rules: tuple[tuple[str, str], ...]) -> None:
        self.room, self.split = room, 0.36 * room
        sheet = order.frame.job.sheet
        call = sheet.call if sheet and sheet.call else "______________________________"
        self.rows = [
            (paper.wrapped(found, SIZE, self.split - 12, True),
             paper.wrapped(do, SIZE, room - self.split, found == "CALL"))
            for found, do in (*rules, ("Foam to have on site", foam_line(order)), ("CALL", call))
        ]  # fmt: skip
        self.small = [line for text in CAUTIONS for line in paper.wrapped(text, 7.0, room)]

    @property
    def height(self) -> float:
        """Height of all of it [pt]."""
        return 24 + sum(self._tall(row) for row in self.rows) + 7.0 * paper.LEAD * len(self.small)

    @staticmethod
    def _tall(row: tuple[list[str], list[str]]) -> float:
        return max(map(len, row)) * SIZE * paper.LEAD + 5

    def draw(self, sheet: Axes, x: float, y: float) -> None:
        """Draw it with its top left at a place [pt]."""
        paper.put(sheet, x, y, "WHAT YOU FIND", 12, True)
        paper.put(sheet, x + self.split, y, "WHAT YOU DO", 12, True)
        y += 18
        for row in self.rows:
            paper.rule(sheet, x, x + self.room, y - 2, 0.4)
            for at, lines in ((x, row[0]), (x + self.split, row[1])):
                for number, line in enumerate(lines):
                    bold = at == x or row is self.rows[-1]
                    paper.put(sheet, at, y + number * SIZE * paper.LEAD, line, SIZE, bold)
            y += self._tall(row)
        for line in self.small:
            paper.put(sheet, x, y, line, 7.0)
            y += 7.0 * paper.LEAD
