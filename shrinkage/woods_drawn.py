"""One timber for many draws: its R and T, its rings, its moistures, and what a layer of it loses.

With a calendar the drying solver is not run again for every draw. Its three bands (half, once and
twice the diffusion coefficient) are interpolated in log D; a reading or an air that is off shifts
the dried share by as much as the timber has followed it so far; rings that lie elsewhere move the
weight of R in the section's mean dried share and keep the local part of the nominal rings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from shrinkage import rings_drawn
from shrinkage.calendar import USUAL
from shrinkage.drawn import Drawn
from shrinkage.movement import dried_share
from shrinkage.spread import Doubt, Floats, Spread
from shrinkage.timber import END_TO_END, Grain, Timber, Timeline

if TYPE_CHECKING:
    from shrinkage.draw_plan import Columns

GRAINS: tuple[Grain, ...] = ("width", "depth", "length")
YEAR = 12
"""Times of a timeline in a year."""
MOST_SHRINKAGE = 0.499
"""As `species.Species` accepts [-]."""


@dataclass(frozen=True)
class Bands:
    """What the drying solver found, at the times that are followed, shape (3 bands, times).

    ``share`` is the section's mean dried share, ``local`` what the nominal rings' local field adds
    to the weight of R; ``deep`` and ``deep_local`` the same where the timber was driest so far.
    ``follow``, ``fade`` and ``season`` say how a shift of the air, of the first reading and of the
    seasons' swing come through, shape (times,).
    """

    share: Floats
    local: Floats
    deep: dict[Grain, Floats]
    deep_local: dict[Grain, Floats]
    follow: Floats
    fade: Floats
    season: Floats


@dataclass(frozen=True)
class Wood:
    """A timber and the rows of draws it listens to; None where something does not spread."""

    timber: Timber
    spread: Spread
    radial: tuple[int | None, int | None]
    tangential: tuple[int | None, int | None]
    along: int | None
    rings: int | None
    moisture: int | None
    factor: int | None
    air: tuple[int | None, int | None]
    drying: int | None
    level: Floats
    toward_low: Floats
    toward_high: Floats
    end_to_end: bool
    bands: Bands | None


@dataclass(frozen=True)
class State:
    """A timber's numbers for every draw; what is not spread stays one number."""

    s_r: Floats | float
    s_t: Floats | float
    s_l: Floats | float
    weight: Floats | float
    factor: Floats | float
    share: list[Floats | float]
    local: list[Floats | float]
    deep: dict[Grain, list[Floats | float]]
    deep_local: dict[Grain, list[Floats | float]]


def make_wood(
    timber: Timber, spread: Spread, columns: Columns, line: Timeline, times: NDArray[np.intp]
) -> Wood:
    """Find the rows of draws of a timber; what it shares with others it finds already there."""
    name, role = timber.species.name, timber.role
    log = next((" and ".join(roles) for roles in spread.one_log if role in roles), role)
    shared, own = f"shrinkage of {name}", f"{log}: its own shrinkage"

    def pair(letter: str) -> tuple[int | None, int | None]:
        doubt = spread.species
        return (
            columns.of(f"{name} {letter}", shared, doubt, True) if spread.alike > 0 else None,
            columns.of(f"{log} {letter}", own, doubt, True) if spread.alike < 1 else None,
        )

    _, rings = rings_drawn.doubt_of(timber, spread)
    air, where = timber.air.name, timber.air.name.split(",")[0]
    level, low, high = _levels(timber, line, times)
    reading = timber.moisture < timber.species.fibre_saturation
    moisture = spread.moisture if reading else spread.green
    if timber.course is not None and not reading:
        moisture = Doubt(0.0, what="moisture computed by drying")
    width = timber.section_factor - min(timber.section_factor, spread.section_factor_low)
    # A pith is drawn through a table of weights, which wants even draws whatever its shape.
    is_pith = timber.heart.kind in ("boxed", "pith")
    return Wood(
        timber=timber,
        spread=spread,
        radial=pair("R"),
        tangential=pair("T"),
        along=columns.of(f"{name} along", f"along the grain, {name}",
                         spread.along_grain),
        rings=columns.of(f"{role} rings", f"{role}: where the heart lies", rings, False),
        moisture=columns.of(f"{role} moisture", f"{role}: moisture on the day", moisture),
        factor=columns.of("section factor", "section factor",
                          Doubt(width, "below", "-", "section factor")),
        air=(columns.of(f"{air} low", f"driest month, {where}", spread.air_low),
             columns.of(f"{air} high", f"wettest month, {where}", spread.air_high)),
        drying=columns.of("drying", "speed of drying", spread.drying) if timber.course else None,
        level=level, toward_low=low, toward_high=high, end_to_end=line is END_TO_END,
        bands=_bands(timber, times, is_pith) if timber.course else None,
    )  # fmt: skip


