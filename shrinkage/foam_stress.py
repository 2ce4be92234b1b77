"""Stress in a foam for a strain: from its data sheet's curve, else the cellular-solid curve.

Compression is positive, as closure is; a negative strain is stretch and gives a negative stress,
straight from the curve's first slope. Stress is in kPa, strain a fraction. A strain at or beyond
where the foam goes solid, or past a sheet's last point, is refused, never a NaN.

Gibson and Ashby, Cellular Solids (2nd ed., 1997); its equations and constants are from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage import tables
from shrinkage.errors import ShrinkageError

Floats = NDArray[np.float64]

YIELD_STRAIN = 0.05
"""Strain at which a foam whose sheet gives no modulus reaches its plateau [-]: rigid foams yield at
some 3 to 8 % (from memory). A stress at 10 % then lies on the plateau."""
STEEPNESS = 2.3
"""Gibson and Ashby's D: the plateau ends at eps_D (1 - 1/D) (plastic foams, m = 1; from memory)."""
PACKING = 1.4
"""In eps_D = 1 - 1.4 rho/rho_s (Gibson and Ashby; from memory)."""


@dataclass(frozen=True)
class Solid:
    """What the cell walls are made of.

    Parameters
    ----------
    name : str
        Of the polymer.
    density : float
        [kg/m3].
    modulus, strength : float
        Young's modulus and yield strength [kPa].
    basis : str
        How the numbers were come by.
    """

    name: str
    density: float
    modulus: float
    strength: float
    basis: str = "memory"


POLYURETHANE = Solid("rigid polyurethane", 1200.0, 1.6e6, 1.27e5)
POLYSTYRENE = Solid("polystyrene", 1050.0, 3.0e6, 5.0e4)
"""Cell wall properties after Gibson and Ashby's tables, from memory."""


@dataclass(frozen=True)
class Curve:
    """A measured stress-strain table, straight between its points and through the origin.

    Parameters
    ----------
    strains : tuple of float
        Compression, rising, above 0 (a first 0 is taken) and below 1 [-].
    stresses : tuple of float
        Of the same length, not falling [kPa].

    Raises
    ------
    ShrinkageError
        If it is empty, unsorted, falling or out of range.
    """

    strains: tuple[float, ...]
    stresses: tuple[float, ...]

    def __post_init__(self) -> None:
        accepted = "points of rising strain below 100 % and stress that does not fall"
        if not self.strains or len(self.strains) != len(self.stresses):
            raise ShrinkageError(f"curve: empty or of unequal length; accepted: {accepted}")
        strains, stresses = self._points()
        if not (np.isfinite(strains).all() and np.isfinite(stresses).all()):
            raise ShrinkageError(f"curve: a point is not a finite number; accepted: {accepted}")
        if (np.diff(strains) <= 0).any() or strains[-1] >= 1 or len(strains) < 2:
            shown = ", ".join(f"{100 * strain:g} %" for strain in self.strains)
            raise ShrinkageError(f"curve: unsorted strains {shown}; accepted: {accepted}")
        if (np.diff(stresses) < 0).any() or stresses[0] != 0 or stresses[-1] <= 0:
            shown = ", ".join(f"{stress:g}" for stress in self.stresses)
            raise ShrinkageError(f"curve: stresses {shown} kPa; accepted: {accepted}, 0 at 0 %")

    def _points(self) -> tuple[Floats, Floats]:
        lead = () if self.strains[0] == 0 else (0.0,)
        return np.array((*lead, *self.strains)), np.array((*lead, *self.stresses))

    @property
    def limit(self) -> float:
        """Strain past which the sheet says nothing [-]."""
        return math.nextafter(self.strains[-1], 1.0)

    @property
    def modulus(self) -> float:
        """The first slope [kPa]."""
        strains, stresses = self._points()
        return float(stresses[1] / strains[1])

    @property
    def words(self) -> str:
        """What limits it, for a message."""
        return f"its data sheet's curve ends at {100 * self.strains[-1]:g} %"

    def stress(self, strain: ArrayLike) -> Floats:
        """Return the stress [kPa] for strains [-]; see the module."""
        eps = _inside(self, strain)
        return np.asarray(np.where(eps < 0, self.modulus * eps, np.interp(eps, *self._points())))

    def energy(self, strain: ArrayLike) -> Floats:
        """Return the work taken up to a strain, per volume [kJ/m3]: the curve's integral."""
        eps = _inside(self, strain)
        x, y = self._points()
        done = np.concatenate([[0.0], np.cumsum(np.diff(x) * (y[1:] + y[:-1]) / 2)])
        at = np.clip(np.searchsorted(x, eps, side="right") - 1, 0, len(x) - 1)
        part = (eps - x[at]) * (y[at] + np.interp(eps, x, y)) / 2
        return np.asarray(np.where(eps < 0, self.modulus * eps**2 / 2, done[at] + part))


