"""The student's page: compare species, change the air, move the pith, choose wood for a place."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

import ipywidgets as w

from shrinkage import shape_figures, shape_svg, species_svg
from shrinkage.climate import AirYear, emc
from shrinkage.controls import choice, section_box, several, slide
from shrinkage.movement import change
from shrinkage.pickers import ClimatePicker
from shrinkage.section import Heart
from shrinkage.shape import Section, dry
from shrinkage.shape_dimensions import strains
from shrinkage.species import Species, woods
from shrinkage.timber import Timber
from shrinkage.units import MM_PER_INCH, System, show
from shrinkage.widgets import LivePage, beside, captioned, cautions

MOVEMENT = "movement across the grain for this change of air, %"
Measure = Callable[[Species, tuple[float, float]], float | None]
MEASURES: dict[str, Measure] = {
    "radial shrinkage, %": lambda s, _: 100 * s.s_r,
    "tangential shrinkage, %": lambda s, _: 100 * s.tangential,
    "tangential / radial": lambda s, _: s.tangential / s.s_r,
    "volume shrinkage, %": lambda s, _: 100 * s.volumetric if s.volumetric else None,
    "specific gravity, green volume": lambda s, _: s.gravity,
    MOVEMENT: lambda s, m: 100 * abs(_moves(s, *m)),
}
"""What species can be ranked by; each takes the species and the two moistures."""
BEAM = (7.5 * MM_PER_INCH, 7.5 * MM_PER_INCH)
CHOSEN = ("pine, eastern white", "hemlock, eastern", "oak, white")
AIR_CONTROLS = ("from_temp", "from_rh", "to_temp", "to_rh")
_LARGEST_PITH = 30


def _moves(wood: Species, before: float, after: float) -> float:
    """Return the mean of radial and tangential change between two moistures [-]."""
    mean = (wood.s_r + wood.tangential) / 2
    return float(change(mean, before, after, wood.fibre_saturation))


class SpeciesPage(LivePage):
    """Compare species on what the tables say and on what a change of air does to them.

    Attributes
    ----------
    view : ipywidgets.Widget
        What a notebook shows.
    controls : dict of str to ipywidgets.Widget
        'measure', 'group', 'chosen', 'from_temp', 'from_rh', 'to_temp', 'to_rh', 'wood',
        'section', 'pith_x', 'pith_y', 'use', 'place', 'room'.
    panes : dict of str to ipywidgets.HTML
        'ranking', 'scatter', 'air', 'section', 'use', each a picture or table with its words.
    """

    good = "Pictures for the settings above."

    def __init__(self, system: System = "imperial") -> None:
        super().__init__()
        self.system = system
        self.panes = {name: w.HTML() for name in ("ranking", "scatter", "air", "section", "use")}
        self.air = ClimatePicker("Madison, WI")
        self.controls = self._controls()
        self.follow(self._rank, ("measure", "group", "chosen"), ("ranking",))
        self.follow(self._scatter, ("group", "chosen"), ("scatter",))
        self.follow(self._air, AIR_CONTROLS, ("air",))
        names = ("wood", "section", "pith_x", "pith_y", *AIR_CONTROLS[2:])
        self.follow(self._section, names, ("section",))
        self.follow(self._use, ("use", "place", "room"), ("use",))
        self.view = self._layout()

    def _controls(self) -> dict[str, w.Widget]:
        names = [name for name, s in woods().items() if s.s_t is not None]

        reach = _LARGEST_PITH
        groups = ["timber frames", "softwood", "hardwood", "all"]
        return {
            "measure": choice("rank by", list(MEASURES), MOVEMENT),
            "group": choice("woods", groups, "timber frames"),
            "chosen": several("pick out", names, CHOSEN, "woods to mark in the pictures", rows=6),
            "from_temp": slide("from, °C", 20, -10, 40),
            "from_rh": slide("from, % humidity", 70, 5, 95),
            "to_temp": slide("to, °C", 21, -10, 40),
            "to_rh": slide("to, % humidity", 30, 5, 95),
            "wood": choice("section of", names, "oak, white"),
            "section": section_box("size", "8 in x 8 in"),
            "pith_x": slide("pith across, cm", 0, -reach, reach, tip="from the centre"),
            "pith_y": slide("pith up, cm", -12, -reach, reach, tip="from the centre"),
            "use": choice("use", ["sill", "post", "plate"], "plate"),
            **self.air.parts,
        }

    def _layout(self) -> w.Widget:
        """Put each set of controls beside what it changes, in the order one would use them."""

        def row(names: tuple[str, ...], *panes: str) -> w.HBox:
            return beside([self.controls[n] for n in names], [self.panes[pane] for pane in panes])

        return w.VBox([
            row(("measure", "group", "chosen"), "ranking", "scatter"),
            row(AIR_CONTROLS, "air"),
            row(("wood", "section", "pith_x", "pith_y"), "section"),
            beside([self.controls["use"], self.air], [self.panes["use"]]),
            self.note,
            self.sign,
            w.HTML(cautions()),
        ])  # fmt: skip

    def _value(self, name: str) -> Any:
        return self.controls[name].value

    def moistures(self) -> tuple[float, float]:
        """Return what wood settles at before and after the change of air [%]."""
        air = [(self._value(f"{end}_temp"), self._value(f"{end}_rh")) for end in ("from", "to")]
        return float(emc(*air[0])), float(emc(*air[1]))

    def listed(self) -> dict[str, Species]:
        """Return the woods of the chosen group, and the picked ones in any case."""
        group = self._value("group")

        def belongs(wood: Species) -> bool:
            named = group == "timber frames" and bool(wood.botanical)
            return named or group in ("all", wood.group)

        return {
            name: wood
            for name, wood in woods().items()
            if wood.s_t is not None and (belongs(wood) or name in self._value("chosen"))
        }

    def values(self) -> dict[str, float]:
        """Return the chosen measure by species; woods the tables have no value for are left out."""
        how, ends = MEASURES[self._value("measure")], self.moistures()
        found = {name: how(wood, ends) for name, wood in self.listed().items()}
        return {name: float(value) for name, value in found.items() if value is not None}

    def _rank(self) -> None:
        values, chosen, label = self.values(), self._value("chosen"), self._value("measure")
        order = sorted(values, key=lambda name: values[name], reverse=True)
        said = "; ".join(
            f"{name}: {values[name]:.3g} (place {order.index(name) + 1} of {len(order)})"
            for name in chosen
            if name in values
        )
        most, least = (f"{name}, {values[name]:.3g}" for name in (order[0], order[-1]))
        words = f"{label}. Greatest {most}; least {least}. {said}"
        self._show("ranking", species_svg.ranked(values, chosen, label, words), words)

    def _scatter(self) -> None:
        listed, chosen = self.listed(), self._value("chosen")
        rows = [f"{n}: radial {100 * x.s_r:.1f} %, tangential {100 * x.tangential:.1f} %"
                for n, x in listed.items() if n in chosen]  # fmt: skip
        words = "; ".join(rows)
        self._show("scatter", species_svg.scatter(listed, chosen, words), words)

    def _air(self) -> None:
        start, stop = ((self._value(f"{e}_temp"), self._value(f"{e}_rh")) for e in ("from", "to"))
        before, after = self.moistures()
        words = f"Wood goes from {before:.1f} to {after:.1f} % (GTR-190 Eq. 4-5)."
        self._show("air", species_svg.air(start, stop, words), words)
        if self._value("measure") == MOVEMENT:
            self._rank()

    def _show(self, name: str, svg: str, words: str) -> None:
        self.panes[name].value = captioned(name, svg, words)

    def _section(self) -> None:
        """Draw a section from green to what it settles at after the change of air."""
        width, depth = self.controls["section"].result()
        wood, after = woods()[self._value("wood")], self.moistures()[1]
        pith = 10.0 * self._value("pith_x"), 10.0 * self._value("pith_y")
        shape = dry(Section(width, depth, *pith), *strains(wood, wood.fibre_saturation, after))
        title = f"{wood.name}, green to {after:.1f} %"
        words = f"{title}: {'; '.join(shape_figures.describe(shape, self.system))}."
        self._show("section", shape_svg.picture(shape, words, self.system, title), words)

    def _use(self) -> None:
        """List woods for one use at a place: what a boxed 7-1/2 in timber does there."""
        outside, room = self.air.years()
        use = self._value("use")
        # A sill lives near outdoor air; post and plate stand in the room.
        air = outside if use == "sill" else room
        rows = sorted(use_rows(air, self.system), key=lambda row: float(row[-1]))
        head = ("wood", "loses by the driest month", "works with the seasons", "T/R",
                "specific gravity", "basis")  # fmt: skip
        cells = "".join(f"<th>{escape(name)}</th>" for name in head)
        body = "".join(
            "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row[:-1]) + "</tr>"
            for row in rows
        )
        words = (
            f"A {show(BEAM[0], self.system)} square {use} with the heart boxed, green, in "
            f"{air.name}: {air.low:.1f} to {air.high:.1f} % through the year. Least movement "
            "first. Strength, rot and insects are not in this table: ask the engineer and local "
            "practice."
        )
        self.panes["use"].value = (
            f'<p class="sk-words">{escape(words)}</p><div style="max-height:22em;overflow:auto">'
            f'<table class="sk-use"><tr>{cells}</tr>{body}</table></div>'
        )


def use_rows(air: AirYear, system: System) -> list[tuple[str, ...]]:
    """Return what each timber frame wood does as a boxed timber in an air, last cell for sorting.

    Parameters
    ----------
    air : AirYear
        Where it stands.
    system : {'imperial', 'metric'}
        Of the lengths.
    """
    rows: list[tuple[str, ...]] = []
    for wood in woods().values():
        if wood.s_t is None or not wood.botanical or wood.fibre_saturation < air.low:
            continue
        timber = Timber("timber", wood, *BEAM, Heart("boxed"), wood.fibre_saturation, air)
        driest, _, wettest = (BEAM[1] * timber.shrink("depth")[:, 1]).tolist()
        rows.append(
            (wood.name, show(driest, system, 32), show(driest - wettest, system, 64),
             f"{wood.tangential / wood.s_r:.1f}", f"{wood.gravity:.2f}" if wood.gravity else "",
             wood.basis, f"{driest:.6f}")
        )  # fmt: skip
    return rows