def _levels(
    timber: Timber, line: Timeline, times: NDArray[np.intp]
) -> tuple[Floats, Floats, Floats]:
    """Return the moisture the wood follows at each time, and how far each end of the year sets it.

    NaN before the heating, where it keeps the moisture of the day.
    """
    air = timber.air
    if line is END_TO_END:
        level = np.array([np.nan, air.low, air.mean, air.high])
    else:
        level = air.low + line.damp * (air.high - air.low)
        level[: max(1, line.marks.get("heated", 0))] = np.nan
    return level[times], (1 - line.damp)[times], line.damp[times]


def _bands(timber: Timber, times: NDArray[np.intp], is_ringed_by_pith: bool) -> Bands:
    course = timber.course
    assert course is not None
    share = course.radial + course.tangential
    ringed = timber.heart.kind not in ("free", "unknown")
    weight = timber.weights("width").estimate
    local = course.radial - weight * share if ringed else np.zeros_like(share)
    deep: dict[Grain, Floats] = {}
    deep_local: dict[Grain, Floats] = {}
    for grain in GRAINS:
        at = _deepest(timber, grain, share, local)
        deep[grain] = np.take_along_axis(share, at, axis=1)[:, times]
        deep_local[grain] = np.take_along_axis(local, at, axis=1)[:, times]
    usual, heated = share[USUAL], course.line.marks["heated"]
    fs = timber.species.fibre_saturation
    end = max(float(dried_share(timber.air.mean, fs)), 1e-6)

    def part(start: float) -> Floats:
        room = end - start
        return np.clip((usual - start) / room, 0.0, 1.0) if room > 1e-3 else np.ones_like(usual)

    follow = np.where(np.arange(len(usual)) > heated, part(float(usual[heated])), 0.0)
    fade = 1.0 - part(float(usual[0])) if end - usual[0] > 1e-3 else np.zeros_like(usual)
    season = usual - year_mean(usual)
    season[: heated + 1] = 0.0
    return Bands(share[:, times], local[:, times], deep, deep_local, follow[times], fade[times],
                 season[times])  # fmt: skip


def _deepest(timber: Timber, grain: Grain, share: Floats, local: Floats) -> NDArray[np.intp]:
    """Return where in time a dimension had lost most so far, shape (bands, times)."""
    s_r, s_t = timber.species.s_r, timber.species.tangential
    sign = 0.0 if grain == "length" else 1.0 if grain == "width" else -1.0
    lost = share * timber.total(grain) + sign * local * (s_r - s_t)
    at = np.broadcast_to(np.arange(lost.shape[1]), lost.shape)
    newest = np.where(lost >= np.maximum.accumulate(lost, axis=1), at, 0)
    return np.maximum.accumulate(newest, axis=1)


