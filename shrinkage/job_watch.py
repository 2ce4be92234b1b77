"""The job file's `[watch]`: how later readings are taken. Without it the defaults here hold."""

from __future__ import annotations

from shrinkage.job_fields import LengthOrZero, Spec


class WatchSpec(Spec):
    """What a reading shares with others of its place."""

    pins: LengthOrZero = 7.9375
    sawn: LengthOrZero = 3.175
