"""The review report: complete, the same each time, whole tables, PDF and HTML alike."""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
import sys
from html.parser import HTMLParser

import numpy as np
import pytest
from matplotlib.figure import Figure

from shrinkage import __version__, blocks, review_figures
from shrinkage.__main__ import main
from shrinkage.blocks import Bullets, Heading, Table, Text, from_markdown
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import read_job
from shrinkage.review import report, review, write_review
from shrinkage.review_html import write_html
from shrinkage.review_pdf import _fitted
from shrinkage.schedule import CAUTIONS
from shrinkage.worksheet import worksheet

QUICK = '\n[spread]\ndraws = 1024\nmoisture = "3 %"\n'


@pytest.fixture(scope="module")
def job(workshop_text, tmp_path_factory):
    path = tmp_path_factory.mktemp("job") / "mine.toml"
    path.write_text(workshop_text + QUICK, "utf-8")
    return path


@pytest.fixture(scope="module")
def done(job):
    return review(read_job(job))


@pytest.fixture(scope="module")
def page(done):
    return write_html("Review", report(done, "imperial"))


@pytest.fixture(scope="module")
def pdf(job, tmp_path_factory):
    pytest.importorskip("reportlab")
    out = tmp_path_factory.mktemp("out")
    write_review(read_job(job), out)
    return out / "review.pdf"


def test_says_what_it_was_made_from(page, job, done):
    assert hashlib.sha256(job.read_bytes()).hexdigest() in page
    assert done.job_hash in page
    assert f"shrinkage {__version__}" in page
    assert "1024 scrambled Sobol points, seed 1" in page


@pytest.mark.parametrize(
    "chapter",
    ["1. In short", "2. Inputs and where they come from", "3. Method",
     "4. Results by kind of joint", "5. Cautions", "6. Worksheet of the governing joints"],
)  # fmt: skip
def test_chapters(page, chapter):
    assert chapter in page


def test_inputs_carry_their_sources(page, done):
    for doubt in done.spread.doubts.values():
        assert doubt.what in page and doubt.source in page
    for timber in done.order.frame.timbers.values():
        assert timber.species.source in page and f"basis: {timber.species.basis}" in page
    assert "the job file" in page and "assumed" in page


def test_three_answers_for_every_kind(page, done):
    kinds = {one.found.answer.joint.kind for one in done.joints}
    assert {"eave", "corner", "gable", "ridge", "opening", "spline"} <= kinds
    for text in ("worst case", "root-sum-square", "sampled, 95 %"):
        assert text in page
    for one in done.joints:
        assert one.found.answer.joint.name in page
    assert "not for joints sealed with aerosol foam" in page


def test_cautions_and_worksheet(page, done):
    for caution in CAUTIONS:
        assert caution.replace("'", "&#x27;") in page or caution in page
    for line in worksheet(done.order).splitlines():
        if line.startswith("Gap needed"):
            assert line in page


def test_is_self_contained(page):
    assert not re.search(r'(src|href)="?(https?:|//|[a-z./]+\.(css|js|png))', page)
    assert "<script" not in page and "@import" not in page


def test_tables_are_whole(page):
    """Every row has as many cells as its head."""

    class Cells(HTMLParser):
        rows: list[int]
        tables: list[list[int]]

        def handle_starttag(self, tag, attrs):
            if tag == "table":
                self.tables.append([])
            elif tag == "tr":
                self.tables[-1].append(0)
            elif tag in ("td", "th"):
                self.tables[-1][-1] += 1

    found = Cells()
    found.tables = []
    found.feed(page)
    assert len(found.tables) > 20
    assert all(len(set(table)) == 1 for table in found.tables)


def test_same_job_same_report(job, page):
    assert write_html("Review", report(review(read_job(job)), "imperial")) == page


def test_user_text_is_escaped(workshop_text, tmp_path):
    text = workshop_text.replace("Workshop with two gables", "<b>Barn</b> & Żuraw")
    (tmp_path / "j.toml").write_text(text + QUICK, "utf-8")
    write_review(read_job(tmp_path / "j.toml"), tmp_path / "out", pdf=False)
    page = (tmp_path / "out" / "review.html").read_text("utf-8")
    assert "&lt;b&gt;Barn&lt;/b&gt; &amp; Żuraw" in page and "<b>Barn" not in page


def test_metric(done):
    page = write_html("Review", report(done, "metric"))
    assert " mm</td>" in page and " N/m</td>" in page and "lb/ft</td>" not in page


# --- the PDF ---


def words_of(pdf):
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext is not installed")
    done = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True,
                          check=True)  # fmt: skip
    return done.stdout


def test_pdf_pages_are_numbered(pdf):
    text = words_of(pdf)
    pages = text.split("\f")[:-1]
    assert 10 < len(pages) < 60
    for number, page in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in page
        assert "Review: Workshop" in page and "seed 1" in page


