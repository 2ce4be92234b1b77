"""The same building with other dates: what foaming later, or waiting longer, would do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from shrinkage.allowance import Allowance, allow
from shrinkage.calendar import EVENTS, Calendar
from shrinkage.frame import Frame, build, ridge_joint, wall_joints
from shrinkage.job import CalendarSpec
from shrinkage.jobfile import Document
from shrinkage.joint import Joint

if TYPE_CHECKING:
    from shrinkage.order import Order


@dataclass(frozen=True)
class WhatIf:
    """The order with other dates.

    Parameters
    ----------
    what : str
        The change.
    dates : Calendar
        The dates it comes to.
    answers : dict of str to Allowance
        By joint name, for the widest joint of each kind that moves.
    """

    what: str
    dates: Calendar
    answers: dict[str, Allowance]


WAIT = timedelta(weeks=6)


def what_ifs(order: Order) -> tuple[WhatIf, ...]:
    """Work the widest moving joint of each kind again with other dates.

    Foam at the end of the first heating season; and a frame that waits six weeks longer under
    cover before the panels go on.

    Parameters
    ----------
    order : Order
        The answer to a job with a calendar; without one there is nothing to change.

    Returns
    -------
    tuple of WhatIf
        Empty without a calendar.
    """
    dates = order.frame.calendar
    if dates is None:
        return ()
    later = dates.enclosed + WAIT
    changes = {
        f"foamed at the end of the first heating season, {dates.season_end}": replace(
            dates, foamed=max(dates.season_end, dates.foamed)
        ),
        f"frame waits six weeks longer under cover, panels on {later}": replace(
            dates, enclosed=later, foamed=dates.foamed + WAIT, heated=max(dates.heated, later)
        ),
    }
    return tuple(_again(order, what, then) for what, then in changes.items())


def _again(order: Order, what: str, dates: Calendar) -> WhatIf:
    spec = CalendarSpec(**{name: getattr(dates, name) for name in (*EVENTS, "years")})
    job = order.frame.job.model_copy(update={"calendar": spec})
    frame = build(Document(job, order.frame.document.source))
    answers = {}
    for widest in widest_of_each_kind(order):
        joint = rebuilt(frame, widest.joint.name)
        if joint is not None and joint.layers:
            answers[joint.name] = allow(joint, frame.foam, frame.rules)
    return WhatIf(what, dates, answers)


def widest_of_each_kind(order: Order) -> list[Allowance]:
    """Return the joint of each kind that asks for the widest gap, eave and corner first."""
    found = []
    for kind in ("eave", "corner", "gable", "ridge", "sill", "opening", "spline"):
        same = [a for a in order.allowances if a.joint.kind == kind and a.status != "bearing"]
        if same:
            found.append(max(same, key=lambda answer: answer.needed))
    return found


def rebuilt(frame: Frame, name: str) -> Joint | None:
    """Return the joint of a name as another frame builds it."""
    for index in range(len(frame.job.wall)):
        for joint in wall_joints(frame, index).values():
            if joint.name == name:
                return joint
    for index in range(len(frame.job.roof)):
        if (joint := ridge_joint(frame, index)).name == name:
            return joint
    return None
