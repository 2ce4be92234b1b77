"""The cellular-solid curve against the limits Gibson and Ashby give it.

Source: L. J. Gibson, M. F. Ashby, Cellular Solids (2nd ed., 1997), ch. 5. Every equation and
constant here is from memory (basis: memory), written out by hand and not taken from the package.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.foam_stress import gibson_ashby

SOURCE = "Gibson and Ashby, Cellular Solids, 2nd ed. 1997, ch. 5"
BASIS = "memory"
RHO_S, E_S, SIGMA_YS = 1200.0, 1.6e6, 1.27e5
"""Rigid polyurethane: 1200 kg/m3, 1.6 GPa, 127 MPa."""
DENSITIES = [8.0, 20.0, 32.0, 60.0, 120.0]


@pytest.mark.parametrize("density", DENSITIES)
def test_linear_slope(density, record):
    """E / E_s = (rho/rho_s)^2 for open cells."""
    small = 1e-4
    slope = gibson_ashby(density).stress(small) / small
    there = E_S * (density / RHO_S) ** 2
    record("first slope, open cells", there, slope, "kPa", 1e-7 * there, case=f"{density:g} kg/m3")


@pytest.mark.parametrize("density", DENSITIES)
def test_plateau(density, record):
    """sigma_pl / sigma_ys = 0.3 (rho/rho_s)^1.5 for open cells, flat until it densifies."""
    found = gibson_ashby(density)
    flat = found.stress(np.linspace(found.yields, found.onset, 9))
    there = 0.3 * SIGMA_YS * (density / RHO_S) ** 1.5
    assert_allclose(flat, there)
    record("plateau, open cells", there, flat[4], "kPa", 1e-7 * there, case=f"{density:g} kg/m3")


@pytest.mark.parametrize("density", DENSITIES)
def test_densification(density, record):
    """No bound at eps_D = 1 - 1.4 rho/rho_s: sigma (eps_D - eps) tends to sigma_pl eps_D / 2.3."""
    found, ends = gibson_ashby(density), 1 - 1.4 * density / RHO_S
    record("strain at which it is solid", ends, found.limit, "", 1e-7 * ends,
           case=f"{density:g} kg/m3")  # fmt: skip
    for near in (1e-3, 1e-6):
        stress = float(found.stress(ends - near))
        assert_allclose(stress * near, found.plateau * ends / 2.3, rtol=1e-6)
    assert found.stress(ends - 1e-9) > 1e6 * found.plateau


def test_curve_has_no_step_where_densification_sets_in():
    found = gibson_ashby(32.0)
    below, above = found.stress([found.onset - 1e-9, found.onset + 1e-9])
    assert_allclose(above, below, rtol=1e-6)


def test_closed_cells_add_what_their_faces_carry():
    """E / E_s = (phi R)^2 + (1 - phi) R; sigma / sigma_ys = 0.3 (phi R)^1.5 + 0.4 (1 - phi) R."""
    r, phi = 32.0 / RHO_S, 0.8
    found = gibson_ashby(32.0, edges=phi)
    assert_allclose(found.modulus, E_S * ((phi * r) ** 2 + (1 - phi) * r))
    assert_allclose(found.plateau, SIGMA_YS * (0.3 * (phi * r) ** 1.5 + 0.4 * (1 - phi) * r))


def test_order_of_a_two_pound_closed_cell_foam(record):
    """Some 20 to 25 psi at 10 % (trade, from memory): from the density alone, 165.9 kPa, 24 psi."""
    assert 0.7 * 138 < gibson_ashby(32.0).stress(0.10) < 1.3 * 172
    record("plateau of 32 kg/m3, open cells, worked by hand", 165.9, gibson_ashby(32.0).plateau,
           "kPa", 0.05)  # fmt: skip
