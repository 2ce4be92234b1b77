"""What the readings say, in words and tables: for a terminal, a file and a page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from shrinkage import units
from shrinkage.blocks import Block, Bullets, Heading, Table, Text, to_markdown
from shrinkage.chance import Range
from shrinkage.schedule import CAUTIONS, aligned
from shrinkage.site_log import Kind
from shrinkage.units import System
from shrinkage.watch import Drift, GapForecast, Seen, Watch
from shrinkage.watch_known import Known

SIDES: dict[Kind, tuple[str, str]] = {
    "gap": ("narrower", "wider"), "moisture": ("drier", "wetter"),
    "width": ("narrower", "wider"), "depth": ("shallower", "deeper"),
}  # fmt: skip
MEANS: dict[Kind, tuple[str, str]] = {
    "gap": ("gaps close more, or sooner, than forecast",
            "gaps close less, or later, than forecast"),
    "moisture": ("the wood dries faster than forecast, or the meter reads low on it",
                 "the wood dries slower than forecast, or the meter reads high on it"),
    "width": ("the wood shrinks more, or sooner, than forecast",
              "the wood shrinks less, or later, than forecast"),
    "depth": ("the wood shrinks more, or sooner, than forecast",
              "the wood shrinks less, or later, than forecast"),
}  # fmt: skip
BY_CHANCE = "one reading in ten lies outside by chance"


def value_text(kind: Kind, value: float, system: System) -> str:
    """Write a reading: a length in the job's units to 1/32 in or 0.1 mm, a moisture in percent."""
    return f"{value:.1f} %" if kind == "moisture" else units.show(value, system, 32)


def share_text(share: float) -> str:
    """Write a chance in percent; below what the draws can tell it is 'under 0.1 %'."""
    return "under 0.1 %" if share < 0.001 else f"{100 * share:.2g} %"


def _between(kind: Kind, low: float, high: float, system: System) -> str:
    ends = (value_text(kind, low, system), value_text(kind, high, system))
    return " to ".join(dict.fromkeys(ends))


def _side(one: Seen) -> str:
    return SIDES[one.entry.kind][one.step.score > 0]


def verdict(one: Seen) -> str:
    """Return whether a reading lies in the band that was forecast before it."""
    if not one.step.used:
        return f"far {_side(one)}: not used"
    return "inside" if one.step.is_inside else f"{_side(one)} than forecast"


def alarms(found: Watch, system: System) -> list[str]:
    """Return what a framer has to know at once, the worst first.

    Parameters
    ----------
    found : Watch
        What the readings say.
    system : {'imperial', 'metric'}
        Of lengths.
    """
    apart = sorted(found.alarms, key=lambda one: one.step.used)
    lines = [*_far_together(apart), *(_alarm(found, one, system) for one in apart)]
    lines += [_drift(drift) for drift in found.drifts]
    if not found.is_trusted:
        lines.append(
            f"Only {found.effective:.0f} effective draws carry this answer: do not rely on its "
            "bands; check the readings first"
        )
    return lines


def _far_together(apart: Sequence[Seen]) -> list[str]:
    """Tell a forecast that is wrong from a slip of the tape: slips do not agree."""
    far = Counter((one.entry.kind, _side(one)) for one in apart if not one.step.used)
    return [
        f"{count} {kind} readings are far {side} than forecast: slips do not agree like that. Do "
        "not go by the bands below; ask the engineer"
        for (kind, side), count in far.items()
        if count > 1
    ]


def _alarm(found: Watch, one: Seen, system: System) -> str:
    kind, step, entry = one.entry.kind, one.step, one.entry
    read, band = (
        value_text(kind, one.reading.value, system),
        _between(kind, step.low, step.high, system),
    )
    just = "just " if read in band.split(" to ") else ""
    text = (
        f"{entry.day}, {kind} at {entry.place}: {read} is {just}{_side(one)} than the {band} "
        "forecast"
    )
    if not step.used:
        return (
            f"{text}: no draw explains it, and it is not used. Check tape, place and unit; if it "
            "stands, ask the engineer before anything is foamed or trimmed"
        )
    here = [other for other in found.seen if other.reading.subject == one.reading.subject]
    if here[0] is one and kind != "moisture":
        first = "how the panel was hung" if kind == "gap" else "how the timber was sawn"
        return f"{text}. It is the first reading here and mostly says {first}"
    return f"{text}. Read it again: {BY_CHANCE}, two on one side hardly"


def _drift(drift: Drift) -> str:
    return (
        f"{drift.count} {drift.kind} readings together lie on one side (score "
        f"{drift.score:+.1f}; beyond 2 one time in twenty by chance): "
        f"{MEANS[drift.kind][drift.score > 0]}. The forecast below has taken it in; tell the "
        "engineer"
    )


