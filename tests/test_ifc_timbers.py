"""Timbers from IFC files made here: units, both schemas, every way a section is given, and faults.

The files are made by ifcopenshell as another program would export them; sizes are stated in the
tests and read back. Classes, types and quantities: ISO 16739 (IFC2X3 TC1, IFC4), from memory.
"""

from __future__ import annotations

import math
import sys
import tomllib

import pytest
from numpy.testing import assert_allclose

from shrinkage import __main__ as command_line
from shrinkage.errors import ShrinkageError
from shrinkage.frame import build
from shrinkage.ifc_command import timber_text
from shrinkage.ifc_timbers import read_timbers, species_of
from shrinkage.jobfile import check_job

ifcopenshell = pytest.importorskip("ifcopenshell", reason="needs the ifc extra")

MM = 1e-3
"""Sizes are rounded to a thousandth of a millimetre."""
UNITS = {"mm": 1.0, "m": 1000.0, "inch": 25.4, "foot": 304.8}
UP, LEVEL = (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)


class Model:
    """A small file: each call adds something to it, lengths given in mm."""

    def __init__(self, schema: str = "IFC4", unit: str = "mm") -> None:
        self.file = ifcopenshell.file(schema=schema)
        self.mm = UNITS[unit]
        self.project = self.make("IfcProject", Name="A frame", UnitsInContext=self.units(unit))
        self.context = self.file.create_entity(
            "IfcGeometricRepresentationContext", None, "Model", 3, 1e-5, self.axes((0, 0, 0))
        )

    def make(self, kind: str, **fields):
        fields |= {"GlobalId": ifcopenshell.guid.new()}
        return self.file.create_entity(kind, **fields)

    def units(self, unit: str):
        prefix = "MILLI" if unit == "mm" else None
        length = self.file.create_entity("IfcSIUnit", None, "LENGTHUNIT", prefix, "METRE")
        if unit in ("inch", "foot"):
            size = self.file.create_entity("IfcDimensionalExponents", 1, 0, 0, 0, 0, 0, 0)
            metres = self.file.create_entity("IfcLengthMeasure", self.mm / 1000)
            factor = self.file.create_entity("IfcMeasureWithUnit", metres, length)
            length = self.file.create_entity(
                "IfcConversionBasedUnit", size, "LENGTHUNIT", unit.upper(), factor
            )
        return self.file.create_entity("IfcUnitAssignment", [length])

    def point(self, at):
        return self.file.create_entity("IfcCartesianPoint", [float(c) / self.mm for c in at])

    def direction(self, way):
        return self.file.create_entity("IfcDirection", [float(c) for c in way])

    def axes(self, at, z=None, x=None):
        ways = [self.direction(way) if way else None for way in (z, x)]
        return self.file.create_entity("IfcAxis2Placement3D", self.point(at), *ways)

    def rectangle(self, x: float, y: float, kind="IfcRectangleProfileDef", **more):
        place = self.file.create_entity("IfcAxis2Placement2D", self.point((0, 0)))
        return self.file.create_entity(
            kind, ProfileType="AREA", Position=place, XDim=x / self.mm, YDim=y / self.mm, **more
        )

    def solid(self, profile, length: float, push=(0, 0, 1)):
        return self.file.create_entity(
            "IfcExtrudedAreaSolid", profile, self.axes((0, 0, 0)), self.direction(push),
            length / self.mm,
        )  # fmt: skip

    def cut(self, solid, operator=None):
        plane = self.file.create_entity("IfcPlane", self.axes((0, 0, 2000), (0, 1, 1)))
        half = self.file.create_entity("IfcHalfSpaceSolid", plane, False)
        kind = "IfcBooleanResult" if operator else "IfcBooleanClippingResult"
        return self.file.create_entity(kind, operator or "DIFFERENCE", solid, half)

    def shape(self, *items, kind="SweptSolid"):
        return self.file.create_entity(
            "IfcShapeRepresentation", self.context, "Body", kind, list(items)
        )

    def mapped(self, solid, scale: float = 1.0):
        source = self.file.create_entity(
            "IfcRepresentationMap", self.axes((0, 0, 0)), self.shape(solid)
        )
        target = self.file.create_entity(
            "IfcCartesianTransformationOperator3D", None, None, self.point((0, 0, 0)), scale
        )
        return self.file.create_entity("IfcMappedItem", source, target)

    def timber(self, kind, body, name="T", material="Eastern White Pine", z=UP, x=None, **fields):
        """Add a timber whose length lies along z."""
        place = self.file.create_entity("IfcLocalPlacement", None, self.axes((0, 0, 0), z, x))
        shape = body and self.file.create_entity(
            "IfcProductDefinitionShape", None, None, [self.shape(*body)]
        )
        timber = self.make(
            kind, Name=name, ObjectPlacement=place, Representation=shape or None, **fields
        )
        if material:
            self.of(timber, self.file.create_entity("IfcMaterial", material))
        return timber

    def of(self, timber, material):
        self.make("IfcRelAssociatesMaterial", RelatedObjects=[timber], RelatingMaterial=material)

    def box(self, kind, across, up, length, **more):
        return self.timber(kind, [self.solid(self.rectangle(across, up), length)], **more)

    def type_of(self, timber, kind, **fields):
        family = self.make(kind, **fields)
        self.make("IfcRelDefinesByType", RelatedObjects=[timber], RelatingType=family)

    def quantity(self, timber, mm: float, name="Qto_BeamBaseQuantities"):
        length = self.file.create_entity("IfcQuantityLength", "Length", None, None, mm / self.mm)
        sets = self.make("IfcElementQuantity", Name=name, Quantities=[length])
        self.make(
            "IfcRelDefinesByProperties", RelatedObjects=[timber], RelatingPropertyDefinition=sets
        )

    def read(self, tmp_path):
        path = tmp_path / "frame.ifc"
        self.file.write(str(path))
        return read_timbers(path)

    def row(self, tmp_path):
        table, _ = self.read(tmp_path)
        assert len(table) == 1
        return table.iloc[0]


