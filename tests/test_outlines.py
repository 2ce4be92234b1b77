"""DXF opened again: units in the header, plain layers, and outlines equal to the ordered panels."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.outlines import CUTOUT, LABEL, LAYERS, OUTLINE, WALL, write_outlines

ezdxf = pytest.importorskip("ezdxf")

EXACT = 1e-6
"""[mm] What is left of floats written as text."""
SCALE = {"imperial": 25.4, "metric": 1.0}


def rings(drawing, layer, scale):
    return [
        [(x * scale, y * scale) for x, y in line.get_points("xy")]
        for line in drawing.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    ]


@pytest.mark.parametrize(("system", "unit", "metric"), [("imperial", 1, 0), ("metric", 4, 1)])
def test_opens_again(workshop_order, tmp_path, system, unit, metric):
    placed = write_outlines(workshop_order, tmp_path / "o.dxf", system)
    drawing = ezdxf.readfile(tmp_path / "o.dxf")
    assert drawing.header["$INSUNITS"] == unit and drawing.header["$MEASUREMENT"] == metric
    assert not drawing.audit().errors
    assert set(LAYERS) <= {layer.dxf.name for layer in drawing.layers}
    used = {entity.dxf.layer for entity in drawing.modelspace()}
    assert used == {OUTLINE, CUTOUT, LABEL, WALL}
    found = rings(drawing, OUTLINE, SCALE[system])
    assert len(found) == len(workshop_order.panels) == len(placed)
    for ring, (panel, x, y) in zip(found, placed, strict=True):
        moved = [(px - x, py - y) for px, py in ring]
        assert_allclose(moved, panel.outline, rtol=0, atol=EXACT)
    assert all(line.closed for line in drawing.modelspace().query("LWPOLYLINE"))


def test_cut_outs_are_the_panels_own(workshop_order, tmp_path):
    placed = write_outlines(workshop_order, tmp_path / "o.dxf", "metric")
    found = rings(ezdxf.readfile(tmp_path / "o.dxf"), CUTOUT, 1.0)
    holes = [(hole, x, y) for panel, x, y in placed for hole in panel.cutouts]
    assert len(found) == len(holes) == 2
    for ring, (hole, x, y) in zip(found, holes, strict=True):
        assert_allclose(ring[0], (x + hole.left, y + hole.foot), rtol=0, atol=EXACT)
        assert_allclose(ring[2], (x + hole.right, y + hole.head), rtol=0, atol=EXACT)


def test_panels_lie_beside_one_another(workshop_order, tmp_path):
    placed = write_outlines(workshop_order, tmp_path / "o.dxf")
    boxes = [(x, y, x + p.width, y + p.height) for p, x, y in placed]
    for number, (a0, b0, a1, b1) in enumerate(boxes):
        for c0, d0, c1, d1 in boxes[:number]:
            assert a0 >= c1 or c0 >= a1 or b0 >= d1 or d0 >= b1


def test_one_panel_stands_at_the_origin(workshop_order, tmp_path):
    write_outlines(workshop_order, tmp_path / "o.dxf", only="east 3")
    (ring,) = rings(ezdxf.readfile(tmp_path / "o.dxf"), OUTLINE, 25.4)
    panel = next(p for p in workshop_order.panels if p.mark == "east 3")
    assert_allclose(ring, panel.outline, rtol=0, atol=EXACT)
    assert len(ring) == 5  # the peak stays


def test_labels_name_every_panel(workshop_order, tmp_path):
    write_outlines(workshop_order, tmp_path / "o.dxf")
    space = ezdxf.readfile(tmp_path / "o.dxf").modelspace()
    said = {text.dxf.text for text in space.query("TEXT")}
    assert {panel.mark for panel in workshop_order.panels} <= said
    assert {"south", "south slope"} <= said


def test_names_start_no_codes(raw, answered, tmp_path):
    raw["wall"][0]["name"] = "%%u ^J <x> é 木"
    write_outlines(answered(raw), tmp_path / "o.dxf")
    drawing = ezdxf.readfile(tmp_path / "o.dxf")
    assert not drawing.audit().errors
    said = " ".join(text.dxf.text for text in drawing.modelspace().query("TEXT"))
    assert "%%" not in said and "^J" not in said and "é 木" in said


def test_no_such_panel(workshop_order, tmp_path):
    with pytest.raises(ShrinkageError, match="no panel 'up 1'; accepted: south 1"):
        write_outlines(workshop_order, tmp_path / "o.dxf", only="up 1")
    assert not (tmp_path / "o.dxf").exists()
