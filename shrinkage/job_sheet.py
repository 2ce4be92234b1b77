"""The job file's `[sheet]`: what the user's own title block says. All of it may be left out."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from pydantic import BeforeValidator

from shrinkage.job_fields import Name, Spec


def _text(value: Any) -> Any:
    # A date written without quotes is a date to TOML.
    return value.isoformat() if isinstance(value, date) else value


Line = Annotated[Name, BeforeValidator(_text)]


class SheetSpec(Spec):
    """Lines of the title block, in this order; `call` stands on the crew card too."""

    firm: Line | None = None
    project: Line | None = None
    client: Line | None = None
    address: Line | None = None
    call: Line | None = None
    drawn_by: Line | None = None
    checked_by: Line | None = None
    date: Line | None = None
    revision: Line | None = None
    note: Line | None = None