@dataclass(frozen=True)
class Cellular:
    """The curve of a cellular solid: linear, plateau, then densifying.

    ``sigma = E eps`` up to the plateau, the plateau up to ``eps_D (1 - 1/D)``, then
    ``(plateau / D) eps_D / (eps_D - eps)``, which has no bound at ``eps_D``.

    Parameters
    ----------
    modulus, plateau : float
        [kPa].
    densification : float
        Strain eps_D at which the cells have closed [-].

    Raises
    ------
    ShrinkageError
        If a number is impossible, or the foam would be solid before it yields.
    """

    modulus: float
    plateau: float
    densification: float

    def __post_init__(self) -> None:
        for key in ("modulus", "plateau"):
            if not 0 < getattr(self, key) < math.inf:
                raise ShrinkageError(f"foam {key}: {getattr(self, key)!r} kPa; accepted: above 0")
        if not 0 < self.densification < 1:
            raise ShrinkageError(
                f"foam densification: {self.densification!r}; accepted: between 0 and 1"
            )
        if not self.yields < self.onset:
            raise ShrinkageError(
                f"foam modulus {self.modulus:g} kPa: it would yield at {100 * self.yields:.0f} %, "
                f"when it is already solid; accepted: above {self.plateau / self.onset:.0f} kPa"
            )

    @property
    def yields(self) -> float:
        """Strain at which it reaches the plateau [-]."""
        return self.plateau / self.modulus

    @property
    def onset(self) -> float:
        """Strain at which the plateau ends [-]."""
        return self.densification * (1 - 1 / STEEPNESS)

    @property
    def limit(self) -> float:
        """Strain at and past which it is solid [-]."""
        return self.densification

    @property
    def words(self) -> str:
        """What limits it, for a message."""
        return f"the foam is solid at {100 * self.densification:.0f} %"

    def stress(self, strain: ArrayLike) -> Floats:
        """Return the stress [kPa] for strains [-]; see the module."""
        eps = _inside(self, strain)
        room = self.densification - np.maximum(eps, self.onset)
        solid = self.plateau / STEEPNESS * self.densification / room
        plain = np.minimum(self.modulus * eps, self.plateau)
        return np.asarray(np.where(eps > self.onset, solid, plain))

    def energy(self, strain: ArrayLike) -> Floats:
        """Return the work taken up to a strain, per volume [kJ/m3]: the curve's integral."""
        eps = _inside(self, strain)
        linear = self.modulus * np.minimum(eps, self.yields) ** 2 / 2
        flat = self.plateau * np.clip(eps - self.yields, 0.0, self.onset - self.yields)
        ends = self.densification
        room = (ends - self.onset) / (ends - np.maximum(eps, self.onset))
        return np.asarray(linear + flat + self.plateau / STEEPNESS * ends * np.log(room))


Material = Curve | Cellular


