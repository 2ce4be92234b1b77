"""Timber shrinkage and joint-gap allowances: from a green frame to a panel order.

Names below are loaded on first use, so that importing the package stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

# Name here: module it lives in, name there. Two differ, so as not to hide modules of their name.
_HOMES = {
    "ShrinkageError": ("errors", "ShrinkageError"),
    "RangeWarning": ("errors", "RangeWarning"),
    "find": ("species", "find"),
    "Species": ("species", "Species"),
    "emc": ("climate", "emc"),
    "relative_humidity": ("climate", "relative_humidity"),
    "Heart": ("section", "Heart"),
    "Timber": ("timber", "Timber"),
    "read_job": ("jobfile", "read_job"),
    "check_job": ("jobfile", "check_job"),
    "work_out": ("order", "order"),
    "panel_table": ("schedule", "panel_table"),
    "worksheet_text": ("worksheet", "worksheet"),
    "write_order": ("export", "write_order"),
}
__all__ = [*_HOMES, "__version__"]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        module, there = _HOMES[name]
        return getattr(import_module(f"shrinkage.{module}"), there)
    raise AttributeError(f"module 'shrinkage' has no attribute {name!r}")
