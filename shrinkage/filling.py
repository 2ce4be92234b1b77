"""How the foam is put in: the material it is, how deep it stands in a joint, what a can yields."""

from __future__ import annotations

from dataclasses import dataclass

from shrinkage import units
from shrinkage.errors import ShrinkageError
from shrinkage.foam import ASSUMED, Foam
from shrinkage.foam_kinds import FoamKind, find_kind
from shrinkage.foam_stress import Curve, Material, from_sheet
from shrinkage.job_foam import DepthChoice, FoamSpec
from shrinkage.joint import Joint
from shrinkage.units import System

BEADS = 2


@dataclass(frozen=True)
class Filling:
    """What stands in the joints.

    Parameters
    ----------
    kind : str
        Generic kind it starts from.
    material : Curve or Cellular
        Its stress for a strain.
    material_source : str
        Where that comes from.
    relaxation : float
        Share of the stress left in the long run; 1 leaves it whole [-].
    relaxation_source : str
        Where that comes from; empty where it is whole.
    depth : {'full', 'core', 'two beads'}
        How much of the panel's thickness is foamed.
    thickness, facing, bead : float
        Of the panel, of one of its facings, and width of one bead [mm].
    litres_per_can : float or None
        Yield; None where the foam does not come in cans [L].
    waste : float
        Added to what the joints hold, as a fraction [-].
    hole, hole_spacing : float
        Diameter of the holes it is put in through, 0 for none, and their distance [mm].
    note : str
        On the temperature it is put in at.

    Raises
    ------
    ShrinkageError
        If facings or beads leave no room.
    """

    kind: str
    material: Material
    material_source: str
    relaxation: float
    relaxation_source: str
    depth: DepthChoice
    thickness: float
    facing: float
    bead: float
    litres_per_can: float | None
    waste: float
    hole: float
    hole_spacing: float
    note: str

    def __post_init__(self) -> None:
        if not 0 < self.relaxation <= 1:
            raise ShrinkageError(f"relaxation {self.relaxation!r}; accepted: above 0, up to 1")
        if self.depth == "core" and 2 * self.facing >= self.thickness:
            raise ShrinkageError(
                f"facing {self.facing:g} mm twice leaves no core in a panel of "
                f"{self.thickness:g} mm; accepted: under {self.thickness / 2:g} mm"
            )
        if self.depth == "two beads" and BEADS * self.bead > self.thickness:
            raise ShrinkageError(
                f"bead {self.bead:g} mm twice is more than the panel's {self.thickness:g} mm; "
                f"accepted: up to {self.thickness / BEADS:g} mm"
            )

    @property
    def across(self) -> float:
        """How much of the panel's thickness is foamed [mm]."""
        if self.depth == "two beads":
            return BEADS * self.bead
        return self.thickness - (2 * self.facing if self.depth == "core" else 0.0)

    def foamed_depth(self, joint: Joint) -> float:
        """Return how deep the foam stands in a joint, across its length [mm].

        A bevelled eave and a plumb ridge cut the panel at a slant: full depth and core are longer
        there by 1 / cos(pitch). A bead is as wide as it is laid.
        """
        slanted = joint.kind == "ridge" or (joint.kind == "eave" and not joint.extra_off)
        has_slant = slanted and self.depth != "two beads"
        return self.across * (joint.measure if has_slant else 1.0)


def material_of(spec: FoamSpec) -> tuple[Material, str]:
    """Return a foam's stress-strain curve and where it comes from.

    Parameters
    ----------
    spec : FoamSpec
        From the job file: its curve, else the cellular curve of its density and stress at 10 %.

    Raises
    ------
    ShrinkageError
        If density and stress belong to no foam.
    """
    if spec.curve is not None:
        return spec.curve, spec.source or "the job file's curve"
    (density, stated), (stress, also) = spec.resolved("density"), spec.resolved("stress_at_10")
    kind = find_kind(spec.kind)
    given = {"job file"} & {stated, also}
    origin = f"{kind.kind}, {kind.basis}: {kind.source}" if not given else "the job file"
    return from_sheet(density, stress), (
        f"cellular-solid curve (Gibson and Ashby, from memory) on {density:g} kg/m3 and "
        f"{stress:g} kPa at 10 % ({origin})"
    )


