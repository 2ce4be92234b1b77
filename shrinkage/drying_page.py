"""The page that shows a timber drying: moisture map, moisture and movement through time."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import ipywidgets as w
import numpy as np

from shrinkage import drying, drying_svg
from shrinkage.calendar import BANDS, USUAL, year_air
from shrinkage.climate import AirYear
from shrinkage.controls import choice, section_box, several, slide
from shrinkage.pickers import ClimatePicker
from shrinkage.species import Species, catalogue
from shrinkage.units import MM_PER_INCH, System, show
from shrinkage.widgets import LivePage, beside, captioned, cautions

MONTH = 365.0 / 12
PAGE = replace(drying.SLIDER, max_step=31.0)
"""One step a month once the first weeks are over. Against the default cells and steps of five days
or less: within 0.5 points of mean moisture and 2 % of the movement (measured on an 8 x 8 in white
pine, an 8 x 10 in oak that goes straight into a room, and a 6 x 10 in pine after two years in the
yard); the band from slow to fast drying is many times as wide."""
LONG = 6
"""Years dried at a time."""
SERIES = ("mean", "surface", "core", "radial", "tangential", "lost", "snapshots")
BOARD_MM = (5.5 * MM_PER_INCH, 1.0 * MM_PER_INCH)


class DryingPage(LivePage):
    """A timber and a one-inch board drying side by side, from sawing through yard and room.

    Attributes
    ----------
    view : ipywidgets.Widget
        What a notebook shows.
    controls : dict of str to ipywidgets.Widget
        'species', 'section', 'covered', 'green', 'place', 'room', 'yard', 'years', 'month'.
    panes : dict of str to ipywidgets.HTML
        'picture', with the numbers as text under it.
    dried : Drying or None
        The last good answer: the timber in three bands, then the board.
    """

    def __init__(self, system: System = "imperial") -> None:
        super().__init__()
        self.system = system
        self.dried: drying.Drying | None = None
        self._case: tuple[Any, ...] = ()
        self.air = ClimatePicker("Madison, WI")
        self.controls = self._controls()
        self.panes = {"picture": w.HTML()}
        shown = [control for name, control in self.controls.items() if name not in self.air.parts]
        left = [*shown[:-1], self.air, shown[-1], self.note, self.sign]
        self.view = beside(left, [*self.panes.values(), w.HTML(cautions())])
        self.controls["species"].observe(self._limit_green, names="value")
        self._limit_green()
        self.follow(self._update, [name for name in self.controls if name != "month"])
        self.follow(self._drawn, ["month"])

    def _controls(self) -> dict[str, w.Widget]:
        names = [name for name, s in catalogue().items() if s.gravity and s.s_t is not None]
        return {
            "species": choice("species", names, "pine, eastern white"),
            "section": section_box(value="8 in x 8 in"),
            "covered": several("faces covered", drying.FACES, ("right",),
                               "faces that panels keep from drying", rows=4),
            "green": slide("green moisture, %", 80, 30, 200, tip="when sawn; as much as the wood "
                           "can hold at most"),
            **self.air.parts,
            "yard": slide("months in the yard", 6, 0, 36, tip="from sawing to panels on, heated"),
            "years": slide("years shown", 6, 1, 12),
            "month": slide("month of the map", 12, 0, 12 * 6, tip="only looks; dries nothing"),
        }  # fmt: skip

    def _limit_green(self, _event: Any = None) -> None:
        """Let the slider go as far as the species can hold water, and no further."""
        self.controls["green"].max = int(catalogue()[self.controls["species"].value].most_moisture)

    def _update(self) -> None:
        """Dry the timber and the board; the month slider then only looks."""
        get = {name: control.value for name, control in self.controls.items()}
        width, depth = self.controls["section"].result()
        species = catalogue()[get["species"]]
        airs = self.air.years()
        days = np.arange(12 * get["years"] + 1) * MONTH
        # Later years do not change the ones before: one answer serves every length it covers.
        most = LONG * -(-get["years"] // LONG)
        yard = min(get["yard"], 12 * most) * MONTH
        open_after = [face for face in drying.FACES if face not in get["covered"]]
        of_air = [np.append(air.emc, () if air.temp is None else air.temp).tolist() for air in airs]
        case = (species, (width, depth), float(get["green"]), open_after, most, yard, of_air)
        if case != self._case:
            every = np.arange(12 * most + 1) * MONTH
            self._case, self._whole = case, _dry(*case[:4], every, yard, airs)
        self.dried = _first(self._whole, len(days))
        heated = min(yard, float(days[-1]))
        self.marks = {"panels on, heated": heated}
        self.size = (width, depth)
        self.wood = species
        month = self.controls["month"]
        if month.value > len(days) - 1:
            month.value = len(days) - 1
        month.max = len(days) - 1
        lost = self.lost()
        self.charts = (
            drying_svg.moisture_chart(self.dried, USUAL, len(BANDS), self.marks),
            drying_svg.movement_chart(days, lost, self.marks, self.system),
        )
        self._drawn()

    def lost(self) -> dict[str, tuple[Any, str]]:
        """Return what the timber and the board have lost, shape (bands, dates) [mm]."""
        assert self.dried is not None
        s_r, s_t = self.wood.s_r, self.wood.tangential
        timber, flat = slice(0, len(BANDS)), slice(len(BANDS), None)
        across = self.dried.width_strain(s_r, s_t) * self.size[0]
        up = self.dried.depth_strain(s_r, s_t) * self.size[1]
        return {
            "width": (across[timber], drying_svg.TIMBER),
            "depth": (up[timber], drying_svg.DEPTH),
            "board's width": (
                self.dried.width_strain(s_r, s_t)[flat] * BOARD_MM[0],
                drying_svg.BOARD,
            ),
        }

    def _drawn(self) -> None:
        """Look at a month: the map is drawn again, in the charts only a line moves."""
        assert self.dried is not None
        month = min(self.controls["month"].value, len(self.dried.days) - 1)
        at = float(self.dried.days[month])
        panels_on = at > self.marks["panels on, heated"]
        covered = self.controls["covered"].value if panels_on else ()
        pictures = [
            drying_svg.section_map(self.dried, USUAL, month, covered),
            *(chart.at(at) for chart in self.charts),
        ]
        words = self._said(month, self.lost())
        self.panes["picture"].value = captioned("drying", " ".join(pictures), words)

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


def _first(whole: drying.Drying, count: int) -> drying.Drying:
    """Return an answer with snapshots cut to its first dates."""
    assert whole.snapshots is not None
    cut = {name: getattr(whole, name)[:, :count] for name in SERIES}
    state = replace(whole.state, moisture=whole.snapshots[:, count - 1])
    return replace(whole, days=whole.days[:count], state=state, **cut)


def _dry(
    species: Species, size: tuple[float, float], green: float, open_after: list[str], days: Any,
    heated: float, airs: tuple[AirYear, AirYear],
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

    yard, room = map(year_air, airs)
    start = np.full(members, min(green, species.most_moisture))
    how: dict[str, Any] = {"settings": PAGE, "snapshots": True}
    before, after = days[days <= heated], days[days > heated]
    first = drying.dry(of(list(drying.FACES)), yard, start, before, **how)
    if not after.size:
        return first
    second = drying.dry(of(open_after), room, first.state, after, start=heated, **how)
    joined = {
        name: np.concatenate([getattr(first, name), getattr(second, name)], axis=1)
        for name in SERIES
    }
    return drying.Drying(
        days=np.concatenate([first.days, second.days]),
        state=second.state,
        notes=(*first.notes, *second.notes),
        **joined,
    )
