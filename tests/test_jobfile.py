"""Reading a job file: what is accepted, and how every mistake is named by file, line and key."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from shrinkage import job as specs
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import Source, accepted_keys, check_job, find_line, read_job, where

ROOT = Path(__file__).resolve().parents[1]
INCH = 25.4

EXAMPLE = """title = "x"

[air]
place = "Madison, WI"

[timber]
post = {species = "fir", section = "8 in x 8 in"}

[species."my wood"]
radial = "4 %"

[[wall]]
name = "a"

[[wall]]
name = "b"
foam.works = "3 %"

[[wall.opening]]
left = "1 ft"

[[wall.opening]]
left = "3 ft"
"""


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        (("title",), 1), (("air",), 3), (("air", "place"), 4), (("timber", "post", "section"), 7),
        (("species", "my wood", "radial"), 10), (("wall", 0, "name"), 13),
        (("wall", 1, "name"), 16), (("wall", 1), 15), (("wall", 1, "foam", "works"), 17),
        (("wall", 1, "opening", 1, "left"), 23),
        (("wall", 1, "opening", 0, "width"), 19), (("roof", 0, "name"), None), ((), None),
    ],
)  # fmt: skip
def test_lines_are_found(keys, line):
    assert find_line(EXAMPLE, keys) == line


def test_place_is_named_as_a_reader_counts():
    head = where(Source("my.toml", EXAMPLE), ("wall", 1, "name"))
    assert head == "my.toml line 16: wall.2.name"


def test_late_mistakes_are_named_too():
    with (
        pytest.raises(ShrinkageError, match=r"my\.toml line 4: air\.place: why"),
        Source("my.toml", EXAMPLE).at("air", "place"),
    ):
        raise ShrinkageError("why")


def test_the_example_is_read(workshop_document):
    job = workshop_document.job
    assert [wall.name for wall in job.wall] == ["south", "north", "east", "west"]
    assert_allclose(job.wall[0].length, 24 * 12 * INCH)
    assert_allclose(job.timber["rafter"].section, (5.5 * INCH, 7.5 * INCH))
    assert_allclose(job.wall[0].divide[0], 45 * INCH)
    assert job.wall[0].divide[1] is None
    assert job.foam.least_width == 9.525


def test_metric_and_typographic_lengths_read_alike(raw):
    raw["wall"][0]["length"] = "7315.2 mm"
    raw["wall"][1]["length"] = "24′ 0″"
    raw["panel"]["thickness"] = "6½ in"
    raw["timber"]["post"]["section"] = "8 x 10 in"
    job = check_job(raw).job
    assert_allclose(job.wall[0].length, job.wall[1].length)
    assert_allclose(job.panel.thickness, 6.5 * INCH)
    assert_allclose(job.timber["post"].section, (8 * INCH, 10 * INCH))


def test_pith_position(raw):
    raw["timber"]["post"]["heart"] = {"pith": ["0 in", "-5 in"]}
    heart = check_job(raw).job.timber["post"].heart
    assert (heart.kind, heart.x) == ("pith", 0.0)
    assert_allclose(heart.y, -5 * INCH)


def test_all_mistakes_at_once(raw):
    del raw["panel"]["max_width"]
    raw["eave"]["pich"] = "10 in 12"
    raw["units"] = "furlong"
    with pytest.raises(ShrinkageError) as caught:
        check_job(raw)
    found = caught.value.message.splitlines()
    assert len(found) == 3
    assert any("panel.max_width: missing" in line for line in found)
    assert any("eave.pich: no such key (did you mean pitch?)" in line for line in found)
    assert any("'furlong'; accepted: 'imperial' or 'metric'" in line for line in found)


def test_keys_of_a_table():
    assert accepted_keys(("wall", 0, "opening", 2)) == list(specs.OpeningSpec.model_fields)
    assert accepted_keys(("timber", "post")) == list(specs.TimberSpec.model_fields)
    assert accepted_keys(("nothing",)) == list(specs.Job.model_fields)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda r: r["wall"].append(r["wall"][0]), "'south' given twice"),
        (lambda r: r["roof"][0].update(name="north"), "'north' given twice"),
        (lambda r: r["wall"][0].update(opening=2 * r["wall"][0]["opening"]), "'door' given twice"),
        (lambda r: r["timber"].pop("plate"), r"no \[timber.plate\]; accepted: post, plate"),
        (lambda r: r["timber"].update(beam={}), "timber.beam: 'beam'; accepted: 'post'"),
        (lambda r: r.update(wall=[]), "wall: .*at least 1"),
        (lambda r: r["air"].update(series="a.csv"), "either place .* or series"),
        (lambda r: r["air"].pop("place"), "either place .* or series"),
        (lambda r: r["wall"][0].update(ends=["laps"]), r"wall\.1\.ends\.2: missing"),
        (lambda r: r["wall"][0].update(divide=["rest", "rest"]), 'one of which may be "rest"'),
        (lambda r: r["wall"][0].update(name="a\nb"), r"wall\.1\.name: .*on one line"),
        (lambda r: r["wall"][0].update(name=""), r"wall\.1\.name: .*at least 1 character"),
        (lambda r: r["timber"]["post"].update(heart="split"), "'split'; accepted: boxed, free"),
        (lambda r: r["timber"]["post"].update(moisture="wet"), "'wet'; accepted: green, or a perc"),
        (lambda r: r["timber"]["post"].update(section="8 in"), "'8 in'; accepted: width x depth"),
        (lambda r: r.update(corner={"layout": "middle"}), "'middle'; accepted: inner face, centre"),
        (lambda r: r.update(title=7), "title: 7; accepted: string"),
        (lambda r: r.update(timber=3), "timber: 3; accepted: dictionary"),
        (lambda r: r["air"].update(room={"winter": {}}), r"room\.winter\.temperature: missing"),
    ],
)  # fmt: skip
def test_mistakes_are_named(raw, change, named):
    change(raw)
    with pytest.raises(ShrinkageError, match=named):
        check_job(raw)


@pytest.mark.parametrize("foot", [("sill", "foundation"), ("foundation", "sill")])
def test_a_sill_that_counts_must_be_given(raw, foot):
    raw["foot"] = {"panel_on": foot[0], "frame_on": foot[1]}
    check_job(raw)
    del raw["timber"]["sill"]
    with pytest.raises(ShrinkageError, match=r"no \[timber.sill\], but foot.panel_on is"):
        check_job(raw)


@pytest.mark.parametrize(
    ("content", "named"),
    [
        (b"title = ", "not valid TOML"),
        (b"a = " + b"[" * 5000, "not valid TOML"),
        (b"\xff\xfe", "not UTF-8 text; accepted: a job file"),
        (b"# " + b"x" * 1_000_001, "over 200 kB"),
        (b"", "title: missing"),
    ],
)
def test_files_that_are_no_job(tmp_path, content, named):
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    with pytest.raises(ShrinkageError, match=named) as caught:
        read_job(path)
    assert all(line.startswith(str(path)) for line in caught.value.message.splitlines())


def test_no_file_and_a_folder(tmp_path):
    with pytest.raises(ShrinkageError, match="no such file; accepted: a job file"):
        read_job(tmp_path / "none.toml")
    with pytest.raises(ShrinkageError, match="cannot be read"):
        read_job(tmp_path)


def test_documented_defaults_are_the_models():
    """Each default printed in docs/job_file.md, read as a job's value, is the model's own."""
    text = (ROOT / "docs" / "job_file.md").read_text(encoding="utf-8")
    tables = {"foam": specs.FoamSpec, "allow": specs.AllowSpec, "panel": specs.PanelSpec}
    seen = 0
    for names, default in re.findall(r"^\| (`\w+\.\w+`[^|]*) \| `([^`]+)` \|", text, re.MULTILINE):
        table, *keys = re.findall(r"\w+", names)
        for key in keys if table in tables else ():
            field = tables[table].model_fields[key]
            needed = {k: "1 m" for k in ("thickness", "max_width", "max_length")}
            given = (needed if table == "panel" else {}) | {key: default}
            assert getattr(tables[table].model_validate(given), key) == field.default, key
            seen += 1
    assert seen >= 14


@pytest.mark.parametrize("model", [m for m in vars(specs).values()
                                   if isinstance(m, type) and issubclass(m, specs.Spec)
                                   and m is not specs.Spec])  # fmt: skip
def test_every_key_is_documented(model):
    text = (ROOT / "docs" / "job_file.md").read_text(encoding="utf-8")
    for key in model.model_fields:
        assert re.search(rf"[`\[.]{key}[`\].]", text), f"{model.__name__}.{key}"


def test_starter_shows_defaults_as_they_are():
    """Settings commented out in the starter, taken in, change nothing."""
    text = (ROOT / "data" / "starter.toml").read_text(encoding="utf-8")
    plain = check_job(tomllib.loads(text)).job
    keys = "squeeze_once|recovery|works|least_width|most_width|keep_clear|cutting|frame|setting"
    keys += "|add_tolerances|fraction|spline_fill|expansion|rafter_housed|layout|panel_top"
    keys += "|panel_on|frame_on"
    shown, count = re.subn(
        rf"^# (\[(?:foam|allow|corner|foot)\]|(?:{keys}) = )", r"\1", text, flags=re.MULTILINE
    )
    assert count >= 20
    assert check_job(tomllib.loads(shown)).job == plain


def test_example_is_short_enough_to_read(workshop_text):
    """A simple house is a job file of under 60 lines, blank ones and comments apart."""
    lines = [line.split("#")[0].strip() for line in workshop_text.splitlines()]
    assert len([line for line in lines if line]) < 60