def filling(spec: FoamSpec, thickness: float) -> Filling:
    """Return what stands in the joints of a job.

    Parameters
    ----------
    spec : FoamSpec
        The job file's `[foam]`.
    thickness : float
        Of the panels [mm].

    Raises
    ------
    ShrinkageError
        If the foam is no foam, or facings or beads leave no room.
    """
    material, source = material_of(spec)
    return Filling(
        kind=spec.kind,
        material=material,
        material_source=source,
        relaxation=spec.relaxation,
        relaxation_source=spec.relaxation_source or "",
        depth=spec.depth,
        thickness=thickness,
        facing=spec.facing,
        bead=spec.bead,
        litres_per_can=spec.resolved("litres_per_can")[0],
        waste=spec.waste / 100,
        hole=spec.hole or 0.0,
        hole_spacing=spec.hole_spacing,
        note=_temperature_note(spec),
    )


def _temperature_note(spec: FoamSpec) -> str:
    kind = find_kind(spec.kind)
    low, high = kind.coldest, kind.warmest
    note = (
        f"Litres a can are for room temperature; cold cans and cold air yield less, and a foam of "
        f"this kind is put in between {low:g} and {high:g} C ({units.fahrenheit(low):.0f} and "
        f"{units.fahrenheit(high):.0f} F; {kind.basis}): the foam maker's instructions govern."
    )
    if spec.temperature is not None and not low <= spec.temperature <= high:
        note = f"Foamed at {spec.temperature:.0f} C, outside its range. {note}"
    return note


def foam_of(spec: FoamSpec) -> Foam:
    """Return a job's foam: what it takes, and where that is from."""
    kind = find_kind(spec.kind)
    share = {
        key: spec.resolved(key)[0] / 100
        for key in ("squeeze_once", "recovery", "works", "stretch", "cure")
    }
    given = spec.model_fields_set & {"squeeze_once", "recovery", "works"}
    own = ASSUMED if spec.kind == FoamSpec().kind else f"{kind.kind}, {kind.basis}: {kind.source}"
    return Foam(
        name=spec.name,
        least_width=spec.resolved("least_width")[0],
        most_width=spec.resolved("most_width")[0],
        source=spec.source or ("the job file" if len(given) == 3 else own),
        **share,
    )


def of_kind(kind: FoamKind, like: Foam) -> Foam:
    """Return the foam of a generic kind, no wider or narrower than another fills."""
    shares = {
        key: kind.setting(key) / 100
        for key in ("squeeze_once", "recovery", "works", "stretch", "cure")
    }
    source = f"{kind.kind}, {kind.basis}: {kind.source}"
    return Foam(
        name=kind.kind, least_width=like.least_width, most_width=like.most_width, source=source,
        **shares,
    )  # fmt: skip


_PERCENT = frozenset(("squeeze_once", "recovery", "works", "stretch", "cure", "waste"))
_LENGTHS = frozenset(("least_width", "most_width", "facing", "bead", "hole", "hole_spacing"))


def settings(spec: FoamSpec, system: System) -> list[tuple[str, str, str]]:
    """Return (setting, value in words, where from) for every setting of the foam."""
    found = []
    for key in type(spec).model_fields:
        value, origin = spec.resolved(key)
        found.append((f"foam.{key}", _words(key, value, system), origin))
    return found


def _words(key: str, value: object, system: System) -> str:
    """Write a setting as its owner would."""
    if value is None:
        without = {
            "source": "assumed, no published source",
            "curve": "cellular-solid curve",
            "hole": "no holes",
            "litres_per_can": "not in cans",
        }
        return without.get(key, "none")
    if isinstance(value, Curve):
        points = zip(value.strains, value.stresses, strict=True)
        return "; ".join(f"{100 * strain:g} %: {stress:g} kPa" for strain, stress in points)
    if not isinstance(value, float):
        return str(value)
    if key in _PERCENT:
        return f"{value:g} %"
    if key in _LENGTHS:
        return f"{units.show(value, system)} ({value:.2f} mm)"
    kinds = {"density": "density", "stress_at_10": "pressure"}
    if key in kinds:
        return units.show_load(value, kinds[key], system)
    return f"{value:g}" + {"litres_per_can": " L", "temperature": " C"}.get(key, "")