def year_mean(values: Floats) -> Floats:
    """Return the mean over the year about each time, the ends held."""
    padded = np.pad(values, YEAR // 2, mode="edge")
    sums = np.convolve(padded, np.ones(YEAR + 1) / (YEAR + 1), mode="valid")
    return np.asarray(sums[: len(values)])


def state_of(wood: Wood, drawn: Drawn) -> State:
    """Return a timber's numbers for every draw."""
    timber, spread = wood.timber, wood.spread
    species = timber.species
    z_r, z_t = _pair(wood.radial, drawn, spread.alike), _pair(wood.tangential, drawn, spread.alike)
    together = spread.radial_tangential
    s_r: Floats | float = species.s_r
    s_t: Floats | float = species.tangential
    if z_r is not None and z_t is not None:
        z_t = together * z_r + math.sqrt(1 - together**2) * z_t
        off_r, off_t = spread.species.of_normal(z_r), spread.species.of_normal(z_t)
        s_r = drawn.clip(s_r * (1 + off_r), 0.0, MOST_SHRINKAGE, "shrinkage")
        s_t = drawn.clip(s_t * (1 + off_t), 0.0, MOST_SHRINKAGE, "shrinkage")
    s_l = species.s_l + 0.01 * drawn.deviation(wood.along, spread.along_grain)
    weight: Floats | float = timber.weights("width").estimate
    if wood.rings is not None:
        _, doubt = rings_drawn.doubt_of(timber, spread)
        weight = rings_drawn.weights(timber, doubt, drawn.rows[wood.rings])
    factor: Floats | float = timber.section_factor
    if wood.factor is not None:
        lowest = min(timber.section_factor, spread.section_factor_low)
        factor = factor - (factor - lowest) * drawn.rows[wood.factor]
    shares = _shares_in_time(wood, drawn) if wood.bands else _shares(wood, drawn)
    return State(s_r, s_t, drawn.clip(s_l, 0.0, MOST_SHRINKAGE, "shrinkage along the grain"),
                 weight, factor, *shares)  # fmt: skip


def _pair(rows: tuple[int | None, int | None], drawn: Drawn, alike: float) -> Floats | None:
    """Return one standard normal draw made of what a species shares and what is the piece's own."""
    shared, own = rows
    if shared is None:
        return None if own is None else drawn.rows[own]
    if own is None:
        return drawn.rows[shared]
    return math.sqrt(alike) * drawn.rows[shared] + math.sqrt(1 - alike) * drawn.rows[own]


def _moisture(wood: Wood, drawn: Drawn) -> Floats | float:
    timber = wood.timber
    reading = timber.moisture < timber.species.fibre_saturation
    doubt = wood.spread.moisture if reading else wood.spread.green
    most = timber.species.most_moisture
    return drawn.around(timber.moisture, wood.moisture, doubt, 0.0, most, "moisture on the day")


Shares = tuple[
    list[Floats | float], list[Floats | float], dict[Grain, list[Floats | float]],
    dict[Grain, list[Floats | float]],
]  # fmt: skip


def air_shift(wood: Wood, drawn: Drawn) -> tuple[Floats | float, Floats | float]:
    """Return how far the driest and the wettest month are off [%]; a year cannot be upside down."""
    low = drawn.deviation(wood.air[0], wood.spread.air_low)
    high = drawn.deviation(wood.air[1], wood.spread.air_high)
    air = wood.timber.air
    low = drawn.clip(low, -air.low, 40.0, "driest month")
    if wood.air == (None, None):
        return low, high
    width = np.asarray(air.high - air.low + high - low)
    cut = int(np.count_nonzero(width < 0))
    if cut:
        drawn.truncated["wettest month"] = drawn.truncated.get("wettest month", 0) + cut
    return low, high + np.maximum(-width, 0.0)


def _shares(wood: Wood, drawn: Drawn) -> Shares:
    """Return the dried share on the day and at each time, for wood that follows its air."""
    fs = wood.timber.species.fibre_saturation
    day = dried_share(_moisture(wood, drawn), fs)

    def later() -> list[Floats | None]:
        low, high = drawn.once(("air", wood.timber.air.name), lambda: air_shift(wood, drawn))
        ends = zip(wood.level, wood.toward_low, wood.toward_high, strict=True)
        # A mean month lies half-way between the two ends as far as doubt goes.
        return [None if np.isnan(at) else dried_share(at + a * low + b * high, fs)
                for at, a, b in ends]  # fmt: skip

    same = ("shares", wood.timber.air.name, fs, wood.level.tobytes())
    share = [day if then is None else then for then in drawn.once(same, later)]
    return share, [], {}, {}


def speed_of(wood: Wood, drawn: Drawn) -> tuple[Floats, Floats]:
    """Return how far below and above the usual band a diffusion coefficient lies, in doublings."""
    x = drawn.clip(drawn.deviation(wood.drying, wood.spread.drying), -1.0, 1.0, "speed of drying")
    return np.minimum(x, 0.0), np.maximum(x, 0.0)


def between_bands(values: Floats, slow: Floats, fast: Floats) -> Floats:
    """Return what the solver's three bands give at draws from `speed_of`, linear in log D."""
    down, at, up = values
    return np.asarray(at + slow * (at - down) + fast * (up - at))


def _shares_in_time(wood: Wood, drawn: Drawn) -> Shares:
    """Return the dried shares of a timber in a calendar, see the module's docstring."""
    bands, timber = wood.bands, wood.timber
    assert bands is not None
    fs, air = timber.species.fibre_saturation, timber.air
    slow, fast = drawn.once("drying", lambda: speed_of(wood, drawn))
    low, high = drawn.once(("air", timber.air.name), lambda: air_shift(wood, drawn))
    mean = 0.5 * (low + high)
    ratio = (high - low) / (air.high - air.low) if air.high > air.low else 0.0
    reading: Floats | float = 0.0
    if wood.moisture is not None:
        reading = drawn.deviation(wood.moisture, wood.spread.moisture)

    def between(values: Floats, time: int) -> Floats:
        return between_bands(values[:, time], slow, fast)

    def shifted(values: Floats, time: int) -> Floats | float:
        off = bands.follow[time] * mean + bands.fade[time] * reading
        moved = between(values, time) - off / fs + ratio * bands.season[time]
        return np.asarray(np.maximum(moved, 0.0))

    times = range(bands.share.shape[1])
    return (
        [shifted(bands.share, time) for time in times],
        [between(bands.local, time) for time in times],
        {g: [shifted(v, time) for time in times] for g, v in bands.deep.items()},
        {g: [between(v, time) for time in times] for g, v in bands.deep_local.items()},
    )


def layer_lost(wood: Wood, state: State, grain: Grain, lever: float, total: Floats) -> None:
    """Add what a layer's loss closes at each time, shape (times, draws) [mm]."""
    sign = 1.0
    if grain == "length":
        rate: Floats | float = state.s_l
    else:
        if grain == "depth":
            sign = -1.0
        other = state.s_r - state.s_t
        rate = state.s_t + state.weight * other if sign > 0 else state.s_r - state.weight * other
    if wood.bands is None:
        _end_to_end(wood, state, rate, grain, lever, total)
    else:
        _in_time(state, rate, sign, grain, lever, total)


def _end_to_end(
    wood: Wood, state: State, rate: Floats | float, grain: Grain, lever: float, total: Floats
) -> None:
    """Add ``1 - (1 - s2)/(1 - s1)`` from the day on, the first drying by the section factor."""
    before = rate * state.share[0]
    scale = lever / (1 - before)
    first: Floats | float | None = None
    for time, share in enumerate(state.share):
        if share is state.share[0]:
            continue
        lost = (rate * share - before) * scale
        if first is None:
            first = lost if wood.end_to_end and grain != "length" else 0.0
            kept = 1 - state.factor
            first = first * kept
        total[time] += lost - first


def _in_time(
    state: State, rate: Floats | float, sign: float, grain: Grain, lever: float, total: Floats
) -> None:
    """Add a layer's loss in a calendar: local field, deepest so far, on the day's dimension."""
    other = 0.0 if grain == "length" else sign * (state.s_r - state.s_t)
    kept = 0.0 if grain == "length" else 1 - state.factor
    deep, deep_local = state.deep[grain], state.deep_local[grain]

    def green(time: int) -> Floats | float:
        lost = rate * state.share[time] + other * state.local[time]
        return lost - kept * (rate * deep[time] + other * deep_local[time])

    day = green(0)
    scale = lever / (1 - day)
    for time in range(1, len(state.share)):
        total[time] += (green(time) - day) * scale
