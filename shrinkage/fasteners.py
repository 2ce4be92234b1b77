"""What foam under a roof panel pushes against: the panel's dead load and its fasteners.

Withdrawal after the National Design Specification for Wood Construction, NDS 2018, ch. 12, in its
own inch-pound form; formulas, factors and specific gravities are from memory. These are reference
values for comparison: connections are for the engineer, and a proprietary screw's maker governs.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Mapping
from dataclasses import dataclass

from shrinkage import tables
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.job_foam import HoldDownSpec
from shrinkage.species import Species
from shrinkage.timber import Timber
from shrinkage.units import MM_PER_INCH, System, show, show_load

FOR_THE_ENGINEER = "for the engineer"
NEWTONS_PER_POUND = 4.4482216152605
PER_INCH = NEWTONS_PER_POUND / MM_PER_INCH
"""lb/in to N/mm."""
MM_PER_METRE = 1000.0
GRAVITIES = (0.31, 0.73)
"""Range of NDS Tables 12.2A and 12.2B (from memory)."""
LAG_DIAMETERS = (6.35, 31.75)
"""1/4 to 1-1/4 in [mm] (Table 12.2A, from memory)."""
SCREW_DIAMETERS = (3.505, 9.449)
"""Numbers 6 to 24, 0.138 to 0.372 in [mm] (Table 12.2B, from memory)."""


def lag_withdrawal(gravity: float, diameter: float) -> float:
    """Return the reference withdrawal of a lag screw in side grain, per length of thread.

    ``W = 1800 G^1.5 D^0.75`` lb per inch (NDS 2018 Eq. 12.2-1, from memory).

    Parameters
    ----------
    gravity : float
        Specific gravity on oven-dry mass and volume [-].
    diameter : float
        Of the unthreaded shank [mm].

    Returns
    -------
    float
        Per millimetre of thread in the timber, tip left out [N/mm].

    Raises
    ------
    ShrinkageError
        If a number is impossible; a `RangeWarning` beyond the printed table.
    """
    _check("lag screw", gravity, diameter, LAG_DIAMETERS)
    return float(1800 * gravity**1.5 * (diameter / MM_PER_INCH) ** 0.75 * PER_INCH)


def wood_screw_withdrawal(gravity: float, diameter: float) -> float:
    """Return the reference withdrawal of a wood screw in side grain, per length of thread.

    ``W = 2850 G^2 D`` lb per inch (NDS 2018 Eq. 12.2-2, from memory).

    Parameters
    ----------
    gravity : float
        Specific gravity on oven-dry mass and volume [-].
    diameter : float
        Of the unthreaded shank [mm].

    Returns
    -------
    float
        Per millimetre of thread in the timber [N/mm].

    Raises
    ------
    ShrinkageError
        If a number is impossible; a `RangeWarning` beyond the printed table.
    """
    _check("wood screw", gravity, diameter, SCREW_DIAMETERS)
    return float(2850 * gravity**2 * diameter / MM_PER_INCH * PER_INCH)


def _check(what: str, gravity: float, diameter: float, diameters: tuple[float, float]) -> None:
    if not 0.05 < gravity < 1.3:
        raise ShrinkageError(f"{what}: specific gravity {gravity!r}; accepted: from 0.05 to 1.3")
    if not 0 < diameter < 100:
        raise ShrinkageError(f"{what}: diameter {diameter!r} mm; accepted: above 0, under 100 mm")
    low, high = GRAVITIES
    thin, thick = diameters
    if not low <= gravity <= high:
        warnings.warn(
            f"{what}: specific gravity {gravity:g} is outside the {low} to {high} of NDS 2018",
            RangeWarning, stacklevel=3,
        )  # fmt: skip
    if not thin - 1e-6 <= diameter <= thick + 1e-6:
        warnings.warn(
            f"{what}: diameter {diameter:.2f} mm is outside the {thin:g} to {thick:g} mm of NDS "
            "2018", RangeWarning, stacklevel=3,
        )  # fmt: skip


def nds_gravity(species: Species) -> tuple[float, str]:
    """Return the specific gravity withdrawal is worked with, and where it is from.

    That of NDS Table 12.3.3A where the package knows it (from memory); otherwise the Wood
    Handbook's on green volume, which is lower than on oven-dry volume and so on the safe side.

    Parameters
    ----------
    species : Species
        The timber's.

    Raises
    ------
    ShrinkageError
        If neither is known.
    """
    for row in tables.rows("nds_gravity"):
        if row["species"] == species.name:
            listed = f"NDS 2018 Table 12.3.3A, {row['listed_as']}, from {row['basis']}"
            return float(row["gravity"]), listed
    if species.gravity is None:
        raise ShrinkageError(
            f"no specific gravity for {species.name!r}; accepted: gravity under [holddown]"
        )
    return species.gravity, "on green volume, lower than on oven-dry volume: the safe side"


@dataclass(frozen=True)
class HoldDown:
    """What holds the roof panels down on the lines where foam pushes them up.

    Parameters
    ----------
    dead : mapping of str to float
        Dead load of the roof panel square to the roof by joint kind, 'eave' and 'gable', where the
        job says what holds there [N/m].
    fasteners : float
        Withdrawal of the fasteners along such a line [N/m].
    each : float
        Of one fastener, after load duration [N].
    steps : tuple of str
        How the numbers were come by, with the numbers put in.
    """

    dead: Mapping[str, float]
    fasteners: float
    each: float
    steps: tuple[str, ...]

    def holds(self, kind: str) -> float | None:
        """Return what holds a joint's roof panel down [N/m]; None where it is no roof joint."""
        return self.dead[kind] + self.fasteners if kind in self.dead else None

    def margin(self, kind: str, line_load: float | None) -> float | None:
        """Return how many times what pushes is held; None where nothing pushes or holds.

        Parameters
        ----------
        kind : str
            Of joint.
        line_load : float or None
            What the foam pushes with [N/m].
        """
        against = self.holds(kind)
        if against is None or not line_load:
            return None
        return against / line_load


