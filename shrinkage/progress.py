"""A bar for work that takes more than two seconds, on standard error; quiet before that."""

from __future__ import annotations

import sys
import time
from typing import TextIO

AFTER_S = 2.0
WIDTH = 30


class Bar:
    """Shows how far a piece of work is, once it has taken two seconds.

    Parameters
    ----------
    what : str
        What is being done.
    stream : file, optional
        Standard error otherwise.
    """

    def __init__(self, what: str, stream: TextIO | None = None) -> None:
        self.what = what
        self.stream = stream or sys.stderr
        self.start = time.monotonic()
        self._last = -1

    def __call__(self, share: float) -> None:
        """Show a share done.

        Parameters
        ----------
        share : float
            From 0 to 1 [-].
        """
        if time.monotonic() - self.start < AFTER_S and self._last < 0:
            return
        full = int(min(1.0, share) * WIDTH)
        percent = int(100 * min(1.0, share))
        if percent != self._last:
            self._last = percent
            bar = "#" * full + "." * (WIDTH - full)
            self.stream.write(f"\r{self.what} [{bar}] {percent:3d} %")
            self.stream.flush()

    def done(self) -> None:
        """End the line, if there is one."""
        if self._last >= 0:
            self.stream.write("\n")
            self.stream.flush()
