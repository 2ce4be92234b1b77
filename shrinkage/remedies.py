"""What else would do where a joint's gap fails a limit, in the order to try it, each re-computed.

Wider gap, softer foam, foam later (with a calendar), drier timber, backer and sealant, a strip that
swells. Where backer and sealant replace the foam, the joint-width rule of ASTM C1472 governs,
`movement / capability + tolerance` (from memory of the guide, which excludes aerosol foam).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shrinkage.allowance import Allowance, Limit, Rules, Status, allow
from shrinkage.calendar import EVENTS
from shrinkage.filling import Filling, of_kind
from shrinkage.foam import Foam
from shrinkage.foam_kinds import find_kind
from shrinkage.foam_life import FoamLife, life
from shrinkage.foam_stress import from_sheet
from shrinkage.frame import Frame, build
from shrinkage.job import CalendarSpec
from shrinkage.jobfile import Document
from shrinkage.joint import Joint
from shrinkage.timber import Timber
from shrinkage.units import round_to
from shrinkage.whatif import rebuilt

SOFTER, STRIP = "flexible gun foam", "compressible strip"
SEALANT_CLASSES = (0.25, 0.50)
"""Movement either way that sealants of classes 25 and 50 of ASTM C920 follow [-] (from memory)."""
SEALANT_WIDEST = 50.8
"""Widest joint taken to be sealed over a backer [mm]; 2 in, from memory of the trade."""


@dataclass(frozen=True)
class Remedy:
    """Something else that would do, worked through again.

    Parameters
    ----------
    what : str
        The change.
    gap : float
        Gap on the day with it [mm].
    status : str
        Whether it can then be filled.
    line_load : float or None
        What the filler would push with along the joint [N/m]; None where not worked or not known.
    lifts : bool
        Whether that is still more than what holds the roof panel down.
    """

    what: str
    gap: float
    status: Status
    line_load: float | None = None
    lifts: bool = False


def _drier(wood: Timber, moisture: float) -> Timber:
    """Return a timber no wetter than a moisture on the day, followed end to end without dates."""
    on_the_day = min(wood.moisture, max(moisture, wood.air.low))
    return replace(wood, moisture=on_the_day, course=None)


def drier_joint(joint: Joint, moisture: float) -> Joint:
    """Return a joint whose timbers are no wetter than a moisture [%] when the panels go on."""
    layers = tuple(
        replace(layer, wood=_drier(layer.wood, moisture))
        if isinstance(layer.wood, Timber)
        else layer
        for layer in joint.layers
    )
    return replace(joint, layers=layers)


def with_gap(answer: Allowance, gap: float) -> Allowance:
    """Return a joint's answer with another gap on the day [mm], nothing else changed."""
    joint = answer.joint
    parts = 2 if joint.kind == "ridge" else 1
    off = gap * joint.measure / parts + joint.extra_off
    widest = off * parts / joint.measure - float(answer.seasons.closing_before_foam().min())
    status: Status = "ok" if widest <= answer.foam.most_width else "too wide to foam"
    return replace(answer, gap=gap, off=off, widest=widest, status=status)


def wider(
    answer: Allowance, filling: Filling, rules: Rules, most_load: float | None = None
) -> Allowance | None:
    """Return the narrowest gap at which a joint's foam fits and pushes with no more than a load.

    Parameters
    ----------
    answer : Allowance
        The joint as it is.
    filling : Filling
        The foam as a material.
    rules : Rules
        Whose fraction steps the gap.
    most_load : float, optional
        Line load not to be passed [N/m].

    Returns
    -------
    Allowance or None
        None where no gap the foam can fill does it.
    """
    joint = answer.joint
    parts = 2 if joint.kind == "ridge" else 1
    step = rules.fraction * parts / joint.measure
    for count in range(1, 1 + int((answer.foam.most_width - answer.gap) / step + 2)):
        tried = with_gap(answer, answer.gap + count * step)
        found = life(tried, filling)
        if tried.status != "ok" or found is None:
            return None
        load = found.line_load
        if found.fits and load is not None and (most_load is None or load <= most_load):
            return tried
    return None


def sealed(answer: Allowance, rules: Rules, capability: float) -> Allowance:
    """Return a joint worked as backer and sealant: the form of ASTM C1472.

    ``gap = max(movement / capability, closing + keep clear) + tolerance``, movement the worst
    closing or opening once the sealant is in.

    Parameters
    ----------
    answer : Allowance
        The joint as it is.
    rules : Rules
        Tolerances and least gap.
    capability : float
        Movement either way the sealant follows, as a share of its width [-].
    """
    seasons, joint = answer.seasons, answer.joint
    moves = max(float(seasons.closing_after_foam().max()), answer.opening)
    before = float(seasons.closing_before_foam().max())
    width = moves / capability + before
    clear = seasons.closing + rules.keep_clear
    how = f"{seasons.closing:.2f} + {rules.keep_clear:.2f}"
    limits = (
        Limit("sealant's movement", width, f"{moves:.2f} / {capability:g} + {before:.2f}"),
        Limit("wood never bears on panel", clear, how),
    )
    needed = max(width, clear) + answer.tolerance
    parts = 2 if joint.kind == "ridge" else 1
    off = round_to(needed * joint.measure / parts + joint.extra_off, rules.fraction, "up")
    gap = (off - joint.extra_off) * parts / joint.measure
    changed = with_gap(replace(answer, limits=limits, needed=needed), gap)
    return replace(changed, status="ok" if changed.widest <= SEALANT_WIDEST else "too wide to foam")