def sizes(row) -> tuple[float, float, float]:
    return row["width_mm"], row["depth_mm"], row["length_mm"]


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("schema", ["IFC4", "IFC2X3", "IFC4X3"])
def test_length_unit_of_the_file(tmp_path, schema, unit):
    model = Model(schema, unit)
    model.box("IfcColumn", 190.5, 190.5, 2743.2, material="Eastern Hemlock")
    table, notes = model.read(tmp_path)
    row = table.iloc[0]
    assert_allclose(sizes(row), (190.5, 190.5, 2743.2), atol=MM)
    assert (row["role"], row["species"], row["understood"]) == ("post", "hemlock, eastern", True)
    assert notes == (f"{schema}, lengths in units of {UNITS[unit]:g} mm",)


@pytest.mark.parametrize(
    ("kind", "predefined", "name", "role", "role_from"),
    [
        ("IfcColumn", "COLUMN", "C1", "post", "type"),
        ("IfcColumn", None, "C1", "post", "type"),
        ("IfcMember", "POST", "x", "post", "type"),
        ("IfcMember", "RAFTER", "R-01", "rafter", "type"),
        ("IfcMember", "PURLIN", "x", "purlin", "type"),
        ("IfcMember", "PLATE", "Wall plate", "plate", "name"),
        ("IfcMember", "PLATE", "x", "plate", "type"),
        ("IfcMember", "PLATE", "Sill plate 2", "sill", "name"),
        ("IfcMember", "PLATE", "sole plate", "sill", "name"),
        ("IfcBeam", "BEAM", "Girt 3", "girt", "name"),
        ("IfcBeam", "BEAM", "GIRTS_6x8", "girt", "name"),
        ("IfcBeam", "BEAM", "TieBeam", "tie", "name"),
        ("IfcBeam", "NOTDEFINED", "wall-plate", "plate", "name"),
        ("IfcBeam", None, "Mudsill sill", "sill", "name"),
        ("IfcMember", "MEMBER", "common rafter", "rafter", "name"),
        ("IfcBeam", "USERDEFINED", "x", "girt", "name"),
    ],
)
def test_roles(tmp_path, kind, predefined, name, role, role_from):
    model = Model()
    fields = {"PredefinedType": predefined, "ObjectType": "GIRT" if name == "x" and
              predefined == "USERDEFINED" else None}  # fmt: skip
    model.box(kind, 140, 190, 4000, name=name, z=LEVEL, **fields)
    row = model.row(tmp_path)
    assert (row["role"], row["role_from"], row["why"]) == (role, role_from, "")


