"""The foam in a joint: what it takes once, what it gives back, what it can be put into."""

from __future__ import annotations

from dataclasses import dataclass

from shrinkage.errors import ShrinkageError

ASSUMED = "assumed: no published source; the foam maker's sheet replaces it"


@dataclass(frozen=True)
class Foam:
    """A gap-filling foam.

    Parameters
    ----------
    name : str
        What it is called on the order.
    squeeze_once : float
        Compression it takes once, closing, as a fraction of the gap it was put in [-].
    recovery : float
        Share of that compression it gives back when the gap reopens [-].
    works : float
        Movement either way it follows with the seasons, as a fraction of its thickness [-].
    least_width, most_width : float
        Narrowest gap that can be seen into and filled, widest it can fill [mm].
    source : str
        Where the numbers come from.
    stretch : float or None
        Stretch it takes without tearing or coming loose, as a fraction of its thickness [-];
        `works` where none is given.
    cure : float
        Growth in the joint while it cures, as a fraction of the gap, negative where it shrinks [-].

    Raises
    ------
    ShrinkageError
        If a fraction or width is impossible.
    """

    name: str = "gap foam"
    squeeze_once: float = 0.5
    recovery: float = 0.5
    works: float = 0.10
    least_width: float = 9.525
    most_width: float = 38.1
    source: str = ASSUMED
    stretch: float | None = None
    cure: float = 0.0

    def __post_init__(self) -> None:
        for key, low, high in (("squeeze_once", 0, 0.95), ("recovery", -1e-12, 1), ("works", 0, 1)):
            if not low < getattr(self, key) <= high:
                raise ShrinkageError(
                    f"foam {key}: {100 * getattr(self, key):g} %; accepted: {max(low, 0):.0f} % to "
                    f"{100 * high:.0f} %"
                )
        if not 0 < self.stretches <= 1 or not -0.2 <= self.cure <= 0.2:
            raise ShrinkageError(
                f"foam stretch {100 * self.stretches:g} %, cure {100 * self.cure:g} %; accepted: "
                "stretch above 0 % up to 100 %, cure from -20 % to 20 %"
            )
        if min(self.closes, self.opens) <= 0:
            raise ShrinkageError(
                f"foam cure {100 * self.cure:g} %: curing alone takes all it can be squeezed by or "
                "stretched; accepted: less, or a foam that takes more"
            )
        if not 0 < self.least_width < self.most_width:
            raise ShrinkageError(
                f"foam widths {self.least_width:g} to {self.most_width:g} mm; "
                "accepted: the least above zero and below the most"
            )

    @property
    def stretches(self) -> float:
        """Stretch it takes, as a fraction of its thickness at rest [-]."""
        return self.works if self.stretch is None else self.stretch

    @property
    def closes(self) -> float:
        """Share of the gap that may close once, after what curing has taken up [-]."""
        if not self.cure:
            return self.squeeze_once
        return 1 - (1 - self.squeeze_once) * (1 + self.cure)

    @property
    def kept(self) -> float:
        """Thickness at rest over the gap, once what curing did has been crushed and given back [-].

        Foam that grew against the gap has crushed itself; foam that shrank is crushed by so much
        less.
        """
        return 1 + self.recovery * self.cure

    @property
    def opens(self) -> float:
        """Share of the gap by which it may open, after what curing has taken up [-]."""
        if not self.cure:
            return self.stretches
        thick = 1 + self.cure if self.cure < 0 else self.kept
        return (1 + self.stretches) * thick - 1

    def lost(self, closing: float) -> float:
        """Return what foam does not give back of a closing [mm]."""
        return (1 - self.recovery) * closing
