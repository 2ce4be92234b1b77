"""Shared by the tests of the upper layers: the example job as it stands, changed, and answered.

The package is imported inside the fixtures, so that tests which use none of them need none of it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from shrinkage.jobfile import Document
    from shrinkage.order import Order

DATA = Path(__file__).resolve().parents[1] / "data"


@pytest.fixture(scope="session")
def workshop_path() -> Path:
    return DATA / "workshop.toml"


@pytest.fixture(scope="session")
def workshop_text(workshop_path: Path) -> str:
    return workshop_path.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def workshop_document(workshop_path: Path) -> Document:
    from shrinkage.jobfile import read_job

    return read_job(workshop_path)


@pytest.fixture(scope="session")
def workshop_order(workshop_document: Document) -> Order:
    from shrinkage.order import order

    return order(workshop_document)


@pytest.fixture
def raw(workshop_text: str) -> dict[str, Any]:
    """Return the example as a mapping of its own, to be changed at will."""
    return tomllib.loads(workshop_text)


@pytest.fixture(scope="session")
def changed(workshop_text: str) -> Callable[..., str]:
    """Return a function from (old, new) pairs to the example's text, each put in once."""

    def change(*pairs: tuple[str, str]) -> str:
        text = workshop_text
        for old, new in pairs:
            assert old in text, f"the example has no {old!r} to change"
            text = text.replace(old, new, 1)
        return text

    return change


@pytest.fixture(scope="session")
def answered() -> Callable[[dict[str, Any]], Order]:
    """Return a function from a job's mapping to its order."""
    from shrinkage.jobfile import check_job
    from shrinkage.order import order

    return lambda mapping: order(check_job(mapping))
