"""Parts of pages that choose one thing from the tables or the disk, and show what it is.

A job from a folder, a timber with a picture of its rings, a place with its year of air.
"""

from __future__ import annotations

import math
import os
import tomllib
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from shrinkage.climate import AirYear, outdoors, places, regions, room_by_region, room_derived
from shrinkage.controls import AS_IN_JOB, LABELS, WIDE, Entry, choice, job_box, section_box
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import read_job
from shrinkage.picker_pictures import air_strip, ring_picture
from shrinkage.section import HEART_KINDS, Heart, width_weights
from shrinkage.species import Species, catalogue
from shrinkage.tables import JOBS, STARTER, data_folder


def job_files(folder: Path | None = None) -> dict[str, str]:
    """Return job files by title: of a folder, or else the user's own and the example's.

    Parameters
    ----------
    folder : Path, optional
        Where to look.
    """
    own = [Path(os.environ[JOBS])] if os.environ.get(JOBS) else []
    found: dict[str, str] = {}
    for place in [folder] if folder else [*own, data_folder()]:
        for path in sorted(place.glob("*.toml")):
            try:
                raw = tomllib.loads(path.read_text(encoding="utf-8"))
            except (OSError, ValueError):
                raw = {"title": f"not readable: {path.stem}", "wall": []}  # shown, and then named
            if path.name == STARTER or "wall" not in raw:
                continue  # the file to start from, a study, or no job at all
            title = str(raw.get("title", path.stem)).strip() or path.stem
            found[f"{title} ({path.name})" if title in found else title] = str(path)
    return found