def test_pdf_says_what_the_html_says(pdf, done):
    text = re.sub(r"\s+", " ", words_of(pdf))
    for one in done.joints:
        assert one.found.answer.joint.name in text
    assert done.job_hash in text and "Worksheet of the governing joints" in text
    assert "cos²φ" in text
    for limit in done.joints[0].found.answer.limits:
        assert limit.name in text


def test_pdf_is_the_same_each_time(job, pdf, tmp_path):
    write_review(read_job(job), tmp_path)
    assert (tmp_path / "review.pdf").read_bytes() == pdf.read_bytes()


def test_tables_fit_the_page():
    pytest.importorskip("reportlab")
    from shrinkage.review_pdf import _fonts

    _fonts()
    row = ("some words to wrap 123.45",) * 14
    wide = Table(tuple(f"column {n}" for n in range(14)), (row, row))
    for table, width in ((wide, 690.0), (wide, 510.0), (Table(("a", "b"), (("1", "2"),)), 510.0)):
        size, widths = _fitted(table, width)
        assert sum(widths) <= width + 1e-6 and 5 <= size <= 7.5


# --- what a report is made of ---


def test_markdown_of_the_worksheet():
    table = "| a | b |\n| --- | --- |\n| 1 |  |"
    found = list(from_markdown(f"# A\n\nText **b**.\n\n{table}\n\n* x\n* y"))
    assert found == [Heading(1, "A"), Text("Text **b**."), Table(("a", "b"), (("1", ""),)),
                     Bullets(("x", "y"))]  # fmt: skip


def test_numbers_are_known_from_words():
    table = Table(("n", "w", "i", "p"), (("1.5", "9.53 / 0.5", '1-1/4"', "2.4 %"),
                                         ("-3", "fill", '31/32"', "none")))  # fmt: skip
    assert [table.is_number(column) for column in range(4)] == [True, False, True, True]


# --- the figures ---


def test_histogram_shades_what_touches(done):
    figure, ax = review_figures.new_figure()
    assert isinstance(figure, Figure)
    found = done.joints[0].found
    gap = float(np.quantile(found.sample.reach, 0.8))
    words = review_figures.histogram(ax, found, gap, "imperial")
    assert "20 %" in words and "20 %" in ax.get_title()
    shaded = [patch for patch in ax.patches if patch.get_hatch()]
    values, _, _ = shaded[0].get_data()
    assert values.sum() == pytest.approx(0.2, abs=0.03)
    assert ax.get_xlabel().endswith("in")


def test_bars_are_the_drivers(done):
    _, ax = review_figures.new_figure()
    found = done.joints[0].drivers
    words = review_figures.driver_bars(ax, found, "imperial", shown=5)
    widths = [bar.get_width() for bar in ax.containers[0]]
    assert widths == pytest.approx([max(d.total, 0) for d in found[:5]])
    names = [label.get_text().replace("\n", " ") for label in ax.get_yticklabels()]
    assert found[0].group in words and names[0] == found[0].group


def test_time_without_and_with_dates(done):
    _, ax = review_figures.new_figure()
    words = review_figures.time_band(ax, done.joints[0].found.sample.plan, 25.4, "imperial")
    assert [t.get_text() for t in ax.get_xticklabels()] == [
        "panels on", "driest month", "usual", "wettest month",
    ]  # fmt: skip
    assert '1" on the day' in words


# --- mistakes ---


def test_files_are_not_overwritten(job, tmp_path, capsys):
    (tmp_path / "review.html").write_text("mine")
    assert main(["review", str(job), "-o", str(tmp_path), "--html"]) == 2
    assert "already there" in capsys.readouterr().err
    assert (tmp_path / "review.html").read_text() == "mine"
    assert main(["review", str(job), "-o", str(tmp_path), "--html", "--force"]) == 0
    assert (tmp_path / "review.html").read_text("utf-8").startswith("<!doctype html>")
    assert not (tmp_path / "review.pdf").exists()


def test_missing_extra_is_one_line(job, tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "reportlab", None)
    assert main(["review", str(job), "-o", str(tmp_path)]) == 2
    error = capsys.readouterr().err.strip()
    assert error.startswith("reportlab is not installed") and "shrinkage[review]" in error
    assert "\n" not in error and not list(tmp_path.iterdir())


def test_missing_scipy_is_one_line(job, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "scipy.stats", None)
    monkeypatch.setitem(sys.modules, "scipy.special", None)
    with pytest.raises(ShrinkageError, match=r"scipy is not installed.*shrinkage\[review\]"):
        write_review(read_job(job), tmp_path, pdf=False)


def test_a_bad_spread_is_named_with_its_line(workshop_text, tmp_path, capsys):
    (tmp_path / "j.toml").write_text(workshop_text + '\n[spread]\ncertainty = "100 %"\n', "utf-8")
    assert main(["review", str(tmp_path / "j.toml"), "-o", str(tmp_path / "o")]) == 2
    error = capsys.readouterr().err
    assert re.search(r"j\.toml.*line \d+.*spread\.certainty.*50 % to 99\.99 %", error)


def test_blocks_know_nothing_of_timber():
    source = open(blocks.__file__).read()
    assert "from shrinkage" not in source
