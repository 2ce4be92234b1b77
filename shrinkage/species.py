"""What a species is to this package: how much it shrinks, how wet it starts, how dense it is.

All of Table 4-3 of the Wood Handbook, joined with the fibre saturation marks of Table 13-5, the
green moistures of Table 4-1 and the specific gravities of Table 5-3, and a look-up that forgives.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import cache

from shrinkage import tables
from shrinkage.errors import ShrinkageError

FIBRE_SATURATION = 30.0
"""Moisture content at which shrinkage starts [%], unless Table 13-5 marks the species."""

LONGITUDINAL = 0.0015
"""Shrinkage along the grain, green to oven-dry, as a fraction: the middle of the 0.1 to 0.2 % that
GTR-190 ch. 4 gives for normal wood."""

# Table 13-5 and Table 4-3 give these woods under different names.
_FSP_NAMES = {"redwood, young growth": "redwood, second growth"}


@dataclass(frozen=True)
class Species:
    """One wood.

    Parameters
    ----------
    name : str
        Name as Table 4-3 gives it, or the user's own.
    s_r, s_t, s_l : float
        Radial, tangential and longitudinal shrinkage from green to oven-dry, as fractions of the
        green dimension [-]. `s_t` is None where the table leaves it empty.
    volumetric : float or None
        Shrinkage of the volume, green to oven-dry [-].
    fibre_saturation : float
        Moisture content at which shrinkage starts [%].
    gravity : float or None
        Specific gravity on oven-dry mass and green volume [-].
    green_heart, green_sap : float or None
        Mean green moisture content of heartwood and sapwood [%].
    group : str
        'hardwood', 'softwood' or 'own'.
    botanical : str
        Botanical name, empty where the package has none.
    source, basis : str
        Where the shrinkage comes from and how it was read.
    """

    name: str
    s_r: float
    s_t: float | None
    s_l: float = LONGITUDINAL
    volumetric: float | None = None
    fibre_saturation: float = FIBRE_SATURATION
    gravity: float | None = None
    green_heart: float | None = None
    green_sap: float | None = None
    group: str = "own"
    botanical: str = ""
    source: str = "the user"
    basis: str = "assumed"

    def __post_init__(self) -> None:
        for key in ("s_r", "s_t", "s_l"):
            number = getattr(self, key)
            if number is None and key == "s_t":
                continue
            if number is None or not 0.0 <= number < 0.5:
                raise ShrinkageError(
                    f"species {self.name!r}: {key} is {number!r}; "
                    "accepted: a fraction from 0 to 0.5"
                )
        if not 10.0 <= self.fibre_saturation <= 50.0:
            raise ShrinkageError(
                f"species {self.name!r}: fibre saturation is {self.fibre_saturation!r}; "
                "accepted: from 10 to 50 %"
            )
        if self.gravity is not None and not 0.05 < self.gravity < 1.3:
            raise ShrinkageError(
                f"species {self.name!r}: specific gravity is {self.gravity!r}; "
                "accepted: from 0.05 to 1.3"
            )

    @property
    def tangential(self) -> float:
        """Tangential shrinkage as a fraction; an error where the table has none."""
        if self.s_t is None:
            raise ShrinkageError(
                f"species {self.name!r}: {self.source} gives no tangential shrinkage; "
                "accepted: another species, or one of your own under [species]"
            )
        return self.s_t

    @property
    def most_moisture(self) -> float:
        """Moisture content with every void full of water [%] (GTR-190 Eq. 4-1).

        Without a specific gravity the lightest wood of the table (0.29) sets the limit.
        """
        gravity = self.gravity if self.gravity is not None else 0.29
        full = 100.0 * (1.54 - gravity) / (1.54 * gravity)
        # Table 4-1's means of wet sapwoods can lie above what Table 5-3's mean density allows.
        return max(full, self.green_heart or 0.0, self.green_sap or 0.0)


@cache
def catalogue() -> dict[str, Species]:
    """Return all species of Table 4-3, keyed by the table's name.

    Returns
    -------
    dict of str to Species
        In the table's order, 116 rows.
    """
    saturation = {row["species"]: float(row["fsp"]) for row in tables.rows("table_13_5")}
    green = {row["species"]: row for row in tables.rows("table_4_1")}
    gravity = {row["species"]: row for row in tables.rows("specific_gravity")}
    botanical = {row["species"]: row["botanical"] for row in tables.rows("botanical")}
    result = {}
    for row in tables.rows("table_4_3"):
        name = row["species"]
        moist = green.get(name, {"heartwood": "", "sapwood": ""})
        tangential = tables.value(row["tangential"])
        volumetric = tables.value(row["volumetric"])
        result[name] = Species(
            name=name,
            s_r=float(row["radial"]) / 100,
            s_t=None if tangential is None else tangential / 100,
            volumetric=None if volumetric is None else volumetric / 100,
            fibre_saturation=saturation.get(_FSP_NAMES.get(name, name), FIBRE_SATURATION),
            gravity=tables.value(gravity[name]["green"]) if name in gravity else None,
            green_heart=tables.value(moist["heartwood"]),
            green_sap=tables.value(moist["sapwood"]),
            group=row["group"],
            botanical=botanical.get(name, ""),
            source=tables.SOURCES["table_4_3"],
            basis=row["basis"],
        )
    return result


@cache
def imported() -> dict[str, Species]:
    """Return woods grown elsewhere, keyed by name; each row of the table names its source.

    Returns
    -------
    dict of str to Species
        European and other woods that timber frames are cut from.
    """
    result = {}
    for row in tables.rows("imported"):
        result[row["species"]] = Species(
            name=row["species"],
            s_r=float(row["radial"]) / 100,
            s_t=float(row["tangential"]) / 100,
            volumetric=float(row["volumetric"]) / 100,
            gravity=float(row["green_gravity"]),
            group=row["group"],
            botanical=row["botanical"],
            source=row["source"],
            basis=row["basis"],
        )
    return result


def woods() -> dict[str, Species]:
    """Return all species the package knows: `catalogue`, then `imported`."""
    return catalogue() | imported()


def _words(text: str) -> frozenset[str]:
    words = re.sub(r"[^a-z0-9]+", " ", text.lower()).split()
    spelled = {"douglasfir": "douglas fir", "doug": "douglas", "grey": "gray"}
    return frozenset(" ".join(spelled.get(word, word) for word in words).split())


@cache
def _index() -> dict[frozenset[str], str]:
    """Map the word set of every name, botanical name and other name to the table's name."""
    index = {_words(name): name for name in woods()}
    for row in (*tables.rows("botanical"), *tables.rows("imported")):
        names = [row["botanical"], *filter(None, row["other_names"].split(";"))]
        index.update({_words(name): row["species"] for name in names})
    return index