@pytest.mark.parametrize(
    ("kind", "predefined", "name", "why"),
    [
        ("IfcBeam", "BEAM", "B1", "role: BEAM and its name leave open; accepted: one of sill"),
        ("IfcBeam", None, "", "role: NOTDEFINED and its name leave open"),
        ("IfcBeam", "JOIST", "J1", "JOIST has no role in a job file"),
        ("IfcMember", "BRACE", "B", "BRACE has no role"),
        ("IfcMember", "STUD", "post", "STUD has no role"),
        ("IfcMember", "MEMBER", "knee brace", "'brace' in its name has no role"),
        ("IfcMember", "POST", "King post", "'king' in its name has no role"),
        ("IfcBeam", "BEAM", "Collar tie", "'collar' in its name has no role"),
        ("IfcMember", "RAFTER", "Purlin 3", "IfcMember RAFTER, but named as purlin"),
        ("IfcColumn", "COLUMN", "plate", "IfcColumn COLUMN, but named as plate"),
        ("IfcBeam", "BEAM", "girt or tie", "role: named as girt and tie"),
    ],
)
def test_roles_are_not_guessed(tmp_path, kind, predefined, name, why):
    model = Model()
    model.box(kind, 140, 190, 4000, name=name, PredefinedType=predefined)
    row = model.row(tmp_path)
    assert row["role"] == "" and not row["understood"] and why in row["why"]
    assert_allclose(sizes(row), (140, 190, 4000), atol=MM)  # the rest is read all the same


@pytest.mark.parametrize("schema", ["IFC4", "IFC2X3"])
def test_role_from_the_type_object(tmp_path, schema):
    """IFC2X3 has the predefined type on the type alone."""
    model = Model(schema)
    timber = model.box("IfcMember", 140, 190, 4000, z=LEVEL)
    model.type_of(timber, "IfcMemberType", Name="R", PredefinedType="RAFTER")
    assert model.row(tmp_path)["role"] == "rafter"


@pytest.mark.parametrize(("x", "y"), [(140, 190), (190, 140)])
@pytest.mark.parametrize("pitch", [0, 40, 55, 80])
def test_width_is_the_level_side(tmp_path, x, y, pitch):
    """A rafter modelled with either side first: the one that lies level is the width."""
    slope = math.radians(pitch)
    along = (math.cos(slope), 0, math.sin(slope))
    level_x = (0, 1, 0)
    square = (-math.sin(slope), 0, math.cos(slope))
    model = Model()
    model.box("IfcMember", x, y, 4000, z=along, x=level_x if x == 140 else square,
              PredefinedType="RAFTER")  # fmt: skip
    row = model.row(tmp_path)
    assert_allclose(sizes(row), (140, 190, 4000), atol=MM)
    assert row["why"] == ""


def test_profile_turned_in_its_own_plane(tmp_path):
    model = Model()
    profile = model.rectangle(190, 140)
    profile.Position.RefDirection = model.direction((0, 1))
    model.timber("IfcMember", [model.solid(profile, 4000)], z=LEVEL, x=(1, 0, 0),
                 PredefinedType="RAFTER")  # fmt: skip
    assert_allclose(sizes(model.row(tmp_path)), (140, 190, 4000), atol=MM)


