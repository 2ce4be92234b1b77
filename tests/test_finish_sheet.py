"""Finishes of a job: from `[[finish.*]]` to its sheet, its pictures and the worksheet."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pydantic import BaseModel

from shrinkage import job_finish
from shrinkage.__main__ import main
from shrinkage.errors import ShrinkageError
from shrinkage.finding import Amount
from shrinkage.finish_answer import KINDS, findings
from shrinkage.finish_sheet import sheet_html, sheet_text
from shrinkage.finish_words import go_by
from shrinkage.frame import build
from shrinkage.job_finish import FinishSpec
from shrinkage.jobfile import Source, check_job, read_job
from shrinkage.joinery_figures import draw

ROOT = Path(__file__).resolve().parents[1]
ALL = """
[[finish.wallboard]]
name = "posts & wallboard <south>"
held = "left face"
moisture = "20 %"

[[finish.trim]]
name = "stool"
held = "far face"

[[finish.boards]]
name = "ceiling"
species = "eastern white pine"
width = "5-1/8 in"
moisture = "9 %"
run = "17 ft"

[[finish.shoulder]]
name = "girts"
length = "11 ft 3 in"
housing = "1/2 in"

[[finish.brace]]
name = "braces"
species = "white oak"
section = "3-1/2 in x 5-1/2 in"
leg = "30 in"

[[finish.tenon]]
name = "girt in post"

