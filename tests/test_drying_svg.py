"""The drying pictures read back: lines to values by the axis's own ticks, tones to moisture."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from svg_reading import Axis, drawn, parts, pictures, places, written

from shrinkage import drying, drying_svg
from shrinkage.units import show

DAYS = np.arange(25) * 365.0 / 12
YARD = drying.air(0.0, 12.0, 15.0)
COARSE = drying.Settings(cells=6, first_cell=4.0, first_step=1.0, max_step=31.0, growth=2.0)
MARKS = {"panels <on>": 200.0}


@pytest.fixture(scope="module")
def dried() -> drying.Drying:
    """Two timbers 200 x 100, one with a covered side, and a board."""
    timbers = drying.sections(
        [200.0, 200.0, 140.0], [100.0, 100.0, 25.0], 0.4,
        [list(drying.FACES), ["left", "bottom", "top"], list(drying.FACES)], d_scale=[2, 1, 1],
    )  # fmt: skip
    return drying.dry(timbers, YARD, 80.0, DAYS, settings=COARSE, snapshots=True)


def bilinear(x, y, field, at):
    """Value of a field on a grid at places, linear on the edges of its cells."""
    i = np.clip(np.searchsorted(x, at[:, 0]) - 1, 0, len(x) - 2)
    j = np.clip(np.searchsorted(y, at[:, 1]) - 1, 0, len(y) - 2)
    u = (at[:, 0] - x[i]) / (x[i + 1] - x[i])
    v = (at[:, 1] - y[j]) / (y[j + 1] - y[j])
    low = field[j, i] * (1 - u) + field[j, i + 1] * u
    high = field[j + 1, i] * (1 - u) + field[j + 1, i + 1] * u
    return low * (1 - v) + high * v


def section_of(picture):
    """Left, top, right and bottom of the section drawn [px]."""
    edges = np.vstack([
        np.array([[a, b] for a, b in _ends(part.get("d"))])
        for name in ("open", "covered") for part in parts(picture, "path", name)
    ])  # fmt: skip
    return *edges.min(axis=0), *edges.max(axis=0)


def _ends(d):
    x, y = map(float, d[1:].split("V" if "V" in d else "H")[0].split())
    last = float(d.split("V" if "V" in d else "H")[1])
    return [(x, y), (x, last) if "V" in d else (last, y)]


@pytest.mark.parametrize(("member", "date"), [(0, 1), (1, 2)])
def test_lines_of_the_map_lie_at_their_moisture(dried, member, date):
    (picture,) = pictures(drying_svg.section_map(dried, member, date, ["right"]))
    left, top, right, bottom = section_of(picture)
    assert_allclose((right - left) / (bottom - top), 200 / 100, rtol=0.01)  # to scale
    x, y = dried.state.centre_x[member].copy(), dried.state.centre_y[member].copy()
    x[[0, -1]], y[[0, -1]] = (-100, 100), (-50, 50)
    field = dried.snapshots[member, date].T
    found = parts(picture, "path", "level")
    assert len(found) >= 2
    per = 200 / (right - left)
    steepest = np.abs(np.diff(field, axis=1)).max() / np.diff(x).min()
    for line in found:
        px = places(line.get("d"))
        at = np.column_stack([(px[:, 0] - left) * per - 100, 50 - (px[:, 1] - top) * per])
        assert_allclose(bilinear(x, y, field, at), float(line.get("data-at")),
                        atol=0.12 * per * steepest)  # fmt: skip


def test_tones_cover_the_section_and_darken_with_moisture(dried):
    (picture,) = pictures(drying_svg.section_map(dried, 0, 1, []))
    left, top, right, bottom = section_of(picture)
    area = 0.0
    shades = []
    for tone in parts(picture, "path", "tone"):
        shades.append((float(tone.get("data-from")), int(tone.get("fill")[1:3], 16)))
        for ring in tone.get("d").strip("MZ").split("ZM"):
            x, y = places(ring).T
            assert (x[0], y[0]) == (x[-1], y[-1])  # every hole closed by itself
            area += 0.5 * float(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1)))
    assert_allclose(abs(area), (right - left) * (bottom - top), rtol=0.01)  # holes turn backwards
    assert len(shades) >= 3
    assert [s for _, s in sorted(shades)] == sorted((s for _, s in shades), reverse=True)


def test_map_says_date_numbers_and_covered_faces(dried):
    (picture,) = pictures(drying_svg.section_map(dried, 1, 12, ["right"]))
    said = f"mean {dried.mean[1, 12]:.0f} %, core {dried.core[1, 12]:.0f} %"
    assert "Moisture, 1.0 years after sawing" in written(picture) and said in written(picture)
    assert said in picture.get("aria-label") and "Covered by panel: right" in picture.get(
        "aria-label"
    )
    (covered,) = parts(picture, "path", "covered")
    _, _, right, _ = section_of(picture)
    assert f"M{right:.1f} " in covered.get("d")
    widths = [float(p.get("stroke-width")) for p in parts(picture, "path", "open")]
    assert float(covered.get("stroke-width")) > 3 * max(widths)
    (bare,) = pictures(drying_svg.section_map(dried, 1, 3, []))
    assert not parts(bare, "path", "covered") and "bold edge: covered by panel" not in written(bare)
    assert "91 days after sawing" in bare.get("aria-label")


def test_labels_of_the_map_do_not_touch(dried):
    (picture,) = pictures(drying_svg.section_map(dried, 0, 1, []))
    labels = [
        t for t in parts(picture, "text") if (t.text or "").endswith(" %") and t.get("stroke")
    ]
    at = np.array([(float(t.get("x")), float(t.get("y"))) for t in labels])
    assert len(at) >= 2
    for n, one in enumerate(at):
        away = np.abs(at[n + 1 :] - one)
        assert ((away[:, 0] > 24) | (away[:, 1] > 11)).all()


def test_moisture_lines_read_back(dried):
    chart = drying_svg.moisture_chart(dried, 1, 2, MARKS)
    (picture,) = pictures(chart.at(365.0))
    x, y = Axis(picture, "x"), Axis(picture, "y")
    for name, values in (("core", dried.core[1]), ("mean", dried.mean[1]),
                         ("surface", dried.surface[1]), ("1-in-board", dried.mean[2])):  # fmt: skip
        line = drawn(picture, name)
        assert_allclose(x.value(line[:, 0]), DAYS / 365, atol=x.tolerance)
        assert_allclose(y.value(line[:, 1]), values, atol=y.tolerance)
    assert "Moisture content, %" in written(picture) and "years after sawing" in written(picture)
    assert {"core", "mean", "surface", "1 in board"} <= set(written(picture))


def test_moisture_above_the_chart_is_cut_at_its_head(dried):
    wet = drying.Drying(**{**vars(dried), "core": dried.core * 2})
    (picture,) = pictures(drying_svg.moisture_chart(wet, 1, 2, {}).at(0.0))
    line = drawn(picture, "core")
    assert_allclose(Axis(picture, "y").value(line[:1, 1]), 100.0, atol=0.3)


def test_date_and_events_stand_where_they_are(dried):
    chart = drying_svg.moisture_chart(dried, 1, 2, MARKS)
    for day in (0.0, 365.0, 700.0):
        (picture,) = pictures(chart.at(day))
        x = Axis(picture, "x")
        (now,), (event,) = parts(picture, "path", "now"), parts(picture, "path", "event")
        px = np.array([float(p.get("d")[1:].split()[0]) for p in (now, event)])
        assert_allclose(x.value(px), [day / 365, 200 / 365], atol=x.tolerance)
        assert event.get("stroke-dasharray") and not now.get("stroke-dasharray")
    assert "panels <on>" in written(picture)  # and the picture is well-formed


@pytest.mark.parametrize(("system", "per"), [("imperial", 25.4), ("metric", 1.0)])
def test_movement_reads_back_in_its_unit(dried, system, per):
    lost = {"width": (np.outer([0.5, 1.0, 1.5], DAYS / 100), "#111111"),
            "board's width": (np.atleast_2d(DAYS / 300), "#777777")}  # fmt: skip
    (picture,) = pictures(drying_svg.movement_chart(DAYS, lost, MARKS, system).at(0.0))
    y = Axis(picture, "y")
    assert_allclose(y.value(drawn(picture, "width")[:, 1]), DAYS / 100 / per, atol=y.tolerance)
    assert_allclose(
        y.value(drawn(picture, "boards-width")[:, 1]), DAYS / 300 / per, atol=y.tolerance
    )
    band = y.value(drawn(picture, "band width")[:, 1])
    edges = np.concatenate([1.5 * DAYS / 100, 0.5 * DAYS[::-1] / 100]) / per
    assert_allclose(band, edges, atol=y.tolerance)
    unit = {"imperial": "in", "metric": "mm"}[system]
    assert f"Lost since sawing, {unit} (band: slow to fast)" in written(picture)
    assert f"width {show(float(DAYS[-1]) / 100, system, 32)}" in written(picture)
    assert "width" in picture.get("aria-label") and unit in picture.get("aria-label")
    dashed = [p for p in parts(picture, "path", "boards-width") if p.get("stroke-dasharray")]
    assert len(dashed) == 1  # told from the timber without colour


def test_nothing_lost_yet_still_draws(dried):
    flat = {"width": (np.zeros((3, len(DAYS))), "#111111")}
    (picture,) = pictures(drying_svg.movement_chart(DAYS, flat, {}, "metric").at(0.0))
    assert np.isfinite(drawn(picture, "width")).all()
