"""The gap to leave on the day, with every limit that was tried, and what comes off the panel.

The form ``movement / what the filler can take + tolerance`` is that of the joint-width rule for
sealant joints in ASTM C1472 (from memory of the guide, which says of itself that it is not for
joints sealed with aerosol foam: it lends the form only).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shrinkage.errors import ShrinkageError
from shrinkage.foam import Foam
from shrinkage.joint import Closure, Joint, JointKind, Seasons, closure
from shrinkage.units import round_to

CRUSH_LIMIT = "foam crushed once by the first drying"

Status = Literal["ok", "too wide to foam", "bearing"]

WHICH_TOLERANCES: dict[JointKind, tuple[str, ...]] = {
    "eave": ("cutting", "frame", "setting"),
    "gable": ("cutting", "frame", "setting"),
    "corner": ("cutting", "frame", "setting"),
    "ridge": ("cutting", "frame", "setting"),
    "sill": ("cutting", "frame", "setting"),
    "opening": ("cutting", "setting"),
    "spline": ("cutting",),
}
"""What can go wrong at each joint: panels of one wall are set against each other, so that neither
frame nor setting error gathers in the joint between two of them."""


@dataclass(frozen=True)
class Rules:
    """What every gap is held to, besides the foam's own limits.

    Parameters
    ----------
    keep_clear : float
        Least gap that must always be left so that wood never bears on panel [mm].
    cutting, frame, setting : float
        Tolerances of the panel plant, the frame and the raising [mm].
    add_tolerances : {'root-sum-square', 'sum'}
        How they are put together.
    fraction : float
        Fraction the plant cuts to [mm].
    spline_fill : float
        Gap wanted between two panels of one wall [mm].
    """

    keep_clear: float = 3.175
    cutting: float = 3.175
    frame: float = 3.175
    setting: float = 3.175
    add_tolerances: Literal["root-sum-square", "sum"] = "root-sum-square"
    fraction: float = 3.175
    spline_fill: float = 3.175

    def __post_init__(self) -> None:
        for key in ("keep_clear", "cutting", "frame", "setting", "spline_fill"):
            if not 0 <= getattr(self, key) < math.inf:
                raise ShrinkageError(f"{key}: {getattr(self, key)!r} mm; accepted: 0 or more")
        if not 0 < self.fraction <= 50.8:
            raise ShrinkageError(f"fraction: {self.fraction!r} mm; accepted: above 0, up to 2 in")

    def tolerance(self, kind: JointKind) -> float:
        """Return the tolerance of one kind of joint [mm]."""
        parts = [getattr(self, key) for key in WHICH_TOLERANCES[kind]]
        return math.hypot(*parts) if self.add_tolerances == "root-sum-square" else sum(parts)


@dataclass(frozen=True)
class Limit:
    """One limit that was tried.

    Parameters
    ----------
    name : str
        What it guards.
    needed : float
        Gap it asks for before tolerance [mm].
    formula : str
        How, with the numbers put in [mm].
    """

    name: str
    needed: float
    formula: str


@dataclass(frozen=True)
class Allowance:
    """The answer for one joint. All widths along the joint's normal unless they say otherwise.

    Parameters
    ----------
    joint : Joint
        What was asked.
    seasons : Seasons
        Its closure through time.
    limits : tuple of Limit
        Everything that was tried.
    tolerance : float
        Added to the governing limit [mm].
    needed : float
        Governing limit plus tolerance [mm].
    off : float
        What comes off the panel as it is measured, rounded up to the plant's fraction [mm].
    gap : float
        Gap on the day the panels go on that goes with it [mm].
    widest : float
        Widest place of the joint on the day it is foamed [mm].
    status : str
        'ok', 'too wide to foam' or 'bearing'.
    foam : Foam
        What fills it.
    """

    joint: Joint
    seasons: Seasons
    limits: tuple[Limit, ...]
    tolerance: float
    needed: float
    off: float
    gap: float
    widest: float
    status: Status
    foam: Foam

    @property
    def driest(self) -> Closure:
        """Closure at the driest time."""
        return self.seasons.driest

    @property
    def wettest(self) -> Closure:
        """Closure left at the wettest time."""
        return self.seasons.wettest

    @property
    def closing(self) -> float:
        """The worst closing since the panels went on [mm]."""
        return self.seasons.closing

    @property
    def opening(self) -> float:
        """The worst opening beyond the gap that was foamed [mm]."""
        return float(self.seasons.opening_after_foam().max())

    @property
    def swing(self) -> float:
        """How far the seasons work the joint after the first drying [mm]."""
        return float(self.seasons.swing().max())

    @property
    def governs(self) -> Limit:
        """The limit that asks for most."""
        return max(self.limits, key=lambda limit: limit.needed)

    @property
    def gap_least(self) -> float:
        """Narrowest gap that may be found on the day: the governing limit alone [mm]."""
        return self.governs.needed

    @property
    def gap_most(self) -> float:
        """Widest gap that may be found on the day and still be filled by the foam [mm]."""
        return self.gap + self.foam.most_width - self.widest

    @property
    def gap_foamed(self) -> float:
        """Gap on the day the foam goes in, at the most that closes before [mm]."""
        return self.gap - self.seasons.foamed.most

    def gap_band(self, when: str) -> tuple[float, float]:
        """Return the least and greatest gap of slow, usual and fast drying [mm].

        Parameters
        ----------
        when : {'foamed', 'driest', 'wettest'}
            The time; at the most of the bracket of ring directions.
        """
        closed = self.seasons.path[:, self.seasons.rows[when], 2]
        return self.gap - float(closed.max()), self.gap - float(closed.min())

    @property
    def gap_dry(self) -> float:
        """Least gap left at the driest time [mm]."""
        return self.gap_band("driest")[0]

    @property
    def gap_wet(self) -> float:
        """Least gap left at the wettest time of the year [mm]."""
        return self.gap_band("wettest")[0]

    @property
    def foam_strain(self) -> float:
        """Worst compression of the foam, as a fraction of the gap it was put into [-]."""
        gaps = self.gap - self.seasons.closing_before_foam()
        if self.gap <= 0 or (gaps <= 0).any():
            return 0.0 if self.gap <= 0 else 1.0
        return float((self.seasons.closing_after_foam() / gaps).max())


def limits(joint: Joint, foam: Foam, rules: Rules, seasons: Seasons) -> tuple[Limit, ...]:
    """Return every limit on the gap of the day, before tolerance.

    What closes before the foam goes in comes on top of what the foam asks for. With a calendar
    each limit is worked for slow, usual and fast drying, and the band that asks for most is taken.

    Parameters
    ----------
    joint : Joint
        Its kind sets the width that can be filled.
    foam : Foam
        What fills the gap.
    rules : Rules
        Least gaps.
    seasons : Seasons
        Closure through time.

    Returns
    -------
    tuple of Limit
        In the order they are explained.
    """
    bands = zip(
        seasons.closing_before_foam(),
        seasons.closing_after_foam(),
        seasons.opening_after_foam(),
        seasons.swing(),
        strict=True,
    )
    fill = rules.spline_fill if joint.kind == "spline" else foam.least_width
    tried = [_foam_limits(foam, fill, *map(float, band)) for band in bands]
    worst = [max(same, key=lambda limit: limit.needed) for same in zip(*tried, strict=True)]
    clear = Limit(
        "wood never bears on panel",
        seasons.closing + rules.keep_clear,
        f"{seasons.closing:.2f} + {rules.keep_clear:.2f}",
    )
    return (*worst[:2], clear, *worst[2:])


def _foam_limits(
    foam: Foam, fill: float, before: float, close: float, spread: float, swing: float
) -> list[Limit]:
    """Return what one band asks for, for the foam's sake."""
    lost = foam.lost(close)
    tail = f" + {before:.2f} before foaming" if abs(before) >= 0.005 else ""
    kept = f" / {foam.kept:g} by its cure" if foam.cure else ""
    plain = (
        ("seen into and filled", fill, f"{fill:.2f}"),
        (CRUSH_LIMIT, close / foam.closes, f"{close:.2f} / {foam.closes:g}"),
        (
            "foam worked by the seasons",
            (swing / 2 / foam.works + lost) / foam.kept if swing else 0.0,
            f"{swing:.2f} / 2 / {foam.works:g} + {lost:.2f} not recovered{kept}",
        ),
        ("tight when the seasons reopen it", *_tight(foam, close, swing)),
        ("foam stretched from the day", spread / foam.opens, f"{spread:.2f} / {foam.opens:g}"),
    )
    return [Limit(name, needed + before, how + tail) for name, needed, how in plain]


