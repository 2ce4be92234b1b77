"""Every public argument stands in the glossary, and the glossary holds nothing else.

Public are the names of the package itself and the modules below: what a notebook or another
program calls for a number. Pages, figures, files and the command line are ways to look at them.
"""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import shrinkage

PAGE = Path(__file__).resolve().parents[1] / "docs" / "glossary.md"
MODULES = """
units species climate airseries epw movement section shape shape_dimensions diffusion exposure
moisture_field drying meter timber calendar joint details foam foam_kinds foam_stress foam_life
foam_answer filling fasteners allowance frame layout order quantity remedies whatif spread sampled
chance drivers study sweep finishes boards joinery brace pegged finding site_log measures found
watch watch_known watch_model bayes particles ifc_timbers
""".split()
ROW = re.compile(r"^\| (`[^|]*`) \|(.*)\|$", re.MULTILINE)
COLUMNS = 3
"""Beside the names: meaning, unit, sign or reference."""


def arguments(thing: Any) -> Iterator[str]:
    """Yield what a function or class takes; of a data class also the fields it holds."""
    if dataclasses.is_dataclass(thing):
        yield from (field.name for field in dataclasses.fields(thing))
    elif not (inspect.isclass(thing) and issubclass(thing, Exception)):
        yield from inspect.signature(thing).parameters


def public(module: Any) -> Iterator[tuple[str, Any]]:
    """Yield the public functions, classes and methods that a module itself defines."""
    for name, thing in vars(module).items():
        if name.startswith("_") or getattr(thing, "__module__", None) != module.__name__:
            continue
        if inspect.isclass(thing):
            for part, method in vars(thing).items():
                method = getattr(method, "__func__", method)
                if not part.startswith("_") and inspect.isfunction(method):
                    yield f"{name}.{part}", method
        if inspect.isclass(thing) or inspect.isroutine(thing) or hasattr(thing, "__wrapped__"):
            yield name, thing


def surface() -> dict[str, set[str]]:
    """Return every public argument, with where it is used."""
    found: dict[str, set[str]] = {}
    things = [(f"shrinkage.{name}", getattr(shrinkage, name)) for name in shrinkage.__all__]
    for module in MODULES:
        home = importlib.import_module(f"shrinkage.{module}")
        things += [(f"{module}.{name}", thing) for name, thing in public(home)]
    for where, thing in things:
        if callable(thing):
            for name in arguments(thing):
                if name not in ("self", "cls") and not name.startswith("_"):
                    found.setdefault(name, set()).add(where)
    return found


def rows() -> list[tuple[list[str], list[str]]]:
    """Return (names, other cells) of every row of the page that explains names."""
    found = ROW.findall(PAGE.read_text(encoding="utf-8"))
    return [(re.findall(r"`(\w+)`", names), [cell.strip() for cell in rest.split("|")])
            for names, rest in found]  # fmt: skip


def listed() -> list[str]:
    return [name for names, _ in rows() for name in names]


def test_every_argument_is_in_the_glossary():
    missing = {name: sorted(where)[:3] for name, where in surface().items()
               if name not in set(listed())}  # fmt: skip
    assert not missing


def test_glossary_has_nothing_that_is_not_used():
    assert not sorted(set(listed()) - set(surface()))


def test_each_name_once():
    names = listed()
    assert len(names) > 300
    assert sorted({name for name in names if names.count(name) > 1}) == []


@pytest.mark.parametrize(("names", "cells"), rows(), ids=lambda part: str(part[0])[:20])
def test_row_is_whole(names, cells):
    assert len(cells) == COLUMNS
    assert names and len(cells[0]) > 3, names


def test_lengths_and_moistures_carry_their_unit():
    """A few whose unit would be costly to mistake."""
    units = {name: cells[1] for names, cells in rows() for name in names}
    asked = {"gap": "mm", "moisture": "%", "temp": "deg C", "pitch": "rad", "s_t": "-",
             "squeeze_once": "-", "line_load": "N/m", "certainty": "%"}  # fmt: skip
    assert not {name: units[name] for name, unit in asked.items() if unit not in units[name]}


def test_walk_sees_functions_classes_fields_and_methods():
    found = surface()
    assert "movement.strain" in found["moisture"]
    assert "timber.Timber" in found["section_factor"]
    assert "joint.Layer.lever" in found["normal"]
    assert "shrinkage.emc" in found["rh"]
    assert "species.find" in found["own"]