def _inside(material: Material, strain: ArrayLike) -> Floats:
    """Return strains as an array, or refuse the first that the material cannot have."""
    eps = np.asarray(strain, dtype=float)
    bad = ~((eps > -1) & (eps < material.limit))
    if bad.any():
        first = float(np.atleast_1d(eps)[np.atleast_1d(bad)][0])
        raise ShrinkageError(
            f"foam strain {100 * first:.1f} %: {material.words}; accepted: above -100 % and "
            f"below {100 * material.limit:.0f} %"
        )
    return eps


def _relative(density: float, solid: Solid) -> float:
    if not 0 < density < 0.5 * solid.density:
        raise ShrinkageError(
            f"foam density {density!r} kg/m3; accepted: above 0 and below half of {solid.name}, "
            f"{solid.density:.0f} kg/m3"
        )
    return density / solid.density


def gibson_ashby(density: float, solid: Solid = POLYURETHANE, edges: float = 1.0) -> Cellular:
    """Return the curve of a plastic foam from its density alone.

    ``E/E_s = (phi R)^2 + (1 - phi) R``, ``sigma/sigma_ys = 0.3 (phi R)^1.5 + 0.4 (1 - phi) R``,
    ``eps_D = 1 - 1.4 R``, with R = density / solid density.

    Parameters
    ----------
    density : float
        Of the foam [kg/m3].
    solid : Solid
        Its cell walls.
    edges : float
        Share phi of the solid that lies in the cells' edges: 1 for open cells, less for closed [-].

    Raises
    ------
    ShrinkageError
        If the density is no foam's.

    Notes
    -----
    Gibson and Ashby, ch. 5; the constants are from memory. The pressure of the cells' gas is left
    out, and so is bulging: real foams of one density differ by a factor of two.
    """
    if not 0 < edges <= 1:
        raise ShrinkageError(f"share in the edges {edges!r}; accepted: above 0, up to 1")
    r = _relative(density, solid)
    modulus = solid.modulus * ((edges * r) ** 2 + (1 - edges) * r)
    plateau = solid.strength * (0.3 * (edges * r) ** 1.5 + 0.4 * (1 - edges) * r)
    return Cellular(modulus, plateau, 1 - PACKING * r)


def from_sheet(density: float, stress_at_10: float, modulus: float | None = None) -> Cellular:
    """Return the curve of a foam from the two numbers most data sheets give.

    Parameters
    ----------
    density : float
        Cured [kg/m3].
    stress_at_10 : float
        Stress that squeezes it by 10 %, taken as its plateau [kPa].
    modulus : float, optional
        Young's modulus [kPa]; the stress over `YIELD_STRAIN` otherwise.

    Raises
    ------
    ShrinkageError
        If a number is impossible, or a modulus so low that 10 % is not on the plateau.
    """
    ends = 1 - PACKING * _relative(density, POLYURETHANE)
    found = Cellular(modulus or stress_at_10 / YIELD_STRAIN, stress_at_10, ends)
    if found.yields > 0.10:
        raise ShrinkageError(
            f"foam modulus {found.modulus:g} kPa: 10 % is not on its plateau; accepted: "
            f"{10 * stress_at_10:g} kPa or more, or its curve"
        )
    return found


@dataclass(frozen=True)
class CoreType:
    """A type of polystyrene panel core by its standard: a reference point for a foam's strength.

    Parameters
    ----------
    name, kind : str
        Type, and 'expanded' or 'extruded'.
    density, stress_at_10 : float
        Least density [kg/m3] and least compressive strength at yield or 10 % [kPa].
    basis : str
        How the row was come by.
    """

    name: str
    kind: str
    density: float
    stress_at_10: float
    basis: str


@cache
def core_types() -> tuple[CoreType, ...]:
    """Return the foam core types of ASTM C578 (from memory, as every row says)."""
    return tuple(
        CoreType(row["astm_c578_type"], row["kind"], float(row["density_kg_m3"]),
                 float(row["strength10_kpa"]), row["basis"])
        for row in tables.rows("foam_cores")
    )  # fmt: skip