def foamed_later(frame: Frame) -> Frame | None:
    """Return the frame foamed at the end of its first heating season; None without a calendar.

    Parameters
    ----------
    frame : Frame
        As planned.
    """
    dates = frame.calendar
    if dates is None or dates.foamed >= dates.season_end:
        return None
    then = {name: getattr(dates, name) for name in (*EVENTS, "years")}
    spec = CalendarSpec(**then | {"foamed": dates.season_end})
    job = frame.job.model_copy(update={"calendar": spec})
    return build(Document(job, frame.document.source))


def _load(answer: Allowance, filling: Filling | None) -> float | None:
    found: FoamLife | None = life(answer, filling) if filling else None
    return found.line_load if found else None


def _as_kind(filling: Filling | None, name: str) -> Filling | None:
    kind = find_kind(name)
    if filling is None:
        return None
    return replace(
        filling,
        kind=name,
        material=from_sheet(kind.density, kind.stress_at_10),
        material_source=f"{kind.basis}: {kind.source}",
        relaxation=1.0,
        relaxation_source="",
    )


def remedies(
    joint: Joint,
    foam: Foam,
    rules: Rules,
    filling: Filling | None = None,
    later: Joint | None = None,
    drier: Sequence[float] = (19.0, 15.0),
    most_load: float | None = None,
) -> tuple[Remedy, ...]:
    """Work a joint again in every way that is open, in the order to try them.

    Parameters
    ----------
    joint, foam, rules : Joint, Foam, Rules
        As for `allow`.
    filling : Filling, optional
        The foam as a material, for the line loads.
    later : Joint, optional
        The joint as it is when foamed at the end of the first heating season.
    drier : sequence of float
        Moisture contents to try [%]; timbers already drier keep their own.
    most_load : float, optional
        What holds the roof panel down on this line [N/m].

    Returns
    -------
    tuple of Remedy
        Each re-computed.
    """
    now = allow(joint, foam, rules)

    def done(what: str, answer: Allowance, fill: Filling | None = filling) -> Remedy:
        load = _load(answer, fill)
        lifts = load is not None and most_load is not None and load > most_load
        return Remedy(what, answer.gap, answer.status, load, lifts)

    found = []
    if filling is not None and now.status == "ok":
        more = wider(now, filling, rules, most_load)
        if more is None:  # none does, and the widest is what there is to show for it
            widest = with_gap(now, now.gap + foam.most_width - now.widest)
            found.append(done("wider gap, the widest the foam fills", widest))
        else:
            found.append(done("wider gap", more))
    if foam.squeeze_once < (kind := find_kind(SOFTER)).squeeze_once / 100:
        what = f"softer foam ({SOFTER}), which takes {kind.squeeze_once:g} % compression once"
        soft = allow(joint, of_kind(kind, foam), rules)
        found.append(done(what, soft, _as_kind(filling, SOFTER)))
    if later is not None:
        then = allow(later, foam, rules)
        found.append(done("foamed at the end of the first heating season", then))
    for moisture in drier:
        answer = allow(drier_joint(joint, moisture), foam, rules)
        found.append(done(f"timbers at {moisture:g} % when panels go on", answer))
    for capability in SEALANT_CLASSES:
        answer = sealed(now, rules, capability)
        words = f"backer and sealant in place of foam, sealant of class {100 * capability:.0f}"
        found.append(Remedy(words, answer.gap, answer.status, 0.0))
    kind = find_kind(STRIP)
    strip = replace(of_kind(kind, foam), least_width=kind.least_width, most_width=kind.most_width)
    found.append(done(f"{STRIP} in place of foam", allow(joint, strip, rules),
                      _as_kind(filling, STRIP)))  # fmt: skip
    return tuple(found)


def remedies_of(frame: Frame, answers: Sequence[Allowance]) -> dict[str, tuple[Remedy, ...]]:
    """Return what else would do for some joints of a frame, by the joints' names.

    Parameters
    ----------
    frame : Frame
        The building.
    answers : sequence of Allowance
        The joints that fail a limit.
    """
    then = foamed_later(frame) if answers else None
    holds = frame.hold_down
    found = {}
    for answer in answers:
        joint = answer.joint
        later = rebuilt(then, joint.name) if then else None
        against = holds.holds(joint.kind) if holds else None
        found[joint.name] = remedies(
            joint, answer.foam, frame.rules, frame.filling, later, most_load=against
        )
    return found