CORNERS = [(-70, -95), (70, -95), (70, 95), (-70, 95), (-70, -95)]


def drawn(model, corners, indexed: bool):
    """Return a section drawn as a line through its corners."""
    points = [[c / model.mm for c in corner] for corner in corners]
    if indexed:
        listed = model.file.create_entity("IfcCartesianPointList2D", points)
        curve = model.file.create_entity("IfcIndexedPolyCurve", listed)
    else:
        curve = model.file.create_entity("IfcPolyline", [model.point(at) for at in corners])
    return model.file.create_entity("IfcArbitraryClosedProfileDef", "AREA", None, curve)


@pytest.mark.parametrize("indexed", [False, True])
@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_a_rectangle_drawn_by_its_corners(tmp_path, indexed, turn):
    model = Model(unit="inch")
    corners = [*CORNERS[turn:4], *CORNERS[: turn + 1]]
    body = model.solid(drawn(model, corners, indexed), 4000)
    model.timber("IfcMember", [body], z=(1, 0, 0), x=LEVEL, PredefinedType="RAFTER")
    row = model.row(tmp_path)
    assert_allclose(sizes(row), (140, 190, 4000), atol=MM)
    assert row["why"] == ""


@pytest.mark.parametrize(
    "corners",
    [
        CORNERS[:4],  # left open
        [*CORNERS[:2], (80, 95), (-60, 95), CORNERS[0]],  # leaning
        [*CORNERS[:2], (60, 95), (-60, 95), CORNERS[0]],  # tapering
        [*CORNERS[:3], (-60, 95), CORNERS[0]],  # square at two corners only
        [*CORNERS[:2], (70, 50), (20, 95), (-70, 95), CORNERS[0]],  # a corner off
        [(0, 0)] * 5,
    ],
)
def test_other_outlines_are_not_rectangles(tmp_path, corners):
    model = Model()
    body = model.solid(drawn(model, corners, False), 4000)
    model.timber("IfcMember", [body], PredefinedType="RAFTER")
    assert "outline is not a rectangle of four corners" in model.row(tmp_path)["why"]


def test_a_placement_of_no_direction(tmp_path):
    model = Model()
    model.box("IfcColumn", 190, 190, 3000, z=(0, 0, 0))
    assert "placed nowhere" in model.row(tmp_path)["why"]


def test_a_unit_that_is_broken(tmp_path):
    model = Model(unit="inch")
    model.box("IfcColumn", 190, 190, 3000)
    path = tmp_path / "a.ifc"
    model.file.write(str(path))
    path.write_text(path.read_text().replace("IFCMEASUREWITHUNIT", "IFCNOSUCH"))
    with pytest.raises(ShrinkageError, match="has no length unit; accepted: a project with one"):
        read_timbers(path)


def test_a_post_that_is_not_square_says_so(tmp_path):
    model = Model()
    model.box("IfcColumn", 190, 240, 3000)
    row = model.row(tmp_path)
    assert_allclose(sizes(row), (190, 240, 3000), atol=MM)
    assert row["understood"] and row["why"].startswith("which side is the width is not in the file")


def test_a_timber_pushed_out_sideways(tmp_path):
    """Length lies in the profile: the longest side is the length all the same."""
    model = Model()
    model.box("IfcMember", 4000, 190, 140, z=(0, 1, 0), x=(1, 0, 0), PredefinedType="PLATE")
    assert_allclose(sizes(model.row(tmp_path)), (140, 190, 4000), atol=MM)


