"""Timber shrinkage and joint-gap allowances: from a green frame to a panel order.

Names below are loaded on first use, so that importing the package stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "ShrinkageError": "errors",
    "RangeWarning": "errors",
    "find": "species",
    "Species": "species",
    "emc": "climate",
    "relative_humidity": "climate",
    "Heart": "section",
    "Timber": "timber",
    "read_job": "jobfile",
    "check_job": "jobfile",
    "order": "order",
    "panel_table": "schedule",
    "worksheet": "worksheet",
    "write_order": "export",
}
__all__ = [*_HOMES, "__version__"]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"shrinkage.{_HOMES[name]}"), name)
    raise AttributeError(f"module 'shrinkage' has no attribute {name!r}")
