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


def quoted(value: object, longest: int = 60) -> str:
    """Return a value as it was written, fit for a message: shortened, on one line.

    Parameters
    ----------
    value : object
        Anything a user may have put where something else was due.
    longest : int
        Letters shown [-].
    """
    try:
        text = repr(value)
    except ValueError:  # Python writes out no whole number of more than 4300 digits
        text = "a number of more than 4300 digits"
    return text if len(text) <= longest else text[: longest - 3] + "..."


def shown(key: object) -> str:
    """Return a name for a message: positions in a list from 1, odd or long names quoted."""
    if isinstance(key, int):
        return f"{key + 1}"
    text = str(key)
    return text if len(text) <= 60 and text.isprintable() else quoted(text)


class RangeWarning(UserWarning):
    """A value lies outside the range its source covers; the answer is an extrapolation."""