@pytest.mark.parametrize("operator", [None, "DIFFERENCE"])
def test_cuts_are_passed_over_and_said(tmp_path, operator):
    model = Model()
    body = model.cut(model.cut(model.solid(model.rectangle(140, 190), 4100), operator))
    timber = model.timber("IfcMember", [body], z=LEVEL, PredefinedType="RAFTER")
    row = model.row(tmp_path)
    assert_allclose(sizes(row), (140, 190, 4100), atol=MM)
    assert row["understood"] and row["why"] == "length before its cuts"
    model.quantity(timber, 4000)
    assert_allclose(sizes(model.row(tmp_path)), (140, 190, 4000), atol=MM)


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_mapped_from_its_type_with_its_scale(tmp_path, scale):
    model = Model()
    body = model.mapped(model.cut(model.solid(model.rectangle(140, 190), 4000)), scale)
    model.timber("IfcMember", [body], z=LEVEL, PredefinedType="RAFTER")
    row = model.row(tmp_path)
    assert_allclose(sizes(row), (scale * 140, scale * 190, scale * 4000), atol=MM)


def profile_set(model, timber, *profiles, material="Eastern White Pine"):
    wood = model.file.create_entity("IfcMaterial", material)
    parts = [model.file.create_entity("IfcMaterialProfile", None, None, wood, one)
             for one in profiles]  # fmt: skip
    sets = model.file.create_entity("IfcMaterialProfileSet", None, None, parts)
    model.of(timber, model.file.create_entity("IfcMaterialProfileSetUsage", sets, 5))


def test_material_profile_beside_a_body(tmp_path):
    model = Model()
    timber = model.box("IfcMember", 140, 190, 4000, z=LEVEL, material=None, PredefinedType="RAFTER")
    profile_set(model, timber, model.rectangle(190, 140))
    row = model.row(tmp_path)
    assert row["understood"] and row["species"] == "pine, eastern white"
    assert_allclose(sizes(row), (140, 190, 4000), atol=MM)


def test_material_profile_that_disagrees(tmp_path):
    model = Model()
    timber = model.box("IfcMember", 140, 190, 4000, material=None, PredefinedType="RAFTER")
    profile_set(model, timber, model.rectangle(140, 240))
    row = model.row(tmp_path)
    assert not row["understood"]
    assert "140 x 190 mm by its body, 140 x 240 mm by its material profile" in row["why"]
    assert math.isnan(row["width_mm"])


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_material_profile_and_quantity_without_a_body(tmp_path, unit):
    model = Model(unit=unit)
    timber = model.timber("IfcMember", None, material=None, PredefinedType="RAFTER")
    profile_set(model, timber, model.rectangle(140, 190))
    row = model.row(tmp_path)
    assert not row["understood"] and "no body" in row["why"]
    model.quantity(timber, 4000)
    row = model.row(tmp_path)
    assert_allclose(sizes(row), (140, 190, 4000), atol=MM)
    assert row["understood"] and "section from the material profile" in row["why"]


def test_quantity_in_another_unit_than_the_body(tmp_path):
    model = Model()
    timber = model.box("IfcMember", 140, 190, 4000, z=LEVEL, PredefinedType="RAFTER")
    model.quantity(timber, 4.0)
    assert "length 4000 mm by its body, 4 mm by its quantities" in model.row(tmp_path)["why"]


def test_quantities_that_leave_a_question(tmp_path):
    """Two lengths are not chosen between, and a unit other than the project's is not read."""
    model = Model()
    timber = model.box("IfcMember", 140, 190, 4000, z=LEVEL, PredefinedType="RAFTER")
    model.quantity(timber, 3900)
    model.quantity(timber, 3950, "BaseQuantities")
    assert "lengths 3900 and 3950 mm" in model.row(tmp_path)["why"]
    length = model.file.by_type("IfcQuantityLength")[0]
    length.Unit = model.file.by_type("IfcSIUnit")[0]
    assert "its length quantity has a unit of its own" in model.row(tmp_path)["why"]