[[finish.pegged]]
name = "tie in post"
pegs = ["2 in", "5 in"]
"""


@pytest.fixture(scope="module")
def text(workshop_text) -> str:
    return workshop_text + ALL


@pytest.fixture(scope="module")
def frame(text):
    return build(check_job(tomllib.loads(text)))


@pytest.fixture(scope="module")
def found(frame):
    return findings(frame)


def test_one_of_each_kind_is_answered(found):
    assert [type(one).__name__.removesuffix("Finding").lower() for one in found] == list(KINDS)
    assert all(one.steps and one.notes and one.amounts for one in found)


def test_keys_reach_the_calculators(frame, found):
    wallboard, _, boards, shoulder, brace, tenon, pegged = found
    assert wallboard.face.share == 0.0 and wallboard.face.timber.moisture == 20.0
    assert (boards.boards.tongue, boards.boards.air) == (6.35, frame.room)
    assert (shoulder.joint.face.share, shoulder.joint.housing) == (95.25, 12.7)
    assert brace.joint.brace.depth == pytest.approx(139.7)
    assert brace.joint.beam.share == pytest.approx(95.25)
    assert tenon.joint.depth == frame.timbers["girt"].depth
    assert pegged.joint.hold == pytest.approx(3.5 * 25.4)


@pytest.mark.parametrize("key", ["timber", "held", "side", "species", "rings", "air", "room_at"])
def test_words_that_are_no_choice_are_named(text, key):
    kind = "boards" if key in ("species", "rings", "air", "room_at") else "wallboard"
    raw = tomllib.loads(text)
    raw["finish"][kind][0][key] = "moonbeam"
    with pytest.raises(ShrinkageError, match=rf"finish\.{kind}\.1.*moonbeam"):
        findings(build(check_job(raw)))


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ('run = "17 ft"', 'run = "0 in"', r"finish\.boards\.1\.run: '0 in'; accepted: above 0"),
        ('run = "17 ft"', 'run = "17 ft"\ntongue = "6 in"', r"finish\.boards\.1: boards: tongue"),
        ('moisture = "9 %"', 'moisture = "35 %"', r"finish\.boards\.1: boards: moisture 35 %"),
        ('"5 in"]', '"9 in"]', r"finish\.pegged\.1: pegged beam: peg 228\.6 mm above the seat"),
        ('"2 in", "5 in"', "", r"finish\.pegged\.1\.pegs"),
        ('leg = "30 in"', 'leg = "30 in"\nangle = "80 deg"', r"finish\.brace\.1: brace: angle 80"),
        ('housing = "1/2 in"', 'held_by = "pegs"', r"finish\.shoulder\.1: held_by pegs without"),
        ('housing = "1/2 in"', 'housing = "-1 in"', r"finish\.shoulder\.1\.housing: '-1 in'"),
        ('held = "far face"', 'since = "foamed"', r"finish\.trim\.1: since 'foamed' without"),
        (
            'moisture = "20 %"',
            'moisture = "20 %"\nsince = "heated"',
            "moisture with since 'heated'",
        ),
        ('held = "far face"', 'held = "-2 in"', r"finish\.trim\.1\.held: cannot read '-2 in'"),
        ('name = "stool"', 'name = "stool"\ntimber = "purlin"', r"no \[timber\.purlin\]"),
        ('name = "girt in post"', 'name = "t"\nthickness = "9 in"', r"tenon of the girt: a piece"),
        ('name = "stool"', 'name = "stool"\ndepht = "1 in"', r"trim\.1\.depht: no such key"),
    ],
)
def test_mistakes_name_file_line_and_key(tmp_path, text, old, new, named):
    assert text.count(old) == 1
    path = tmp_path / "job.toml"
    path.write_text(text.replace(old, new), "utf-8")
    with pytest.raises(ShrinkageError, match=named) as caught:
        findings(build(read_job(path)))
    assert re.match(rf"{re.escape(str(path))} line \d+: ", caught.value.message)


def test_keys_with_a_default_reach_the_calculators_too(text):
    raw = tomllib.loads(text)
    raw["finish"]["boards"][0]["room_at"] = "one wall"
    raw["finish"]["tenon"][0]["depth"] = "5 in"
    _, _, boards, _, _, tenon, _ = findings(build(check_job(raw)))
    assert boards.boards.free_sides == 1 and tenon.joint.depth == pytest.approx(127.0)


def test_own_species_may_be_laid(text):
    raw = tomllib.loads(text)
    raw["species"] = {"my pine": {"radial": "2 %", "tangential": "5 %", "source": "this test"}}
    raw["finish"]["boards"][0]["species"] = "my pine"
    assert findings(build(check_job(raw)))[2].boards.totals()[2] == pytest.approx(0.05)


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_every_drawing_is_sound_and_says_what_it_shows(found, system):
    for one in found:
        svg, words = draw(one, system)
        root = ElementTree.fromstring(svg)
        assert root.get("aria-label") == words and one.name in words
        shown = "".join(root.itertext())
        assert one.name in shown
        used = [a for a in one.amounts if a.kind == "length" and go_by(a, system) in shown]
        assert used, "an amount stands in the drawing"
        for path in root.iter("{http://www.w3.org/2000/svg}path"):
            numbers = [float(n) for n in re.findall(r"-?\d+\.\d+", path.get("d"))]
            assert all(-2 <= x <= 462 for x in numbers[::2]), "within the picture"


def test_wallboard_drawing_opens_where_the_post_draws_back(found):
    """Held at its left face: one dark strip, on the right."""
    svg, _ = draw(found[0])
    opened = re.findall(r'class="open" d="M([\d.]+)', svg)
    assert len(opened) == 1 and 112 < float(opened[0]) < 165


@pytest.mark.parametrize(
    ("amount", "imperial", "metric"),
    [
        (Amount("a", 0, 0, 25.4 / 32), '1/32"', "0.8 mm"),
        (Amount("a", 0, 0, 25.4 / 32 + 0.01), '1/16"', "0.9 mm"),
        (Amount("a", 25.4 / 16 - 0.01, 3, 3, governs="least"), '1/32"', "1.5 mm"),
        (Amount("a", -0.01, 3, 3, governs="least"), '-1/32"', "-0.1 mm"),
        (Amount("a", 0, 0, 0.01, kind="angle"), "0.57 deg", "0.57 deg"),
    ],
)
def test_what_to_go_by_is_rounded_to_the_safe_side(amount, imperial, metric):
    assert (go_by(amount), go_by(amount, "metric")) == (imperial, metric)


def test_sheet_escapes_names_and_holds_every_finding(frame, found):
    page, plain = sheet_html(frame, "imperial"), sheet_text(frame, "imperial")
    assert page.count("<svg") == plain.count("\n### ") - 1 == len(found) == 7
    taken = (
        'stool: timber post, side width, since panels on, keep 1/8", tolerance 1/16", trim_moves'
    )
    assert taken in plain and "brace" in plain and "angle 45.0 deg" in plain
    assert "<south>" not in page and "posts &amp; wallboard &lt;south&gt;" in page
    for note in ("prove", "engineer", "average wood"):
        assert note in plain and note in page
    shared = found[0].notes[-1]
    assert plain.count(shared) == 1, "what holds for several is said once"


def test_pictures_of_the_documentation_are_what_is_drawn(monkeypatch):
    monkeypatch.syspath_prepend(str(ROOT / "docs"))
    import finish_figures

    for file, svg in finish_figures.pictures().items():
        assert file.read_text("utf-8") == svg, "out of date: python docs/finish_figures.py"


def test_command_writes_both_files_or_none(tmp_path, text, capsys):
    job, out = tmp_path / "job.toml", tmp_path / "out"
    job.write_text(text, "utf-8")
    assert main(["finishes", str(job), "-o", str(out), "--units", "metric"]) == 0
    assert sorted(p.name for p in out.iterdir()) == ["finishes.html", "finishes.md"]
    assert "mm (" in (out / "finishes.md").read_text("utf-8")
    assert main(["finishes", str(job), "-o", str(out)]) == 2
    assert "already there" in capsys.readouterr().err
    job.write_text(text.replace('"5 in"]', '"9 in"]'), "utf-8")
    assert main(["finishes", str(job), "-o", str(tmp_path / "other")]) == 2
    assert not (tmp_path / "other").exists()
    assert main(["check", str(job)]) == 2
    assert "finish.pegged.1" in capsys.readouterr().err


def test_command_without_finishes_says_what_to_ask_for(tmp_path, workshop_path, capsys):
    assert main(["finishes", str(workshop_path), "-o", str(tmp_path / "out")]) == 2
    assert "accepted: [[finish.wallboard]]" in capsys.readouterr().err


def test_worksheet_holds_them_after_the_foam(text, workshop_order):
    from shrinkage.order import order
    from shrinkage.worksheet import worksheet

    sheet = worksheet(order(check_job(tomllib.loads(text), Source())))
    assert sheet.index("## Foam") < sheet.index("## Finishes and joinery")
    assert "### tie in post" in sheet
    assert "## Finishes" not in worksheet(workshop_order)


SPECS = {name: field.annotation.__args__[0] for name, field in FinishSpec.model_fields.items()}


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_and_default_is_documented(kind):
    """Each default in docs/job_file.md, read as a job's value, is the model's own."""
    doc = (ROOT / "docs" / "job_file.md").read_text("utf-8")
    doc = doc[doc.index("## `[[finish.*]]`") :].split("\n## ")[0]
    spec: type[BaseModel] = SPECS[kind]
    rows = re.findall(r"^\| (`[^|]*`) \|\s*([^|]*?)\s*\|", doc, re.MULTILINE)
    seen = set()
    for names, default in rows:
        dotted = re.findall(r"`([\w.]+)`", names)
        table = ""
        for name in dotted:
            table = name.split(".")[0] if "." in name else table
            key = name.split(".")[-1]
            if table != kind:
                continue
            seen.add(key)
            field = spec.model_fields[key]
            value = re.fullmatch(r"`([^`]+)`", default)
            assert value or field.is_required() or field.default is None, key
            if value:
                read = read_default(spec, key, value[1])
                assert read == pytest.approx(field.default) if isinstance(read, float) else (
                    read == field.default), key  # fmt: skip
    assert seen == set(spec.model_fields) - {"name"}


REQUIRED = {
    "name": "x", "species": "white oak", "width": "5 in", "moisture": "9 %", "run": "9 ft",
    "length": "9 ft", "section": "3 in x 5 in", "leg": "3 ft", "pegs": ["2 in"],
}  # fmt: skip


def read_default(spec: type[BaseModel], key: str, text: str):
    """Read one key as a job file would, the required ones filled in."""
    given = {k: REQUIRED[k] for k, field in spec.model_fields.items() if field.is_required()}
    return getattr(spec.model_validate(given | {key: text}), key)


def test_models_are_all_looked_at():
    specs = {m for m in vars(job_finish).values()
             if isinstance(m, type) and issubclass(m, job_finish.Spec)}  # fmt: skip
    assert specs - {job_finish.Spec, FinishSpec} == set(SPECS.values())
