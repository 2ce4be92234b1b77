"""Stress for a strain: the sheet's curve, the cellular curve, their laws, what is refused."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from shrinkage.errors import ShrinkageError
from shrinkage.foam_stress import (
    POLYURETHANE,
    YIELD_STRAIN,
    Cellular,
    Curve,
    from_sheet,
    gibson_ashby,
)

SHEET = Curve((0.05, 0.10, 0.50, 0.70), (20.0, 25.0, 30.0, 80.0))
CELLS = from_sheet(20.0, 25.0)
QUADRATURE = 1e-8
"""Adaptive quadrature of a curve with its corners given."""


@pytest.mark.parametrize("material", [SHEET, CELLS, gibson_ashby(32.0, edges=0.8)])
class TestLaws:
    def test_no_strain_no_stress_no_energy(self, material):
        assert material.stress(0.0) == 0.0
        assert material.energy(0.0) == 0.0

    def test_stress_never_falls(self, material):
        stress = material.stress(np.linspace(0.0, material.limit - 1e-6, 500))
        assert (np.diff(stress) >= 0).all()

    @pytest.mark.parametrize("share", [0.02, 0.1, 0.45, 0.7, 0.95])
    def test_energy_is_the_curves_integral(self, material, share):
        to = share * material.limit
        corners = [*getattr(material, "strains", ())]
        corners += [getattr(material, name, 0.0) for name in ("yields", "onset")]
        points = [0.0, *sorted(c for c in set(corners) if 0 < c < to), to]
        total = sum(
            quad(lambda x: float(material.stress(x)), a, b, epsabs=1e-10, epsrel=1e-10)[0]
            for a, b in pairwise(points)
        )
        assert_allclose(material.energy(to), total, rtol=QUADRATURE)

    def test_arrays_are_their_scalars(self, material):
        strains = np.array([[-0.1, 0.0], [0.03, 0.6]])
        for make in (material.stress, material.energy):
            got = make(strains)
            assert got.shape == strains.shape
            assert_allclose(got.ravel(), [float(make(s)) for s in strains.ravel()])

    def test_pulled_straight_from_the_first_slope(self, material):
        assert_allclose(material.stress(-0.04), -0.04 * material.modulus)
        assert_allclose(material.energy(-0.04), material.modulus * 0.04**2 / 2)

    @pytest.mark.parametrize("strain", [0.99, 1.0, 1.5, -1.0, math.nan, math.inf])
    def test_what_it_cannot_be_squeezed_to_is_refused(self, material, strain):
        for make in (material.stress, material.energy):
            with pytest.raises(ShrinkageError, match=r"foam strain .* accepted: above -100 %"):
                make([0.1, strain])


def test_sheet_is_read_between_its_points():
    assert_allclose(SHEET.stress([0.025, 0.05, 0.10, 0.30, 0.70]), [10.0, 20.0, 25.0, 27.5, 80.0])
    assert_allclose(SHEET.energy(0.10), 0.05 * 20 / 2 + 0.05 * 22.5)
    assert_allclose(SHEET.modulus, 400.0)


def test_a_first_point_at_nought_changes_nothing():
    with_zero = Curve((0.0, *SHEET.strains), (0.0, *SHEET.stresses))
    strains = np.linspace(-0.2, 0.7, 40)
    assert_allclose(with_zero.stress(strains), SHEET.stress(strains))


def test_from_a_sheets_two_numbers():
    assert_allclose(CELLS.stress(0.10), 25.0)
    assert_allclose(CELLS.stress([0.01, 0.025]), [5.0, 12.5])
    assert_allclose(CELLS.yields, YIELD_STRAIN)
    stiff = from_sheet(20.0, 25.0, 1000.0)
    assert_allclose(stiff.stress([0.01, 0.025, 0.10]), [10.0, 25.0, 25.0])


@pytest.mark.parametrize(
    ("build", "named"),
    [
        (lambda: Curve((), ()), "curve: empty"),
        (lambda: Curve((0.1, 0.2), (1.0,)), "unequal length"),
        (lambda: Curve((0.2, 0.1), (1.0, 2.0)), "unsorted strains 20 %, 10 %"),
        (lambda: Curve((0.1, 0.1), (1.0, 2.0)), "unsorted strains"),
        (lambda: Curve((-0.1, 0.1), (1.0, 2.0)), "unsorted strains"),
        (lambda: Curve((0.1, 1.0), (1.0, 2.0)), "rising strain below 100 %"),
        (lambda: Curve((0.1, 0.2), (2.0, 1.0)), "stresses 2, 1 kPa"),
        (lambda: Curve((0.1, 0.2), (-1.0, 1.0)), "stress that does not fall"),
        (lambda: Curve((0.0, 0.2), (3.0, 4.0)), "0 at 0 %"),
        (lambda: Curve((0.0,), (0.0,)), "rising strain"),
        (lambda: Curve((0.1, 0.2), (0.0, 0.0)), "stresses 0, 0 kPa"),
        (lambda: Curve((0.1, math.nan), (1.0, 2.0)), "not a finite number"),
        (lambda: gibson_ashby(-5.0), r"foam density -5\.0 kg/m3; accepted: above 0"),
        (lambda: gibson_ashby(math.nan), "foam density nan"),
        (lambda: gibson_ashby(900.0), "below half of rigid polyurethane"),
        (lambda: gibson_ashby(30.0, edges=0.0), r"share in the edges 0\.0"),
        (lambda: from_sheet(20.0, -1.0), "foam modulus: -20"),
        (lambda: from_sheet(20.0, 25.0, 100.0), "10 % is not on its plateau"),
        (lambda: Cellular(10.0, 25.0, 0.9), "foam modulus 10 kPa: it would yield at 250 %"),
        (lambda: Cellular(500.0, 0.0, 0.9), r"foam plateau: 0\.0 kPa"),
        (lambda: Cellular(500.0, 25.0, 1.0), r"foam densification: 1\.0"),
    ],
)
def test_what_is_no_foam_is_named(build, named):
    with pytest.raises(ShrinkageError, match=named):
        build()


def test_lighter_foam_is_softer_and_squeezes_further():
    found = [gibson_ashby(density) for density in (10.0, 20.0, 40.0, 80.0)]
    for light, heavy in pairwise(found):
        assert light.plateau < heavy.plateau
        assert light.modulus < heavy.modulus
        assert light.densification > heavy.densification
    assert POLYURETHANE.basis == "memory"