def answers(found: Watch, system: System) -> list[str]:
    """Return the new answer for each gap in a line."""
    return [_answer(gap, system) for gap in found.gaps]


def _answer(gap: GapForecast, system: System) -> str:
    def band(least: Range) -> str:
        return _between("gap", least.low, least.high, system)

    return (
        f"{gap.place}: least gap ever left {band(gap.least_after)} (before the readings "
        f"{band(gap.least_before)}); chance of touching {share_text(gap.touching_after)} "
        f"(before {share_text(gap.touching_before)})"
    )


def readings_table(found: Watch, system: System) -> Table:
    """Return one row a reading, by date."""
    rows = [
        (
            f"{one.entry.day}",
            one.entry.kind,
            one.entry.place,
            value_text(one.entry.kind, one.reading.value, system),
            _between(one.entry.kind, one.step.low, one.step.high, system),
            verdict(one),
        )
        for one in found.seen
    ]
    return Table(("date", "what", "where", "read", "forecast before it", "so"), tuple(rows))


def gaps_table(found: Watch, system: System) -> Table:
    """Return one row a gap: least ever left and chance of touching, before and after."""
    rows = [
        (
            gap.place,
            units.show(gap.gap, system),
            _between("gap", gap.least_before.low, gap.least_before.high, system),
            _between("gap", gap.least_after.low, gap.least_after.high, system),
            f"{100 * gap.narrower:.0f} %",
            share_text(gap.touching_before),
            share_text(gap.touching_after),
        )
        for gap in found.gaps
    ]
    head = ("gap", "ordered", "least left, before", "least left, now", "band now, of before",
            "touching, before", "touching, now")  # fmt: skip
    return Table(head, tuple(rows))


def known_table(rows: Sequence[Known]) -> Table:
    """Return one row a number that was unknown, before and after the readings."""

    def three(values: Range, unit: str) -> str:
        return (
            f"{values.median:.2f} ({values.low:.2f} to {values.high:.2f}){f' {unit}' * bool(unit)}"
        )

    return Table(
        ("what", "before", "now", "band now, of before"),
        tuple(
            (one.name, three(one.before, one.unit), three(one.after, one.unit),
             f"{100 * one.narrower:.0f} %")
            for one in rows
        ),
    )  # fmt: skip


def front(found: Watch, system: System) -> list[Block]:
    """Return what the readings say, before the pictures."""
    outside, count = len(found.alarms), len(found.seen)
    title = f"Watching: {found.order.frame.job.title}"
    blocks: list[Block] = [Heading(1, title)]
    blocks.append(
        Text(
            f"{count} readings, {count - outside} inside the 90 % band forecast from the readings "
            f"before each, {outside} outside; {BY_CHANCE}."
        )
    )
    told = alarms(found, system)
    if told:
        blocks += [Heading(2, "Look at these first"), Bullets(tuple(told))]
    blocks += [Heading(2, "What is to come"), Bullets(tuple(answers(found, system)))]
    return blocks


def tables(found: Watch, system: System) -> list[Block]:
    """Return what the answer rests on, after the pictures."""
    blocks: list[Block] = [Heading(2, "Readings"), readings_table(found, system)]
    if found.problems:
        blocks += [Text("Set aside, the rest is kept:"), Bullets(found.problems)]
    blocks += [
        Heading(2, "Gaps"),
        Text("5 to 95 %, from the day the panels went on to the last year looked ahead to."),
        gaps_table(found, system),
        Heading(2, "What was unknown"),
        Text("Median, and 5 to 95 %, before any reading and now."),
        known_table(found.known),
        Text(
            f"{found.effective:.0f} effective draws. Weighted and moved as docs/watching.md says: "
            "shrinkage of each wood, section factor, speed of drying, rings and air are learnt; "
            "how a panel was hung and a timber sawn is learnt place by place."
        ),
        Heading(2, "Before you use this"),
        Bullets(CAUTIONS),
    ]
    return blocks


def markdown(found: Watch, system: System) -> str:
    """Return the whole as Markdown."""
    return to_markdown([*front(found, system), *tables(found, system)])


def terminal(found: Watch, system: System) -> str:
    """Return readings, alarms and the new answer as text for a terminal."""
    import pandas as pd

    table = readings_table(found, system)
    shown = aligned(pd.DataFrame(list(table.rows), columns=list(table.head)))
    lines = [f"! {line}" for line in alarms(found, system)]
    return "\n\n".join(filter(None, [shown, "\n".join(lines), "\n".join(answers(found, system))]))