def find(name: str, own: dict[str, Species] | None = None) -> Species:
    """Look a species up by table name, everyday name, botanical name or trade letters.

    Word order, case, commas and hyphens do not matter. A name that fits only one species is taken
    as that one.

    Parameters
    ----------
    name : str
        Such as ``"eastern hemlock"``, ``"hemlock, eastern"``, ``"Tsuga canadensis"``, ``"EWP"``.
    own : dict of str to Species, optional
        The user's own species, looked at first, by exact name.

    Returns
    -------
    Species
        The wood.

    Raises
    ------
    ShrinkageError
        If nothing fits (the nearest names are given) or several do (all are given).
    """
    own = own or {}
    if name in own:
        return own[name]
    words = _words(str(name))
    index = _index()
    known = woods()
    if words in index:
        return known[index[words]]
    # A word set that is part of just one name is that name; of several, a question.
    fits = sorted({index[key] for key in index if words and words < key})
    if len(fits) == 1:
        return known[fits[0]]
    if fits:
        raise ShrinkageError(f"species {name!r} could be several; accepted: {'; '.join(fits)}")
    near = "; ".join(_nearest(name, own))
    raise ShrinkageError(f"species {name!r} is not known; nearest: {near}")


def _nearest(name: str, own: dict[str, Species]) -> list[str]:
    """Return up to five names closest in spelling, whatever the word order."""
    spelled = {" ".join(sorted(words)): known for words, known in _index().items()}
    spelled |= {" ".join(sorted(_words(mine))): mine for mine in own}
    asked = " ".join(sorted(_words(str(name))))
    close = difflib.get_close_matches(asked, spelled, n=8, cutoff=0.0)
    return list(dict.fromkeys(spelled[match] for match in close))[:5]
