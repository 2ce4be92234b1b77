"""What to do about one gap that was found: go, trim, pack, wait, or ask the engineer, and why.

The order in which these are tried is common practice, no published source; docs/site.md lists it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from shrinkage.allowance import Allowance, Rules, limits
from shrinkage.joint import Seasons
from shrinkage.units import TAPE_STEP, System, round_to, show

Answer = Literal["go", "trim", "pack", "wait", "ask the engineer"]
SEASON_OVER = "first heating season over"


@dataclass(frozen=True)
class Choice:
    """What to do about a gap.

    Parameters
    ----------
    answer : str
        One of `ANSWERS`.
    why : str
        The reason, in words.
    by : float
        What to trim off the panel as it is measured, or the thickness of the strip to pack with
        [mm].
    until : datetime.date or None
        Until when to wait.
    """

    answer: Answer
    why: str
    by: float = 0.0
    until: date | None = None


@dataclass(frozen=True)
class Case:
    """A gap that was found, and what bears on what to do about it.

    Parameters
    ----------
    today : Allowance
        The joint from that day on, with the gap that was found.
    rules : Rules
        Least gaps and the plant's fraction; the tape's tolerance is the only one left in them.
    uneven, most_uneven : float
        By how much its readings differ, and by how much they may [mm].
    most_trim, most_pack : float
        Most that may be trimmed there on site, and the thickest strip to pack with [mm].
    system : {'imperial', 'metric'}
        Of the reason's text.
    """

    today: Allowance
    rules: Rules
    uneven: float
    most_uneven: float
    most_trim: float
    most_pack: float
    system: System

    @property
    def most_now(self) -> float:
        """Widest gap that could be foamed if nothing closed before [mm]."""
        return self.today.gap_most - float(self.today.seasons.closing_before_foam().min())

    def text(self, mm: float) -> str:
        """Write a length for people."""
        return show(mm, self.system)

    @property
    def from_(self) -> str:
        """The narrowest gap that does, for people: rounded up."""
        return self.text(round_to(self.today.needed, self._step, "up"))

    @property
    def up_to(self) -> str:
        """The widest gap that does when the foam is due, for people: rounded down."""
        return self.text(round_to(self.today.gap_most, self._step, "down"))

    @property
    def _step(self) -> float:
        return TAPE_STEP[self.system]


def choose(case: Case) -> Choice:
    """Choose what to do.

    Parameters
    ----------
    case : Case
        The gap.

    Returns
    -------
    Choice
        With its reason.
    """
    today, text = case.today, case.text
    if today.gap <= today.tolerance:
        return _ask(f"wood touches panel, or as good as: found {text(today.gap)}")
    if case.uneven > case.most_uneven + 1e-9:
        return _ask(
            f"uneven: its readings differ by {text(case.uneven)}, more than "
            f"{text(case.most_uneven)}"
        )
    if today.gap > today.gap_most:
        return _too_wide(case)
    if today.gap < today.needed:
        return _too_narrow(case)
    if today.gap > case.most_now:
        until = _closed_into_range(case)
        if until is not None:
            why = (
                f"found {text(today.gap)}, too wide to foam today; closes into the range by itself"
            )
            return Choice("wait", why, until=until)
        return _too_wide(case)
    return Choice("go", f"found {text(today.gap)}; from {case.from_} to {case.up_to} does")


def _ask(why: str) -> Choice:
    return Choice("ask the engineer", why)


def _too_wide(case: Case) -> Choice:
    today, text = case.today, case.text
    why = f"found {text(today.gap)}, too wide to foam: up to {case.up_to} does"
    strip = round_to(today.gap - min(today.gap_most, case.most_now), case.rules.fraction, "up")
    left, later = today.gap - strip, foam_later(case)
    fits = left >= today.needed
    if fits and strip <= case.most_pack:
        also = f", or foam not before {later}" if later else ""
        why += f"; an inert strip {text(strip)} thick leaves {text(left)}{also}"
        return Choice("pack", why, strip)
    if later:
        return Choice("wait", f"{why}; foamed later it does", until=later)
    if fits:
        return _ask(
            f"{why}; that takes a strip {text(strip)} thick, more than the {text(case.most_pack)} "
            "that may be packed on site; it may be the wrong panel"
        )
    return _ask(
        f"{why}, and a strip would leave less than the {case.from_} it needs ({today.governs.name})"
    )


def _too_narrow(case: Case) -> Choice:
    today, text, measure = case.today, case.text, case.today.joint.measure
    why = f"found {text(today.gap)}, needs {case.from_} ({today.governs.name})"
    trim = round_to((today.needed - today.gap) * measure, case.rules.fraction, "up")
    after, later = today.gap + trim / measure, foam_later(case)
    fits = after <= min(today.gap_most, case.most_now)
    if fits and trim <= case.most_trim:
        one = ", off one of the two panels" if today.joint.kind == "ridge" else ""
        also = f"; or foam not before {later}" if later else ""
        return Choice("trim", f"{why}; trimmed it is {text(after)}{one}{also}", trim)
    if later:
        return Choice("wait", f"{why}; foamed later it does", until=later)
    if not fits:
        return _ask(f"{why}, and that is more than can be foamed, {case.up_to}")
    return _ask(
        f"{why}; that takes {text(trim)} off, more than the {text(case.most_trim)} that may be "
        "trimmed on site"
    )


def _closed_into_range(case: Case) -> date | None:
    """Return the first day up to the foam's on which the gap is narrow enough, if there is one."""
    seasons = case.today.seasons
    for row in range(1, seasons.line.foamed + 1):
        # The slowest drying tells; `gap_most` reckons with the same.
        if case.today.gap - float(seasons.path[:, row, 2].min()) <= case.most_now:
            return _date(seasons, row)
    return None


def foam_later(case: Case) -> date | None:
    """Return the first day after the foam's, in the first heating season, on which the gap does.

    Parameters
    ----------
    case : Case
        The gap.

    Returns
    -------
    datetime.date or None
        None without a calendar, or where no such day does.
    """
    today, seasons = case.today, case.today.seasons
    if seasons.line.sawn is None or not today.joint.layers:
        return None
    for row in range(seasons.line.foamed + 1, seasons.line.marks[SEASON_OVER] + 1):
        then = replace(seasons, line=replace(seasons.line, foamed=row))
        tried = limits(today.joint, today.foam, case.rules, then)
        least = max(limit.needed for limit in tried) + today.tolerance
        if least <= today.gap <= case.most_now + float(then.closing_before_foam().min()):
            return _date(seasons, row)
    return None


def _date(seasons: Seasons, row: int) -> date:
    assert seasons.line.sawn is not None
    return seasons.line.sawn + timedelta(days=round(float(seasons.line.days[row])))
