"""Strengths of polystyrene panel cores as reference points for the cellular-solid curve.

Source: ASTM C578, least compressive resistance at yield or 10 % and least density by type, from
memory (basis: memory in every row). They are least values a type must reach, not means, so that
only orders and exponents are asserted.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.foam_stress import POLYSTYRENE, core_types, from_sheet, gibson_ashby
from shrinkage.units import load

SOURCE = "ASTM C578, strengths of foam core types"
BASIS = "memory"
PSI = {"XI": 5, "I": 10, "VIII": 13, "II": 15, "IX": 25, "X": 15, "IV": 25, "VI": 40, "VII": 60,
       "V": 100}  # fmt: skip
"""Written down apart from the package's table, in the units the standard leads with for trade."""
EXPANDED = ("I", "VIII", "II", "IX")
WHOLE_KPA = 1.1
"""[kPa] The metric values are rounded to whole kPa, some from 15.1 psi rather than 15."""


def test_table_says_where_it_is_from():
    assert {core.name for core in core_types()} == set(PSI)
    assert {core.basis for core in core_types()} == {"memory"}


@pytest.mark.parametrize("core", core_types(), ids=lambda core: core.name)
def test_strengths_in_both_units(core, record):
    there = load(f"{PSI[core.name]} psi", "pressure")
    record("least strength at 10 %, psi beside kPa", there, core.stress_at_10, "kPa", WHOLE_KPA,
           case=f"type {core.name}")  # fmt: skip


def _exponent(names) -> float:
    chosen = [core for core in core_types() if core.name in names]
    logs = np.log([[core.density, core.stress_at_10] for core in chosen])
    return float(np.polyfit(logs[:, 0], logs[:, 1], 1)[0])


def test_strength_rises_with_density_as_closed_cells_do(record):
    """Between 1 (cell faces) and 1.5 (cell edges) for expanded types."""
    record("exponent of strength in density, expanded types", (1.0, 1.5), _exponent(EXPANDED), "",
           0.0)  # fmt: skip


@pytest.mark.parametrize("core", core_types(), ids=lambda core: core.name)
def test_types_lie_between_half_and_all_of_the_solid_in_the_edges(core):
    """Within a factor of two of the open-cell form below and phi = 0.5 above."""
    low = gibson_ashby(core.density, POLYSTYRENE, edges=1.0).plateau
    high = gibson_ashby(core.density, POLYSTYRENE, edges=0.5).plateau
    assert 0.5 * low < core.stress_at_10 < 2.0 * high


@pytest.mark.parametrize("core", core_types(), ids=lambda core: core.name)
def test_a_curve_goes_through_its_type(core):
    assert_allclose(from_sheet(core.density, core.stress_at_10).stress(0.10), core.stress_at_10)
