"""The README does what it says: its Python prints that, its commands and links are there."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest

from shrinkage.schedule import CAUTIONS

ROOT = Path(__file__).resolve().parents[1]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
LONGEST = 120
"""[lines] A newcomer reads it in one go."""
BLOCKS = re.findall(r"```python\n(.*?)```\s+which prints `([^`]+)`", TEXT, re.DOTALL)


def command(name: str) -> str:
    """Return the command after a marker, as the CI takes it."""
    found = re.search(rf"<!-- {name} -->\n```\w*\n(.*?)\n```", TEXT, re.DOTALL)
    assert found, f"no command after <!-- {name} -->"
    return found[1]


def test_every_python_block_says_what_it_prints():
    assert len(BLOCKS) == TEXT.count("```python") >= 1


@pytest.mark.parametrize(("code", "prints"), BLOCKS)
def test_python_blocks_print_what_they_say(code, prints, monkeypatch):
    monkeypatch.chdir(ROOT)
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(code, "README.md", "exec"), {"__name__": "readme"})
    assert out.getvalue().strip() == prints


def test_both_commands_are_there_each_one_line():
    main, tests = command("main-command"), command("test-command")
    assert "\n" not in main and "\n" not in tests
    for line in (main, tests):
        assert line.startswith("python3 -m venv .venv && ")  # PEP 668: never the system's Python
    assert "-m shrinkage order data/workshop.toml -o out --force" in main
    assert tests.endswith("-m pytest")


def test_order_of_the_main_command_runs(tmp_path, monkeypatch, capsys):
    """All of it but the environment: the wheel's own test installs into a fresh one."""
    from shrinkage.__main__ import main

    monkeypatch.chdir(ROOT)
    words = command("main-command").split("-m shrinkage ")[1].split()
    words[words.index("out")] = str(tmp_path / "out")
    assert main(words) == 0
    assert "Written:" in capsys.readouterr().out
    for name in re.findall(r"`([\w.]+\.(?:csv|xlsx|md))`", TEXT):
        assert (tmp_path / "out" / name).is_file() or (ROOT / "data" / name).is_file(), name


def test_test_command_runs_the_notebooks_too():
    settings = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert re.search(r'testpaths = \[.*"notebooks".*\]', settings)
    assert "--nbval" in settings


def test_short_enough():
    assert len(TEXT.splitlines()) < LONGEST


def test_cautions_are_all_there():
    flat = " ".join(TEXT.split())
    assert all(caution in flat for caution in CAUTIONS)


@pytest.mark.parametrize("target", sorted(set(re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", TEXT))))
def test_links_lead_somewhere(target):
    assert (ROOT / target).exists()
