"""Timbers read from an IFC file: who they are, how big, of what wood, and what was not understood.

Only reads. Roles come from the file's own types, or from a role's word in a name where the type
leaves it open; woods from the material's name. A timber that leaves a question is in the table with
the question beside it, never with a guess.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shrinkage.errors import ShrinkageError
from shrinkage.ifc_solid import piece_of
from shrinkage.species import find

if TYPE_CHECKING:
    import pandas as pd

MISSING = (
    "reading IFC needs ifcopenshell, which is not installed; accepted: pip install 'shrinkage[ifc]'"
)
SCHEMAS = ("IFC2X3", "IFC4", "IFC4X3")
CLASSES = ("IfcColumn", "IfcBeam", "IfcMember")
LARGEST_BYTES = 500_000_000
"""Beyond this a file would not fit in an ordinary machine's memory once read."""
SMALLEST_UNIT, LARGEST_UNIT = 1e-3, 1e6
"""Length of any unit a model is drawn in [mm]."""
COLUMNS = (
    "name", "id", "type", "role", "role_from", "width_mm", "depth_mm", "length_mm", "material",
    "species", "understood", "why",
)  # fmt: skip

_BY_TYPE = {
    "COLUMN": ("post",), "POST": ("post",), "RAFTER": ("rafter",), "PURLIN": ("purlin",),
    "PLATE": ("plate", "sill"),
}  # fmt: skip
"""Roles a type may have; the first unless a name says another."""
_NO_ROLE_TYPES = (
    "ARCH_SEGMENT", "BRACE", "CHORD", "COLLAR", "HOLLOWCORE", "JOIST", "LINTEL", "MULLION",
    "SPANDREL", "STIFFENING_RIB", "STRINGER", "STRUT", "STUD", "SUSPENSION_CABLE", "TIEBAR",
    "T_BEAM",
)  # fmt: skip
"""Types no joint between panels hangs on. What is in neither list leaves the role to the names."""
_WORDS = {
    "sill": r"\bsills?( plates?)?\b|\b(sole|bottom) plates?\b",
    "plate": r"\bplates?\b",
    "rafter": r"\brafters?\b",
    "purlin": r"\bpurlins?\b",
    "girt": r"\bgirts?\b",
    "tie": r"\bties?( beams?)?\b",
    "post": r"\b(posts?|columns?)\b",
}
_NO_ROLE = re.compile(r"\b(collar|king|queen|crown|gusset|base|joist|stud|brace|strut)s?\b")
"""The same by name."""
_GENERIC = re.compile(
    r"\b(wood|timber|lumber|softwood|hardwood|solid|sawn|rough|green|structural|heavy)\b", re.I
)


def library() -> Any:
    """Return ifcopenshell.

    Raises
    ------
    ShrinkageError
        With the one line that installs it, where it is not there.
    """
    try:
        import ifcopenshell
        import ifcopenshell.util.element
        import ifcopenshell.util.placement
        import ifcopenshell.util.unit
    except ImportError:
        raise ShrinkageError(MISSING) from None
    return ifcopenshell


def read_timbers(path: str | Path) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Read every column, beam and member of an IFC file.

    Parameters
    ----------
    path : str or Path
        An IFC file (STEP text), IFC2X3, IFC4 or IFC4X3. It is never written to.

    Returns
    -------
    pandas.DataFrame
        One row a timber: `COLUMNS`, sizes in mm, ``understood`` true where role, section, length
        and species are all known, ``why`` says what is not, or how it was read.
    tuple of str
        What a reader should know of the file.

    Raises
    ------
    ShrinkageError
        If ifcopenshell is not installed, or the file cannot be read, is cut short, or has no
        length unit or no such timbers.
    """
    import pandas as pd

    path = Path(path)
    model, broken = _open(path)
    mm = _unit(path, model)
    elements = [element for kind in CLASSES for element in model.by_type(kind)]
    if not elements:
        raise ShrinkageError(f"{path}: no timbers; accepted: a file with {', '.join(CLASSES)}")
    table = pd.DataFrame([_row(element, mm) for element in elements], columns=list(COLUMNS))
    table = table.astype(dict.fromkeys(("width_mm", "depth_mm", "length_mm"), float))
    notes = [f"{model.schema}, lengths in units of {mm:g} mm"]
    if broken:
        notes.append(f"{broken} fault(s) against its schema: timbers may be missing or incomplete")
    if others := len(model.by_type("IfcBuildingElementProxy")):
        notes.append(f"{others} object(s) of no stated kind (IfcBuildingElementProxy), not read")
    return table, tuple(notes)


def _open(path: Path) -> tuple[Any, int]:
    """Return the model and the number of faults its reader found in it."""
    reader = library()
    _whole(path)
    try:
        reader.get_log()  # empties it
        model = reader.open(str(path), format=".ifc")
        faults = reader.get_log().count("[error]")
    except Exception as error:  # the reader raises many kinds, all for a bad file
        reason = " ".join(str(error).split())[:120].removesuffix(", check logs")
        raise ShrinkageError(f"{path}: cannot be read as IFC: {reason}") from None
    if model.schema not in SCHEMAS:
        raise ShrinkageError(f"{path}: is {model.schema}; accepted: {', '.join(SCHEMAS)}")
    return model, faults


def _whole(path: Path) -> None:
    """Refuse what is no IFC file or only the beginning of one: its reader would not say so."""
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise ShrinkageError(f"{path}: over 500 MB; accepted: a file of the frame alone")
        with path.open("rb") as file:
            head = file.read(200)
            file.seek(max(0, size - 1000))
            tail = file.read()
    except FileNotFoundError:
        raise ShrinkageError(f"{path}: no such file; accepted: an IFC file") from None
    except OSError as error:
        raise ShrinkageError(f"{path}: cannot be read: {error.strerror}") from None
    if b"ISO-10303-21;" not in head:
        raise ShrinkageError(f"{path}: not an IFC file; accepted: IFC as STEP text (.ifc)")
    if b"END-ISO-10303-21;" not in tail:
        raise ShrinkageError(f"{path}: cut short: its last line, END-ISO-10303-21;, is not there")


def _unit(path: Path, model: Any) -> float:
    """Return the length of the file's unit [mm]."""
    try:
        assigned = model.by_type("IfcProject")[0].UnitsInContext.Units
        stated = any(getattr(unit, "UnitType", None) == "LENGTHUNIT" for unit in assigned)
        mm = 1000.0 * library().util.unit.calculate_unit_scale(model) if stated else 0.0
    except Exception:  # no project, no units, or a record of them that is broken
        mm = 0.0
    if not SMALLEST_UNIT <= mm <= LARGEST_UNIT:
        raise ShrinkageError(
            f"{path}: has no length unit; accepted: a project with one, 0.001 mm to 1 km"
        )
    return float(mm)


