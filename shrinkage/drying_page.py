"""The page that shows a timber drying: moisture map, moisture and movement through time."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import Any

import ipywidgets as w
import numpy as np

from shrinkage import drying, drying_figures, figures
from shrinkage.calendar import BANDS, USUAL, year_air
from shrinkage.climate import AirYear, outdoors, places, room_derived
from shrinkage.errors import ShrinkageError
from shrinkage.job import read_section
from shrinkage.species import Species, catalogue
from shrinkage.units import MM_PER_INCH, System, show
from shrinkage.widgets import LABELS, WIDE, beside, cautions, message

MONTH = 365.0 / 12
PAGE = replace(drying.SLIDER, max_step=31.0)
"""One step a month once the first weeks are over: within 0.2 points of moisture and 0.6 % of the
movement, which a picture does not show."""
BOARD_MM = (5.5 * MM_PER_INCH, 1.0 * MM_PER_INCH)


class DryingPage:
    """A timber and a one-inch board drying side by side, from sawing through yard and room.

    Attributes
    ----------
    view : ipywidgets.Widget
        What a notebook shows.
    controls : dict of str to ipywidgets.Widget
        'species', 'section', 'covered', 'green', 'place', 'yard', 'years', 'month'.
    note, picture, words : ipywidgets.HTML
        Message, drawing, and the numbers as text.
    dried : Drying or None
        The last good answer: the timber in three bands, then the board.
    """

    def __init__(self, system: System = "imperial") -> None:
        self.system = system
        self.dried: drying.Drying | None = None
        self.figure, *_ = self.axes = drying_figures.new_figure()
        self.controls = self._controls()
        self.note, self.picture, self.words = w.HTML(), w.HTML(), w.HTML()
        for name, control in self.controls.items():
            control.observe(self._drawn if name == "month" else self._changed, names="value")
        results = [self.picture, self.words, w.HTML(cautions())]
        self.view = beside([*self.controls.values(), self.note], results)
        self._changed(None)

    def _controls(self) -> dict[str, w.Widget]:
        names = [name for name, s in catalogue().items() if s.gravity and s.s_t is not None]

        def number(label: str, value: int, low: int, high: int) -> w.IntSlider:
            return w.IntSlider(value, low, high, description=label, layout=WIDE, style=LABELS)

        return {
            "species": w.Dropdown(options=names, value="pine, eastern white",
                                  description="species", layout=WIDE, style=LABELS),
            "section": w.Text("8 in x 8 in", description="section", continuous_update=False,
                              layout=WIDE, style=LABELS),
            "covered": w.SelectMultiple(options=drying.FACES, value=("right",), rows=4,
                                        description="faces covered", layout=WIDE, style=LABELS),
            "green": number("green moisture, %", 80, 30, 200),
            "place": w.Dropdown(options=places(), value="Madison, WI", description="place",
                                layout=WIDE, style=LABELS),
            "yard": number("months in the yard", 6, 0, 36),
            "years": number("years shown", 6, 1, 12),
            "month": number("month of the map", 12, 0, 12 * 6),
        }  # fmt: skip

    def _changed(self, _event: Any) -> None:
        try:
            self._update()
        except ShrinkageError as error:
            self.note.value = message(error.message, good=False)
            self.picture.layout.border_left = "4px solid #8a1c1c"  # what is shown is the old answer
        else:
            self.note.value = message("Answer for the settings above.", good=True)
            self.picture.layout.border_left = None
            self._drawn(None)

    def _update(self) -> None:
        """Dry the timber and the board; the month slider then only looks."""
        get = {name: control.value for name, control in self.controls.items()}
        width, depth = read_section(get["section"])
        species = catalogue()[get["species"]]
        outside = outdoors(get["place"])
        days = np.arange(12 * get["years"] + 1) * MONTH
        heated = min(get["yard"], 12 * get["years"]) * MONTH
        open_after = [face for face in drying.FACES if face not in get["covered"]]
        self.dried = _dry(species, (width, depth), float(get["green"]), open_after, days, heated,
                          outside)  # fmt: skip
        self.marks = {"panels on, heated": heated}
        self.size = (width, depth)
        self.wood = species
        month = self.controls["month"]
        if month.value > len(days) - 1:
            month.value = len(days) - 1
        month.max = len(days) - 1

    def lost(self) -> dict[str, tuple[Any, str]]:
        """Return what the timber and the board have lost, shape (bands, dates) [mm]."""
        assert self.dried is not None
        s_r, s_t = self.wood.s_r, self.wood.tangential
        timber, flat = slice(0, len(BANDS)), slice(len(BANDS), None)
        across = self.dried.width_strain(s_r, s_t) * self.size[0]
        up = self.dried.depth_strain(s_r, s_t) * self.size[1]
        return {
            "width": (across[timber], drying_figures.DARK),
            "depth": (up[timber], drying_figures.MIDDLE),
            "board's width": (self.dried.width_strain(s_r, s_t)[flat] * BOARD_MM[0], "#9a6a1f"),
        }

    def _drawn(self, _event: Any) -> None:
        if self.dried is None:
            return
        month = min(self.controls["month"].value, len(self.dried.days) - 1)
        _, section, moisture, movement = self.axes
        at = float(self.dried.days[month])
        panels_on = at > self.marks["panels on, heated"]
        covered = list(self.controls["covered"].value) if panels_on else []
        drying_figures.section_map(section, self.dried, USUAL, month, covered)
        drying_figures.moisture_lines(moisture, self.dried, USUAL, len(BANDS), self.marks, at)
        lost = self.lost()
        drying_figures.movement_lines(
            movement, self.dried.days / 365, lost, self.marks, at, self.system
        )
        words = self._said(month, lost)
        svg = figures.as_svg(self.figure, words)
        self.picture.value = f'<figure class="sk-drying">{svg}</figure>'
        self.words.value = f'<p class="sk-words">{escape(words)}</p>'

    def _said(self, month: int, lost: dict[str, tuple[Any, str]]) -> str:
        """Return the picture's numbers in words."""
        assert self.dried is not None
        dried = self.dried
        mean, core = dried.mean[:, month], dried.core[USUAL, month]
        parts = [
            f"{dried.days[month] / 365:.1f} years after sawing: mean moisture {mean[USUAL]:.0f} % "
            f"({mean[2]:.0f} to {mean[0]:.0f} % for fast to slow drying), core {core:.0f} %, "
            f"surface {dried.surface[USUAL, month]:.0f} %; 1 in board {mean[3]:.0f} %."
        ]
        for name in ("width", "depth"):
            values = lost[name][0][:, month]
            low, usual, high = (
                show(float(v), self.system, 32) for v in (values.min(), values[USUAL], values.max())
            )
            parts.append(f"Its {name} has lost {usual} ({low} to {high}).")
        return " ".join(parts)


