"""The one error type a user's mistake can raise, and the warning for a source's range."""

from __future__ import annotations


class ShrinkageError(ValueError):
    """A mistake in what was asked for: names the thing, its value and what is accepted.

    Parameters
    ----------
    message : str
        What is wrong, in one line, without a trailing full stop.
    """

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class RangeWarning(UserWarning):
    """A value lies outside the range its source covers; the answer is an extrapolation."""
