"""The comparing pictures read back: bars, points, lines and the air's arrow, by their own axes."""

from __future__ import annotations

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose
from svg_reading import Axis, drawn, parts, pictures, places, written

from shrinkage import species_svg
from shrinkage.climate import emc
from shrinkage.species import find, woods


def one(svg):
    (picture,) = pictures(svg)
    return picture


def first_point(part):
    return np.array(re.findall(r"-?[\d.]+", part.get("d"))[:2], dtype=float)


def test_ranking_keeps_both_ends_and_the_chosen():
    order = [f"wood {n}" for n in range(200)]
    kept = species_svg.shortened(order, ["wood 57"])
    assert kept[0] == order[0] and kept[-1] == order[-1] and "wood 57" in kept
    assert len(kept) <= species_svg.MOST_BARS
    assert kept == sorted(kept, key=order.index)


def test_bars_are_as_long_as_their_values_and_the_chosen_are_told():
    picture = one(species_svg.ranked({"a": 1.0, "<b>": 4.0, "c": 2.0}, ["c"], "size, %", "w<"))
    bars = parts(picture, "rect")
    assert_allclose([float(r.get("width")) / float(bars[0].get("width")) for r in bars],
                    [1.0, 0.5, 0.25], atol=0.002)  # fmt: skip
    texts = written(picture)
    assert texts[1::2] == ["1. <b>", "2. c", "3. a"] and texts[2::2] == ["4", "2", "1"]
    assert texts[0] == "size, %; 3 of 3 shown" and picture.get("aria-label") == "w<"
    fills = [r.get("fill") for r in bars]
    assert fills[0] == fills[2] != fills[1]
    bold = [t.text for t in parts(picture, "text") if t.get("font-weight") == "bold"]
    assert bold == ["2. c", "2"]


def test_long_names_fit_before_their_bars():
    values = {name: 1.0 + n for n, name in enumerate(woods())}
    picture = one(species_svg.ranked(values, list(woods())[:6], "x", "w"))
    for text in parts(picture, "text"):
        if text.get("text-anchor") == "end":  # 0.6 of its size is generous for a letter
            assert float(text.get("x")) - 0.6 * 11 * len(text.text) > 0


def test_scatter_puts_species_where_the_tables_do():
    some = {name: find(name) for name in ("oak, white", "pine, eastern white", "hemlock, eastern",
                                          "ash, white")}  # fmt: skip
    picture = one(species_svg.scatter(some, ["oak, white"], "w"))
    x, y = Axis(picture, "x"), Axis(picture, "y")
    (oak,) = parts(picture, "path", "chosen")
    # Drawn from its upper corner, 5.5 px above its middle. GTR-190 Table 4-3 (page): 5.6, 10.5.
    px = first_point(oak) + np.array([0, 5.5])
    assert_allclose(x.value(px[0]), 5.6, atol=x.tolerance)
    assert_allclose(y.value(px[1]), 10.5, atol=y.tolerance)
    soft = {(float(c.get("cx")), float(c.get("cy"))) for c in parts(picture, "circle")}
    seen = sorted((float(x.value(a)), float(y.value(b))) for a, b in soft)
    pines = sorted((100 * some[n].s_r, 100 * some[n].tangential)
                   for n in ("pine, eastern white", "hemlock, eastern"))  # fmt: skip
    assert_allclose(seen, pines, atol=max(x.tolerance, y.tolerance))
    assert len(parts(picture, "path", "hardwood")) == 1
    assert "oak, white" in written(picture) and "radial shrinkage, %" in written(picture)


def test_lines_of_equal_ratio():
    picture = one(species_svg.scatter({"oak, white": find("white oak")}, [], "w"))
    x, y = Axis(picture, "x"), Axis(picture, "y")
    found = []
    for line in parts(picture, "path", "ratio"):
        (x0, y0), (x1, y1) = places(line.get("d"))
        assert_allclose([x.value(x0), y.value(y0)], 0, atol=0.02)
        found.append(float(y.value(y1) / x.value(x1)))
    assert_allclose(found, [1, 1.5, 2, 3], rtol=0.01)


def test_names_of_all_woods_chosen_stay_in_the_picture():
    every = {name: wood for name, wood in woods().items() if wood.s_t is not None}
    some = list(every)[:20]
    picture = one(species_svg.scatter(every, some, "w"))
    names = [t for t in parts(picture, "text") if t.text in some]
    assert len(names) == 20
    for text in names:
        assert 0 < float(text.get("x")) < species_svg.WIDE - 6 * len(text.text) + 20


def test_air_lines_lie_at_the_handbooks_equation():
    picture = one(species_svg.air((20, 70), (21, 30), "w"))
    x, y = Axis(picture, "x"), Axis(picture, "y")
    lines = parts(picture, "path", "level")
    assert len(lines) >= 9
    for line in lines:
        px = places(line.get("d"))
        temp, rh = x.value(px[:, 0]), y.value(px[:, 1])
        warm = temp > 0  # the equation's range
        wanted = float(line.get("data-at"))
        near = emc(temp[warm], np.clip(rh[warm], 0, 100))
        assert_allclose(near, wanted, atol=0.02 * wanted + 0.03)


@pytest.mark.filterwarnings("ignore::shrinkage.errors.RangeWarning")  # air of -5 degrees
@pytest.mark.parametrize(("start", "stop"), [((20, 70), (21, 30)), ((-5, 90), (35, 10))])
def test_arrow_goes_from_the_air_before_to_the_air_after(start, stop):
    picture = one(species_svg.air(start, stop, "w"))
    x, y = Axis(picture, "x"), Axis(picture, "y")
    (circle,), (square,) = parts(picture, "circle", "start"), parts(picture, "rect", "stop")
    at = [float(circle.get("cx")), float(square.get("x")) + 4]
    assert_allclose(x.value(np.array(at)), [start[0], stop[0]], atol=x.tolerance)
    at = [float(circle.get("cy")), float(square.get("y")) + 4]
    assert_allclose(y.value(np.array(at)), [start[1], stop[1]], atol=y.tolerance)
    tip, *_ = drawn(picture, "head")
    middle = np.array([float(square.get("x")), float(square.get("y"))]) + 4
    assert np.hypot(*(tip - middle)) < 8  # points at the square
    bold = [t.text for t in parts(picture, "text") if t.get("font-weight") == "bold"]
    assert bold == [f"{float(emc(*air)):.1f} %" for air in (start, stop)]
    assert "air temperature, °C" in written(picture)


def test_no_arrow_where_nothing_changes():
    picture = one(species_svg.air((20, 50), (20, 50), "w"))
    assert not parts(picture, "path", "arrow") and not parts(picture, "path", "head")
    at = [(float(t.get("x")), float(t.get("y"))) for t in parts(picture, "text")
          if t.get("font-weight") == "bold"]  # fmt: skip
    assert at[0] != at[1]  # both numbers can be read