def _row(element: Any, mm: float) -> dict[str, Any]:
    """Read one timber into a row of the table; what is not understood costs only that."""
    row: dict[str, Any] = dict.fromkeys(COLUMNS, "") | {
        "width_mm": None, "depth_mm": None, "length_mm": None, "type": element.is_a(),
    }  # fmt: skip
    problems: list[str] = []
    notes: list[str] = []
    for read in (_named, _role, _size, _material, _species):
        try:
            row |= read(element, mm, notes)
        except ShrinkageError as error:
            problems.append(error.message)
        except Exception as error:  # a broken record costs this timber, not the file
            problems.append(f"record #{element.id()} is broken ({type(error).__name__})")
    why = "; ".join(dict.fromkeys([*problems, *notes]))
    return row | {"understood": not problems, "why": why}


def _text(value: Any) -> str:
    """Return text from the file on one line."""
    return " ".join("".join(c if c.isprintable() else " " for c in str(value or "")).split())


def _kind(element: Any) -> str:
    return _text(library().util.element.get_predefined_type(element)) or "NOTDEFINED"


def _named(element: Any, mm: float, notes: list[str]) -> dict[str, Any]:
    return {
        "name": _text(element.Name),
        "id": _text(element.GlobalId),
        "type": f"{element.is_a()} {_kind(element)}",
    }


def _role(element: Any, mm: float, notes: list[str]) -> dict[str, Any]:
    """Return the role, by the type where that settles it, by a word in a name otherwise."""
    kind, family = _kind(element), library().util.element.get_type(element)
    names = [_text(name) for name in (element.Name, element.ObjectType, family and family.Name)]
    if kind in _NO_ROLE_TYPES:
        raise ShrinkageError(f"{kind} has no role in a job file")
    allowed = _BY_TYPE.get(kind, ("post",) if element.is_a("IfcColumn") else ())
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", " . ".join(filter(None, names)))  # WallPlate
    words = re.sub(r"[^a-z.]+", " ", words.lower())
    if match := _NO_ROLE.search(words):
        raise ShrinkageError(f"{match[0]!r} in its name has no role in a job file")
    found = []
    for role, pattern in _WORDS.items():
        if re.search(pattern, words):
            found.append(role)
            words = re.sub(pattern, " ", words)
    if allowed and not set(found) <= set(allowed):
        raise ShrinkageError(f"{element.is_a()} {kind}, but named as {' and '.join(found)}")
    if not found and allowed:
        return {"role": allowed[0], "role_from": "type"}
    if len(found) != 1:
        what = f"named as {' and '.join(found)}" if found else f"{kind} and its name leave open"
        raise ShrinkageError(
            f"role: {what}; accepted: one of {', '.join(_WORDS)} in its name or object type"
        )
    return {"role": found[0], "role_from": "name"}


def _size(element: Any, mm: float, notes: list[str]) -> dict[str, Any]:
    piece = piece_of(element, mm)
    notes += piece.notes
    sizes = {"width_mm": piece.width, "depth_mm": piece.depth, "length_mm": piece.length}
    return {key: round(size, 3) for key, size in sizes.items()}


def _material(element: Any, mm: float, notes: list[str]) -> dict[str, Any]:
    return {"material": _material_name(element)}


def _species(element: Any, mm: float, notes: list[str]) -> dict[str, Any]:
    return {"species": species_of(_material_name(element))}


def _material_name(element: Any) -> str:
    used = library().util.element.get_materials(element)
    names = list(dict.fromkeys(_text(material.Name) for material in used))
    if len(names) != 1 or not names[0]:
        raise ShrinkageError(f"materials {', '.join(names)}" if any(names) else "no material")
    return names[0]


def species_of(material: str) -> str:
    """Return the species a material's name stands for.

    Parameters
    ----------
    material : str
        Such as ``"Eastern White Pine"`` or ``"Timber - Hemlock, Eastern"``: words such as timber
        or sawn are passed over where the whole name is not a species.

    Returns
    -------
    str
        The species' name in this package's tables.

    Raises
    ------
    ShrinkageError
        If it is none, with the nearest, or could be several.
    """
    try:
        return find(material).name
    except ShrinkageError as error:
        rest = " ".join(_GENERIC.sub(" ", material).split())
        if rest == material:
            raise
        try:
            return find(rest).name
        except ShrinkageError:
            raise error from None