class JobChooser(Entry):
    """A list of job files and a box for the path of another.

    Parameters
    ----------
    folder : Path, optional
        Where job files are; the user's own folder and the example otherwise.

    Attributes
    ----------
    value : str
        Path of the job file chosen.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.files = job_files(folder)
        sound = next((path for path in self.files.values() if not mistake(path)), None)
        self.list = choice("job", self.files.items(), sound, "a job file; the example is invented")
        self.path = w.Text("", description="or a file", placeholder="path of a .toml file",
                           continuous_update=False, layout=WIDE, style=LABELS,
                           tooltip="Enter reads it; empty goes back to the list")  # fmt: skip
        super().__init__("job", [self.list, self.path])
        for part in (self.list, self.path):
            part.observe(self._chosen, names="value")
        self._chosen()

    @property
    def title(self) -> str:
        """What the chosen job is called in the list."""
        return next((title for title, path in self.files.items() if path == self.value), self.value)

    def _chosen(self, _event: Any = None) -> None:
        path = self.path.value.strip() or self.list.value
        if path is None:
            self.enter("", "no job file here; accepted: a path in the box above")
            return
        self.enter(path, mistake(path))


def mistake(path: str) -> str:
    """Return what is wrong with a job file, empty where nothing is."""
    try:
        read_job(Path(path).expanduser())
    except ShrinkageError as error:
        return error.message
    return ""


class TimberPicker(w.VBox):
    """Species, heart, moisture and, where one is asked for, section, with a picture of the rings.

    Parameters
    ----------
    species, section, heart, moisture : str
        Where to start. An empty section leaves that box out.
    in_job : bool
        Whether each may stay as the job says.

    Attributes
    ----------
    parts : dict of str to ipywidgets.Widget
        'species', 'section', 'heart', 'moisture'.
    rings : ipywidgets.HTML
        The picture.
    """

    def __init__(self, species: str = "", section: str = "", heart: str = "", moisture: str = "",
                 in_job: bool = False, label: str = "species") -> None:  # fmt: skip
        stay = [AS_IN_JOB] if in_job else []
        names = [name for name, wood in catalogue().items() if wood.s_t is not None]
        start = species or (stay or names)[0]
        self.parts: dict[str, w.Widget] = {
            "species": choice(label, [*stay, *names], start, "woods of the tables with radial and "
                              "tangential shrinkage"),
        }  # fmt: skip
        if section:
            self.parts["section"] = section_box(value=section)
        self.parts["heart"] = choice(
            "heart", [*stay, *HEART_KINDS], heart or (stay or ["boxed"])[0],
            "where the pith lies in the section",
        )  # fmt: skip
        self.parts["moisture"] = job_box(
            "moisture on the day", "timber.post.moisture", moisture,
            "as in the job; green, or 22 %" if in_job else "green, or 22 %",
            "when the panels go on: green, or what a meter says", empty=in_job,
        )  # fmt: skip
        self.rings = w.HTML()
        super().__init__([*self.parts.values(), self.rings])
        for part in self.parts.values():
            part.observe(self._draw, names="value")
        self._draw()

    def value(self, name: str) -> Any:
        """Return what a part stands at; None where it stays as the job says."""
        part = self.parts.get(name)
        return None if part is None or part.value in ("", AS_IN_JOB) else part.value

    def _draw(self, _event: Any = None) -> None:
        name, heart = self.value("species"), self.value("heart")
        section = self.parts.get("section")
        if name is None or heart is None or (section is not None and section.wrong):
            self.rings.value = ""
            return
        size = (200.0, 200.0) if section is None else section.result()
        self.rings.value = ring_words(catalogue()[name], size, heart)


def ring_words(wood: Species, size: tuple[float, float], heart: str) -> str:
    """Return the picture of a section's rings, with what it means in words.

    Parameters
    ----------
    wood : Species
        Of the timber.
    size : (float, float)
        Width and depth [mm].
    heart : str
        One of `HEART_KINDS`.
    """
    width, depth = size
    weights = width_weights(width, depth, Heart(heart))  # type: ignore[arg-type]
    dry = [100 * (r * wood.s_r + (1 - r) * wood.tangential)
           for r in (weights.high, weights.low)]  # fmt: skip
    across = f"{dry[0]:.1f} %" if math.isclose(*dry) else f"{dry[0]:.1f} to {dry[1]:.1f} %"
    words = (
        f"{Heart(heart).meaning}. Green to oven-dry this width loses {across} "  # type: ignore[arg-type]
        f"(radial {100 * wood.s_r:.1f} %, tangential {100 * wood.tangential:.1f} %)."
    )
    picture = ring_picture(width, depth, heart, words)
    return f'<div class="sk-rings">{picture}<p>{escape(words)}</p></div>'


class ClimatePicker(w.VBox):
    """A place and what its rooms are like, with the year that wood feels there.

    Parameters
    ----------
    place : str
        Where to start.
    in_job : bool
        Whether place and room may stay as the job says.

    Attributes
    ----------
    parts : dict of str to ipywidgets.Dropdown
        'place', 'room'.
    strip : ipywidgets.HTML
        Equilibrium moisture by month, outdoors and in the room.
    """

    def __init__(self, place: str = "", in_job: bool = False) -> None:
        stay = [AS_IN_JOB] if in_job else []
        rooms = ("from outdoors", "from outdoors, crowded", *regions())
        self.parts = {
            "place": choice("place", [*stay, *places()], place or (stay or places())[0],
                            "nearest of the outdoor table; a job file may name a weather series"),
            "room": choice("room air", [*stay, *rooms], None, "worked out from outdoors, or a "
                           "region's usual heated room"),
        }  # fmt: skip
        self.strip = w.HTML()
        super().__init__([*self.parts.values(), self.strip])
        if not in_job:
            for part in self.parts.values():
                part.observe(self._draw, names="value")
            self._draw()

    def years(self) -> tuple[AirYear, AirYear]:
        """Return the air outdoors and in the room, where neither stays as a job says."""
        outside, room = outdoors(self.parts["place"].value), self.parts["room"].value
        if room.startswith("from outdoors"):
            return outside, room_derived(outside, crowded=room.endswith("crowded"))
        return outside, room_by_region(room)

    def _draw(self, _event: Any = None) -> None:
        self.show(*self.years())

    def show(self, outside: AirYear, room: AirYear) -> None:
        """Draw a year of air.

        Parameters
        ----------
        outside, room : AirYear
            Outdoors and in the room.
        """
        words = " ".join(
            f"{what}: {air.low:.1f} to {air.high:.1f} %."
            for what, air in (("Outdoors", outside), ("In the room", room))
        )
        svg = air_strip({"outdoors": outside.emc, "room": room.emc}, words)
        self.strip.value = f'<div class="sk-air-year">{svg}<p>{escape(words)}</p></div>'
