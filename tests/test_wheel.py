"""The built wheel, installed in a fresh environment, does the main job on its own data.

The fresh environment borrows only the dependencies from the one that runs the tests, so that no
network is needed; that the wheel asks for exactly those is checked from its metadata.
"""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import tomllib
import zipfile
from pathlib import Path

import pytest

pytest.importorskip("build")
pytest.importorskip("hatchling")

ROOT = Path(__file__).resolve().parents[1]
FILES = ["edges.csv", "schedule.csv", "schedule.xlsx", "worksheet.md"]
WHERE = "from shrinkage import tables as t; print(t.data_folder(), t.__file__)"


def run(*words: object, cwd: Path) -> str:
    env = {key: text for key, text in os.environ.items() if not key.startswith("PYTHON")}
    found = subprocess.run(
        [str(word) for word in words], cwd=cwd, env=env, capture_output=True, text=True, timeout=120
    )
    assert found.returncode == 0, found.stdout + found.stderr
    return found.stdout


def fresh(folder: Path) -> Path:
    """Make an environment that has the dependencies but not the package; return its Python."""
    run(sys.executable, "-m", "venv", "--without-pip", folder, cwd=folder.parent)
    python = folder / "bin" / "python"
    site = run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))",
               cwd=folder.parent).strip()  # fmt: skip
    # A path in a .pth file is searched, but .pth files found there are not: nothing editable leaks.
    (Path(site) / "dependencies.pth").write_text(sysconfig.get_path("purelib") + "\n")
    return python


def install(python: Path, *what: object, cwd: Path) -> None:
    pip = (sys.executable, "-m", "pip", "--python", python, "install", "-q", "--no-deps",
           "--no-index", "--no-build-isolation", "--disable-pip-version-check")  # fmt: skip
    run(*pip, *what, cwd=cwd)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("dist")
    words = ("-m", "build", "--wheel", "--no-isolation", "--outdir", out, ROOT)
    run(sys.executable, *words, cwd=out)
    (path,) = out.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def python(wheel, tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("installed") / "venv"
    found = fresh(folder)
    install(found, wheel, cwd=folder.parent)
    return found


def test_wheel_carries_every_data_file_and_no_tests(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    packed = {name.removeprefix("shrinkage/_data/") for name in names if "/_data/" in name}
    assert packed == {path.name for path in (ROOT / "data").iterdir()}
    modules = {name for name in names if name.endswith(".py")}
    assert modules == {f"shrinkage/{path.name}" for path in (ROOT / "shrinkage").glob("*.py")}


def test_wheel_asks_for_what_the_project_lists(wheel):
    with zipfile.ZipFile(wheel) as archive:
        (name,) = [n for n in archive.namelist() if n.endswith("/METADATA")]
        meta = archive.read(name).decode()
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [line.removeprefix("Requires-Dist: ") for line in meta.splitlines()
             if line.startswith("Requires-Dist") and "extra ==" not in line]  # fmt: skip
    assert sorted(asked) == sorted(project["dependencies"])
    assert f"Version: {project['version']}" in meta


def test_main_job_from_the_installed_wheel(python, tmp_path):
    data, code = run(python, "-c", WHERE, cwd=tmp_path).split()
    assert python.parent.parent in Path(data).parents and python.parent.parent in Path(code).parents
    run(python, "-m", "shrinkage", "new", "x", cwd=tmp_path)
    printed = run(python, "-m", "shrinkage", "order", "x.toml", "-o", "out", cwd=tmp_path)
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == FILES
    assert "south 1" in printed
    script = python.parent / "shrinkage"
    assert "sound" in run(script, "check", "x.toml", cwd=tmp_path)


def test_source_tree_finds_the_data_beside_it(tmp_path):
    """An editable install does no more than put the source tree on the path, as done here."""
    python = fresh(tmp_path / "venv")
    (site,) = (tmp_path / "venv").glob("lib/python*/site-packages")
    (site / "editable.pth").write_text(f"{ROOT}\n")
    data, code = run(python, "-c", WHERE, cwd=tmp_path).split()
    assert Path(data) == ROOT / "data"
    assert Path(code) == ROOT / "shrinkage" / "tables.py"
