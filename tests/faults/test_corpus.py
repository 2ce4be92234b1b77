"""Job files that once made the package fail, each kept with what is right now.

The first line of a file says what it did. Its name starts with what must come of it: an answer, or
a refusal that names the file. `every_section.toml` holds every table there is, for other tests.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from shrinkage.__main__ import main

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
FILES = sorted(path for path in CORPUS.glob("*_*.toml") if path.name != "every_section.toml")
LONGEST_MESSAGE = 1000
"""Letters of a line that says what is wrong, however long the value."""


def test_every_file_says_what_must_come_of_it():
    assert FILES
    assert {path.name.partition("_")[0] for path in FILES} == {"answered", "refused"}
    assert all(path.read_text(encoding="utf-8").startswith("# ") for path in FILES)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_file_that_once_failed(path, tmp_path, capsys):
    out = tmp_path / "out"
    code = main(["order", str(path), "-o", str(out)])
    printed = capsys.readouterr()
    if path.name.startswith("answered"):
        assert (code, printed.err) == (0, "")
        assert len(list(out.iterdir())) == 4
    else:
        lines = printed.err.splitlines()
        assert code == 2 and lines and not out.exists()
        assert all(line.startswith(str(path)) and len(line) < LONGEST_MESSAGE for line in lines)