def hold_down(
    spec: HoldDownSpec | None, timbers: Mapping[str, Timber], pitch: float
) -> HoldDown | None:
    """Return what holds the roof panels down, as the job file says.

    Parameters
    ----------
    spec : HoldDownSpec or None
        `[holddown]`.
    timbers : mapping of str to Timber
        By role.
    pitch : float
        Of the roof [rad].

    Raises
    ------
    ShrinkageError
        If the timber named is not in the frame, or its specific gravity is not known.
    """
    if spec is None:
        return None
    given = {"eave": spec.eave_share, "gable": spec.gable_share}
    has_screws = spec.fastener != "none"
    # Where neither weight nor screws are said to hold, nothing is said: that is not a margin of 0.
    shares = {kind: mm or 0.0 for kind, mm in given.items() if mm or has_screws}
    dead = {kind: spec.roof_load * share * math.cos(pitch) for kind, share in shares.items()}
    steps = [
        f"dead load square to the roof, {kind}: {spec.roof_load:.3f} kPa x {shares[kind]:.0f} mm x "
        f"cos(pitch) {math.cos(pitch):.4f} = {load:.1f} N/m"
        for kind, load in dead.items()
    ]
    each, how = _each(spec, timbers)
    along = each / spec.spacing * MM_PER_METRE if spec.spacing else 0.0
    if each:
        steps += [how, f"{each:.0f} N / {spec.spacing:.0f} mm = {along:.0f} N/m"]
    return HoldDown(dead, along, each, tuple(steps))


def _each(spec: HoldDownSpec, timbers: Mapping[str, Timber]) -> tuple[float, str]:
    """Return what one fastener holds [N], and how."""
    if spec.fastener == "none":
        return 0.0, ""
    if spec.fastener == "rated":
        rated = spec.rated or 0.0
        return rated, f"one fastener: {rated:.0f} N, {spec.rated_source}; no factor put on it"
    if spec.timber not in timbers:
        raise ShrinkageError(f"timber {spec.timber!r} is not in [timber]; accepted: one that is")
    gravity, source = spec.gravity, "the job file"
    if gravity is None:
        gravity, source = nds_gravity(timbers[spec.timber].species)
    diameter, thread = spec.diameter or 0.0, spec.thread or 0.0
    if spec.fastener == "lag screw":
        per, formula = lag_withdrawal(gravity, diameter), "1800 G^1.5 D^0.75"
    else:
        per, formula = wood_screw_withdrawal(gravity, diameter), "2850 G^2 D"
    each = per * thread * spec.duration
    return each, (
        f"one {spec.fastener}: {formula} (NDS 2018, from memory) with G {gravity:g} ({source}) and "
        f"D {diameter / MM_PER_INCH:.3f} in = {per / PER_INCH:.0f} lb/in = {per:.1f} N/mm; x "
        f"{thread:.1f} mm of thread x {spec.duration:g} load duration (permanent load 0.9, from "
        f"memory) = {each:.0f} N"
    )


def hold_settings(spec: HoldDownSpec | None, system: System) -> list[tuple[str, str, str]]:
    """Return (setting, value in words, where from) for every setting; none without the table."""
    found = []
    for key in type(spec).model_fields if spec is not None else ():
        value = getattr(spec, key)
        if value is None:
            continue
        if key in ("roof_load", "rated"):
            words = show_load(value, {"rated": "force"}.get(key, "area load"), system)
        elif isinstance(value, float) and key not in ("gravity", "duration"):
            words = f"{show(value, system)} ({value:.2f} mm)"
        else:
            words = f"{value:g}" if isinstance(value, float) else str(value)
        given = spec is not None and key in spec.model_fields_set
        found.append((f"holddown.{key}", words, "job file" if given else "default"))
    return found