def odd_bodies():
    def circle(m):
        return [m.solid(m.file.create_entity("IfcCircleProfileDef", "AREA", None, None, 90), 4000)]

    def hollow(m):
        return [m.solid(m.rectangle(90, 90, "IfcRectangleHollowProfileDef", WallThickness=5), 4000)]

    def union(m):
        return [m.cut(m.solid(m.rectangle(90, 90), 4000), "UNION")]

    return [
        (circle, "section is an IfcCircleProfileDef, not a rectangle"),
        (hollow, "section is an IfcRectangleHollowProfileDef"),
        (union, "body is an IfcBooleanResult, not a rectangle pushed out"),
        (lambda m: [m.solid(m.rectangle(90, 90), 4000, (0, 1, 1))], "at a slant"),
        (lambda m: [m.solid(m.rectangle(90, 90), 4000)] * 2, "body of 2 solids"),
        (lambda m: [m.solid(m.rectangle(90, 90), 90)], "no side is the longest"),
        (lambda m: [m.solid(m.rectangle(0, 90), 4000)], "a side of no length"),
        (lambda m: [m.solid(m.rectangle(2500, 90), 4000)], "accepted: sides under 2 m"),
        (lambda m: [m.solid(m.rectangle(90, 90), 4e6)], "accepted: sides under 2 m and a length"),
        (lambda m: [m.file.create_entity("IfcFacetedBrep")], "body is an IfcFacetedBrep"),
        (lambda m: None, "no body"),
    ]


@pytest.mark.parametrize(("body", "why"), odd_bodies())
def test_bodies_that_are_not_understood(tmp_path, body, why):
    model = Model()
    model.timber("IfcMember", body(model), PredefinedType="RAFTER")
    row = model.row(tmp_path)
    assert not row["understood"] and why in row["why"]
    assert row["role"] == "rafter" and row["species"] == "pine, eastern white"


def test_body_cut_from_itself(tmp_path):
    """A ring of references ends."""
    model = Model()
    body = model.cut(model.solid(model.rectangle(90, 90), 4000))
    body.FirstOperand = body
    model.timber("IfcMember", [body], PredefinedType="RAFTER")
    assert "body of more than 20 steps" in model.row(tmp_path)["why"]


@pytest.mark.parametrize(
    ("material", "species"),
    [
        ("Eastern White Pine", "pine, eastern white"),
        ("hemlock, eastern", "hemlock, eastern"),
        ("Tsuga canadensis", "hemlock, eastern"),
        ("Timber - Eastern Hemlock, green", "hemlock, eastern"),
        ("Sawn white oak", "oak, white"),
    ],
)
def test_materials_known(material, species):
    assert species_of(material).lower() == species.lower()


@pytest.mark.parametrize(
    ("material", "why"),
    [
        ("Concrete C30", "species 'Concrete C30' is not known; nearest"),
        ("C24", "species 'C24' is not known"),
        ("Oak", "could be several"),
        ("Wood", "species 'Wood' is not known"),
        (None, "no material"),
        ("  ", "no material"),
    ],
)
def test_materials_are_not_guessed(tmp_path, material, why):
    model = Model()
    model.box("IfcColumn", 190, 190, 3000, material=material)
    row = model.row(tmp_path)
    assert not row["understood"] and why in row["why"] and row["species"] == ""
    assert row["material"] == (material or "").strip()


def test_several_materials(tmp_path):
    model = Model()
    timber = model.box("IfcColumn", 190, 190, 3000, material=None)
    woods = [model.file.create_entity("IfcMaterial", name) for name in ("White oak", "Steel")]
    model.of(timber, model.file.create_entity("IfcMaterialList", woods))
    row = model.row(tmp_path)
    assert row["why"] == "materials White oak, Steel" and row["material"] == ""


def test_file_with_faults_is_read_and_said(tmp_path):
    model = Model()
    model.box("IfcColumn", 190, 190, 3000)
    path = tmp_path / "frame.ifc"
    model.file.write(str(path))
    path.write_text(path.read_text().replace("ENDSEC;\nEND-", "#900=IFCNOSUCH(1);\nENDSEC;\nEND-"))
    _, notes = read_timbers(path)
    assert notes[-1].startswith("1 fault(s) against its schema")