def _dry(
    species: Species, size: tuple[float, float], green: float, open_after: list[str], days: Any,
    heated: float, outside: AirYear,
) -> drying.Drying:  # fmt: skip
    """Dry the timber in three bands and a flat-sawn board, in the yard and then in the room."""
    members = len(BANDS) + 1

    def of(faces: list[str]) -> drying.Sections:
        return drying.sections(
            [size[0]] * len(BANDS) + [BOARD_MM[0]],
            [size[1]] * len(BANDS) + [BOARD_MM[1]],
            float(species.gravity or 0),
            [faces] * len(BANDS) + [list(drying.FACES)],
            pith=[(0.0, 0.0)] * len(BANDS) + [(0.0, 1e6)],
            fibre_saturation=species.fibre_saturation,
            d_scale=[*BANDS, 1.0],
        )

    yard, room = year_air(outside), year_air(room_derived(outside))
    start = np.full(members, min(green, species.most_moisture))
    how: dict[str, Any] = {"settings": PAGE, "snapshots": True}
    before, after = days[days <= heated], days[days > heated]
    first = drying.dry(of(list(drying.FACES)), yard, start, before, **how)
    if not after.size:
        return first
    second = drying.dry(of(open_after), room, first.state, after, start=heated, **how)
    joined = {
        name: np.concatenate([getattr(first, name), getattr(second, name)], axis=1)
        for name in ("mean", "surface", "core", "radial", "tangential", "lost", "snapshots")
    }
    return drying.Drying(
        days=np.concatenate([first.days, second.days]),
        state=second.state,
        notes=(*first.notes, *second.notes),
        **joined,
    )
