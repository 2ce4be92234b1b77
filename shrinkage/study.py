"""A study: a job, and lists of values for some of its keys; every combination is a variant."""

from __future__ import annotations

import copy
import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shrinkage.errors import ShrinkageError, quoted, shown
from shrinkage.jobfile import read_toml

MOST_VARIANTS = 5_000_000
EVERY = "*"
"""In a key: every timber of the job."""


@dataclass(frozen=True)
class Study:
    """A job and what varies in it.

    Parameters
    ----------
    raw : dict
        The job, as TOML gives it.
    vary : dict of str to list
        Values by dotted key, such as ``timber.plate.section``; ``timber.*.heart`` is every timber.
        A key with ``+`` moves several at once: ``timber.plate.section+timber.post.section``.
    folder : Path
        Where the files the job names are looked for.
    draws : int
        Draws for the chance of touching; 0 leaves it out.

    Raises
    ------
    ShrinkageError
        If nothing varies, a list is empty, or there are too many combinations.
    """

    raw: dict[str, Any]
    vary: dict[str, list[Any]]
    folder: Path = Path()
    draws: int = 0

    def __post_init__(self) -> None:
        if not self.vary:
            raise ShrinkageError("vary: nothing to vary; accepted: lists of values by key")
        for key, values in self.vary.items():
            if not isinstance(values, list) or not values:
                raise ShrinkageError(f"vary.{shown(key)}: {quoted(values)}; accepted: a list")
            for part in key.split("+"):
                _targets(self.raw, part)
        if len(self) > MOST_VARIANTS:
            raise ShrinkageError(f"{len(self)} variants; accepted: up to {MOST_VARIANTS}")

    def __len__(self) -> int:
        return math.prod(len(values) for values in self.vary.values())

    def variant(self, number: int) -> dict[str, Any]:
        """Return the values of one combination by key, the last key turning fastest."""
        found = {}
        for key, values in reversed(self.vary.items()):
            number, at = divmod(number, len(values))
            found[key] = values[at]
        return dict(reversed(found.items()))

    @property
    def mark(self) -> str:
        """What tells this study from another: a hash of all that goes into it."""
        text = json.dumps([self.raw, self.vary, self.draws], sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()


def read_study(path: str | Path) -> Study:
    """Read a study: ``job``, ``draws`` and a table ``vary``.

    Parameters
    ----------
    path : str or Path
        The TOML file; the job is looked for beside it.

    Raises
    ------
    ShrinkageError
        Naming the file and what is wrong.
    """
    path = Path(path)
    raw, _ = read_toml(path)
    unknown = set(raw) - {"job", "draws", "vary"}
    job = raw.get("job")
    if unknown or not isinstance(job, str) or not isinstance(raw.get("vary"), dict):
        wrong = quoted(sorted(unknown)[0]) if unknown else "job or [vary] is missing"
        raise ShrinkageError(f"{path}: {wrong}; accepted: job (a file), draws, and a table [vary]")
    draws = raw.get("draws", 0)
    if not isinstance(draws, int) or not (draws == 0 or 16 <= draws <= 2**20):
        raise ShrinkageError(f"{path}: draws {quoted(draws)}; accepted: 0, or 16 to {2**20}")
    if not job.isprintable() or len(job) > 300:
        raise ShrinkageError(f"{path}: job {quoted(job)}; accepted: the name of a file")
    at = path.parent / job
    try:
        return Study(read_toml(at)[0], raw["vary"], at.parent, draws)
    except ShrinkageError as error:
        raise ShrinkageError(f"{path}: {error.message}") from None


def _targets(raw: Mapping[str, Any], key: str) -> list[list[str]]:
    """Return the paths a dotted key stands for; its table must be there."""
    names = key.split(".")
    if names[:2] == ["timber", EVERY]:
        timbers = raw.get("timber")
        roles = list(timbers) if isinstance(timbers, Mapping) else ["post"]  # refused below
        paths = [["timber", role, *names[2:]] for role in roles]
        return [target for path in paths for target in _targets(raw, ".".join(path))]
    at: Any = raw
    for name in names[:-1]:
        if name in ("foam", "allow", "corner", "foot", "spread") and name not in at:
            return [names]  # a table that may be left out
        if not isinstance(at, Mapping) or not isinstance(at.get(name), Mapping):
            raise ShrinkageError(
                f"vary.{shown(key)}: no table {quoted(name)} in the job; accepted: keys such as "
                "eave.pitch, timber.plate.section, timber.*.heart"
            )
        at = at[name]
    return [names]


def changed(raw: Mapping[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return a job's mapping with values put in by dotted key, the original untouched.

    Parameters
    ----------
    raw : dict
        As TOML gives it.
    values : dict
        By key, see `Study`.
    """
    new = copy.deepcopy(dict(raw))
    for key, value in values.items():
        for part in key.split("+"):
            for *tables, name in _targets(raw, part):
                at = new
                for table in tables:
                    at = at.setdefault(table, {})
                at[name] = value
    return new