def test_a_broken_record_costs_one_timber(tmp_path):
    model = Model()
    model.box("IfcColumn", 190, 190, 3000, name="good")
    bad = model.box("IfcColumn", 190, 190, 3000, name="bad")
    path = tmp_path / "frame.ifc"
    model.file.write(str(path))
    body = bad.Representation.Representations[0].Items[0]
    line = next(text for text in path.read_text().splitlines() if text.startswith(f"#{body.id()}="))
    path.write_text(path.read_text().replace(line, f"#{body.id()}=IFCEXTRUDEDAREASOLID($,$,$,$);"))
    table, _ = read_timbers(path)
    assert table.set_index("name")["understood"].to_dict() == {"good": True, "bad": False}
    assert f"record #{bad.id()} is broken" in table.iloc[1]["why"]


def test_objects_of_no_kind_are_counted(tmp_path):
    model = Model()
    model.box("IfcColumn", 190, 190, 3000)
    model.make("IfcBuildingElementProxy", Name="a girt, says its author")
    table, notes = model.read(tmp_path)
    assert len(table) == 1 and notes[-1].startswith("1 object(s) of no stated kind")


HEAD = (
    b"ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\n"
)
EMPTY = HEAD + b"FILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "not an IFC file; accepted: IFC as STEP text"),
        (b"hello", "not an IFC file"),
        (b"PK\x03\x04" + bytes(range(256)) * 9, "not an IFC file"),
        (EMPTY[:150], "cut short: its last line, END-ISO-10303-21;, is not there"),
        (b"ISO-10303-21; END-ISO-10303-21;", "cannot be read as IFC"),
        (EMPTY.replace(b"IFC4", b"IFC9"), "cannot be read as IFC: Unsupported schema: IFC9"),
        (EMPTY, "has no length unit"),
    ],
)
def test_not_a_readable_file(tmp_path, content, message):
    path = tmp_path / "a.ifc"
    path.write_bytes(content)
    with pytest.raises(ShrinkageError, match=message) as caught:
        read_timbers(path)
    assert str(path) in caught.value.message and "\n" not in caught.value.message


def test_missing_folder_too_large_or_without_timbers(tmp_path, monkeypatch):
    with pytest.raises(ShrinkageError, match="no such file; accepted: an IFC file"):
        read_timbers(tmp_path / "none.ifc")
    with pytest.raises(ShrinkageError, match="cannot be read: Is a directory"):
        read_timbers(tmp_path)
    with pytest.raises(ShrinkageError, match="no timbers; accepted: a file with IfcColumn"):
        Model().read(tmp_path)
    monkeypatch.setattr("shrinkage.ifc_timbers.LARGEST_BYTES", 10)
    with pytest.raises(ShrinkageError, match="over 500 MB"):
        Model().read(tmp_path)


