"""Importing the package and asking for help stay quick: nothing heavy before it is needed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
HEAVY = ("matplotlib", "pandas", "pint", "pydantic", "numpy", "ipywidgets", "openpyxl", "scipy")
ASK = "import sys; print(*(name for name in {names!r} if name in sys.modules), file=sys.stderr)"


def loaded(code: str) -> list[str]:
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", f"{code}\n{ASK.format(names=HEAVY)}"]
    found = subprocess.run(command, capture_output=True, text=True, env=env, timeout=60, check=True)
    return found.stderr.split()


def test_importing_the_package_loads_nothing_heavy():
    assert loaded("import shrinkage") == []


@pytest.mark.parametrize("words", [["--help"], ["order", "--help"]])
def test_help_loads_nothing_heavy(words):
    code = f"from shrinkage.__main__ import main\ntry: main({words})\nexcept SystemExit: pass"
    assert loaded(code) == []


def test_an_order_draws_nothing():
    job = str(ROOT / "data" / "workshop.toml")
    code = "from shrinkage.jobfile import read_job\nfrom shrinkage.order import order\n"
    assert not {"matplotlib", "ipywidgets", "scipy"} & {*loaded(f"{code}order(read_job({job!r}))")}


def test_names_of_the_package_are_all_there():
    import shrinkage

    assert all(getattr(shrinkage, name) is not None for name in shrinkage.__all__)
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = shrinkage.nothing
