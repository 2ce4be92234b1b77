"""What the property tests draw: any wood of the tables, any section, pith, moisture and air."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from shrinkage.climate import AirYear
from shrinkage.section import HEART_KINDS, Heart
from shrinkage.species import woods
from shrinkage.timber import Timber

WOODS = sorted((wood for wood in woods().values() if wood.s_t is not None), key=lambda w: w.name)

species = st.sampled_from(WOODS)
sizes = st.floats(10.0, 1500.0)
"""Width or depth of a section [mm]."""
moistures = st.floats(0.0, 150.0)
"""[%]"""
hearts = st.one_of(
    st.sampled_from(HEART_KINDS).map(Heart),
    st.builds(Heart, st.just("pith"), st.floats(-3000, 3000), st.floats(-3000, 3000)),
)
pitches = st.floats(0.0, 1.48)
"""From level to the steepest accepted [rad]."""


def air(low: float, high: float) -> AirYear:
    """Return a year of air between two moistures, driest in January [%]."""
    share = (1 - np.cos(2 * np.pi * np.arange(12) / 12)) / 2
    return AirYear("drawn", low + (high - low) * share, "drawn for a test")


@st.composite
def airs(draw: st.DrawFn) -> AirYear:
    low = draw(st.floats(2.0, 20.0))
    return air(low, low + draw(st.floats(0.0, 10.0)))


@st.composite
def timbers(draw: st.DrawFn, role: str = "plate") -> Timber:
    """Draw a timber that is as wet as its driest month or wetter."""
    wood, around = draw(species), draw(airs())
    moisture = draw(st.floats(around.low, min(wood.most_moisture, 150.0)))
    return Timber(role, wood, draw(sizes), draw(sizes), draw(hearts), moisture, around,
                  draw(st.floats(0.5, 1.0)))  # fmt: skip