def test_without_the_extra(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    with pytest.raises(ShrinkageError, match=r"accepted: pip install 'shrinkage\[ifc\]'"):
        read_timbers(tmp_path / "a.ifc")


@pytest.fixture
def frame_file(tmp_path):
    """Return a small frame in inches, with a brace and a timber of a wood nobody knows."""
    model = Model(unit="inch")
    post, beam = 7.5 * 25.4, 5.5 * 25.4
    for number in range(3):
        model.box("IfcColumn", post, post, 2400 + 10 * number, material="Eastern Hemlock",
                  name=f"P{number}")  # fmt: skip
    model.box("IfcColumn", beam, beam, 9000, material="Eastern Hemlock", name="=1+1")
    for kind, name, size in (("PLATE", "wall plate", post), ("RAFTER", "R", beam)):
        model.box("IfcMember", size, post, 5000, z=LEVEL, x=(1, 0, 0), name=name,
                  PredefinedType=kind)  # fmt: skip
    model.box("IfcBeam", beam, post, 3000, z=LEVEL, x=(1, 0, 0), name="girt", material='My "wood"')
    model.box("IfcMember", 90, 140, 900, name="B1", PredefinedType="BRACE")
    path = tmp_path / "small frame.ifc"
    model.file.write(str(path))
    return path


def test_command_writes_a_table_and_a_start_of_a_job(frame_file, tmp_path, capsys, raw):
    before = frame_file.read_bytes()
    out = tmp_path / "out"
    assert command_line.main(["timbers", str(frame_file), "-o", str(out)]) == 0
    printed = capsys.readouterr().out
    assert "6 of 8 timbers understood" in printed and "B1: BRACE has no role" in printed
    assert sorted(path.name for path in out.iterdir()) == ["timbers.csv", "timbers.toml"]
    assert frame_file.read_bytes() == before
    rows = (out / "timbers.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 9 and rows[0].endswith("species,understood,why")
    assert rows[4].startswith("'=1+1,") and ",yes," in rows[4] and ",no," in rows[8]
    text = (out / "timbers.toml").read_text(encoding="utf-8")
    assert text in printed
    timber = tomllib.loads(text)["timber"]
    assert set(timber) == {"post", "plate", "rafter", "girt"}
    assert timber["post"]["section"] == "7-1/2 in x 7-1/2 in"
    assert timber["post"]["length"] == "2420 mm"  # no 32nd of an inch says it
    assert timber["girt"]["species"] == 'My "wood"'
    assert "# also 1: hemlock, eastern, 5-1/2 in x 5-1/2 in" in text
    assert text.count("# not understood: put in the species") == 1
    raw["timber"] = timber | {"sill": raw["timber"]["sill"]}
    with pytest.raises(ShrinkageError, match=r"timber\.girt\.species: species 'My"):
        build(check_job(raw))
    timber["girt"]["species"] = "eastern white pine"
    frame = build(check_job(raw | {"timber": timber | {"sill": raw["timber"]["sill"]}}))
    assert_allclose(frame.timbers["rafter"].width, 5.5 * 25.4, atol=MM)
    assert_allclose(frame.timbers["plate"].depth, 7.5 * 25.4, atol=MM)


def test_command_in_metric_replaces_only_when_told(frame_file, tmp_path, capsys):
    words = ["timbers", str(frame_file), "-o", str(tmp_path / "out"), "--units", "metric"]
    assert command_line.main(words) == 0
    assert 'section = "190.5 mm x 190.5 mm"' in capsys.readouterr().out
    assert command_line.main(words) == 2
    assert "timbers.csv, timbers.toml already there" in capsys.readouterr().err
    assert command_line.main([*words, "--force"]) == 0


def test_command_on_a_bad_file_writes_nothing(tmp_path, capsys):
    path = tmp_path / "a.ifc"
    path.write_bytes(b"hello")
    assert command_line.main(["timbers", str(path), "-o", str(tmp_path / "out")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_text_for_a_job_stays_toml_whatever_the_names(tmp_path):
    model = Model()
    model.box("IfcColumn", 190, 190, 3000, material="a\nb]\x7f = \"'# é", name="\u2028[x]")
    model.box("IfcColumn", 90, 90, 3000, material="z\n[timber.sill]", name="P")
    table, _ = model.read(tmp_path)
    parsed = tomllib.loads(timber_text(table, "a\n[b].ifc"))
    assert set(parsed) == {"timber"} and set(parsed["timber"]) == {"post"}
    assert parsed["timber"]["post"]["species"] == "a b] = \"'# é"
    assert "# [timber.girt] was not found" in timber_text(table, "x")


def test_many_timbers_not_understood_are_counted(tmp_path, capsys):
    model = Model()
    for number in range(13):
        model.box("IfcMember", 90, 140, 900, name=f"B{number}", PredefinedType="BRACE")
    path = tmp_path / "a.ifc"
    model.file.write(str(path))
    assert command_line.main(["timbers", str(path), "-o", str(tmp_path / "out")]) == 0
    printed = capsys.readouterr().out
    assert "0 of 13 timbers understood" in printed and "* and 3 more, in the table" in printed