def _tight(foam: Foam, close: float, swing: float) -> tuple[float, str]:
    """Return the gap at which crushed foam stays tight when the seasons reopen it, and how.

    Stretch = (swing - recovery c - recovery cure gap) / (kept gap - (1 - recovery) c).
    """
    lost, back = foam.lost(close), foam.recovery * close
    given_back, takes = f"{foam.recovery:g} x {close:.2f}", foam.stretches
    if foam.cure and swing:
        needed = (swing - back + takes * lost) / (takes * foam.kept + foam.kept - 1)
        how = f"({swing:.2f} - {given_back} + {takes:g} x {lost:.2f}) / ({takes:g} x {foam.kept:g} "
        return max(needed, 0.0), f"{how}{foam.kept - 1:+g} by its cure)"
    if swing <= back:
        return 0.0, f"{swing:.2f} is within {given_back} given back"
    how = f"({swing:.2f} - {given_back}) / {takes:g} + {lost:.2f}"
    return (swing - back) / takes + lost, how


def allow(joint: Joint, foam: Foam, rules: Rules) -> Allowance:
    """Return the gap a joint needs on the day and what comes off the panel.

    ``gap >= max(limits) + tolerance``; what comes off is rounded up to the plant's fraction as the
    panel is measured, and the gap on the day follows from it.

    Parameters
    ----------
    joint : Joint
        Which joint.
    foam : Foam
        What fills it.
    rules : Rules
        Least gaps, tolerances and the plant's fraction.

    Returns
    -------
    Allowance
        A gap too wide to foam is reported in its status, not refused.
    """
    seasons = closure(joint.layers, joint.normal)
    tried = limits(joint, foam, rules, seasons)
    if joint.kind == "sill" and not joint.layers:
        return Allowance(joint, seasons, tried[:1], 0.0, 0.0, 0.0, 0.0, 0.0, "bearing", foam)
    tolerance = rules.tolerance(joint.kind)
    needed = max(limit.needed for limit in tried) + tolerance
    # A ridge's gap is shared by the two panels that meet there.
    parts = 2 if joint.kind == "ridge" else 1
    off = round_to(needed * joint.measure / parts + joint.extra_off, rules.fraction, "up")
    gap = (off - joint.extra_off) * parts / joint.measure
    widest = off * parts / joint.measure - float(seasons.closing_before_foam().min())
    status: Status = "ok" if widest <= foam.most_width else "too wide to foam"
    return Allowance(joint, seasons, tried, tolerance, needed, off, gap, widest, status, foam)
