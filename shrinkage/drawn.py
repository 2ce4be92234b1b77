"""The draws of one chunk, normal or uniform as wanted, cut back to the possible and counted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from shrinkage.spread import Doubt, Floats, normal_quantile


@dataclass(frozen=True)
class Drawn:
    """The draws of one chunk: uniform where they are wanted so, normal otherwise."""

    rows: list[Floats]
    normal: list[bool]
    truncated: dict[str, int]
    count: int
    shared: dict[Any, Any]

    @staticmethod
    def make(u: Floats, normal: list[bool], truncated: dict[str, int]) -> Drawn:
        """Turn uniform draws into normal ones where those are wanted."""
        rows = [
            normal_quantile(row) if is_normal else row
            for row, is_normal in zip(u, normal, strict=True)
        ]
        return Drawn(rows, normal, truncated, u.shape[1], {})

    def deviation(self, row: int | None, doubt: Doubt) -> Floats | float:
        """Return the deviation of one input from its value [unit of the doubt]."""
        if row is None:
            return 0.0
        return doubt.of_normal(self.rows[row]) if self.normal[row] else doubt.of_uniform(
            self.rows[row])  # fmt: skip

    def once(self, key: Any, make: Callable[[], Any]) -> Any:
        """Return what several timbers share, worked out (and counted) once."""
        if key not in self.shared:
            self.shared[key] = make()
        return self.shared[key]

    def around(
        self, value: float, row: int | None, doubt: Doubt, low: float, high: float, what: str
    ) -> Floats | float:
        """Return a value with its deviation, cut back to what is possible and counted."""
        if row is None:
            return value
        off = self.deviation(row, doubt)
        return self.clip(value * (1 + off) if doubt.unit == "-" else value + off, low, high, what)

    def clip(self, values: Floats | float, low: float, high: float, what: str) -> Floats | float:
        """Cut values back to a range and count how often."""
        if not isinstance(values, np.ndarray):
            return min(max(values, low), high)
        inside = np.clip(values, low, high)
        cut = int(np.count_nonzero(inside != values))
        if cut:
            self.truncated[what] = self.truncated.get(what, 0) + cut
        return inside
