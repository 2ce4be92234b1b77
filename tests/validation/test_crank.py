"""Crank, The Mathematics of Diffusion (2nd ed. 1975), ch. 4: the plane sheet (from memory).

Siau's D is constant above 30 % moisture, so wood that dries from 60 to 30 % obeys the linear
equation Crank solves and the solver is checked through its public face, with nothing replaced.
Tolerances are parts of the whole change; the grid is the default one unless a test refines it.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from shrinkage.diffusion import diffusivity
from shrinkage.drying import Settings, air, dry, sections

SOURCE = "Crank, The Mathematics of Diffusion, 2nd ed. 1975, ch. 4"
BASIS = "memory"
GRAVITY, TEMP, THICK = 0.45, 20.0, 50.0
D = float(diffusivity(30.0, TEMP, GRAVITY))
AIR = air(0.0, 30.0, TEMP)
FOURIER = np.array([0.01, 0.05, 0.1, 0.2, 0.5, 1.0])  # D t / l^2 with l half the thickness
DAYS = FOURIER * (0.5e-3 * THICK) ** 2 / D / 86400.0
TOLERANCE = 4e-3  # at the first date the change reaches only 5 mm, three cells, into the sheet
FINE = Settings(cells=48, first_cell=0.25, first_step=1e-3, max_step=0.25, growth=1.05)
TOLERANCE_FINE = 4e-4


def fixed_surface(fourier):
    """Crank Eq. 4.18: water left of a sheet whose faces are held at the end value."""
    odd = 2 * np.arange(200)[:, None] + 1
    return (8 / (odd * np.pi) ** 2 * np.exp(-((odd * np.pi / 2) ** 2) * fourier)).sum(axis=0)


def surface_evaporation(fourier, biot):
    """Crank Eq. 4.53: water left when flow through the face is in proportion to the excess."""
    beta = np.array(
        [
            brentq(lambda b: b * np.sin(b) - biot * np.cos(b), n * np.pi, (n + 0.5) * np.pi)
            for n in range(200)
        ]
    )[:, None]
    terms = 2 * biot**2 / (beta**2 * (beta**2 + biot**2 + biot))
    return (terms * np.exp(-(beta**2) * fourier)).sum(axis=0)


def left(timbers, days=DAYS, **options):
    return (dry(timbers, AIR, 60.0, days, **options).mean - 30.0) / 30.0


def sheet(faces=("left", "right"), thick=THICK, **options):
    return sections(thick, 80.0, GRAVITY, faces, **options)


def grid(settings):
    return "fine grid" if settings == FINE else "default grid"


def compare(record, quantity, series, found, atol, which=""):
    """Record the share of the whole change that is left, at each date."""
    assert len(series) == len(found) == len(FOURIER)
    for fourier, there, here in zip(FOURIER, series, found, strict=True):
        record(quantity, there, here, "share", atol, case=f"{which}D t/l2 {fourier:g}")


@pytest.mark.parametrize(("settings", "atol"), [(Settings(), TOLERANCE), (FINE, TOLERANCE_FINE)])
def test_fixed_surface(settings, atol, record):
    found = left(sheet(emission=np.inf), settings=settings)
    compare(record, f"water left, fixed surface (Eq. 4.18), {grid(settings)}",
            fixed_surface(FOURIER), found[0], atol)  # fmt: skip


@pytest.mark.parametrize("biot", [0.5, 5.0, 50.0])
@pytest.mark.parametrize(("settings", "atol"), [(Settings(), TOLERANCE), (FINE, TOLERANCE_FINE)])
def test_surface_evaporation(biot, settings, atol, record):
    k = biot * D / (0.5e-3 * THICK)
    found = left(sheet(emission=k), settings=settings)
    compare(record, f"water left, surface evaporation (Eq. 4.53), {grid(settings)}",
            surface_evaporation(FOURIER, biot), found[0], atol, f"k l/D {biot:g}, ")  # fmt: skip


def test_surface_moisture_with_evaporation(record):
    """The face's own moisture, Crank Eq. 4.50 at x = l."""
    biot, k = 5.0, 5.0 * D / (0.5e-3 * THICK)
    beta = np.array(
        [
            brentq(lambda b: b * np.sin(b) - biot * np.cos(b), n * np.pi, (n + 0.5) * np.pi)
            for n in range(200)
        ]
    )[:, None]
    series = (2 * biot / (beta**2 + biot**2 + biot) * np.exp(-(beta**2) * FOURIER)).sum(axis=0)
    found = dry(sheet(emission=k), AIR, 60.0, DAYS, settings=FINE).surface[0]
    compare(record, "excess at the face (Eq. 4.50 at x = l)", series, (found - 30.0) / 30.0, 1e-3)


def test_square_is_product_of_two_sheets(record):
    found = left(sections(THICK, THICK, GRAVITY, emission=np.inf), settings=FINE)
    compare(record, "water left in a square, product of two sheets, fine grid",
            fixed_surface(FOURIER) ** 2, found[0], TOLERANCE_FINE)  # fmt: skip


def test_unequal_sides_are_product_of_two_sheets(record):
    found = left(sections(THICK, 2 * THICK, GRAVITY, emission=np.inf))
    product = fixed_surface(FOURIER) * fixed_surface(FOURIER / 4)
    compare(record, "water left in 1 by 2, product of two sheets, default grid",
            product, found[0], TOLERANCE)  # fmt: skip


@pytest.mark.parametrize("face", ["left", "right"])
@pytest.mark.parametrize("emission", [2e-7, np.inf])
def test_covered_face_is_half_of_double_thickness(face, emission):
    one = left(sheet((face,), emission=emission), settings=FINE)
    two = left(sheet(thick=2 * THICK, emission=emission), settings=FINE)
    np.testing.assert_allclose(one, two, rtol=0, atol=TOLERANCE_FINE)
    np.testing.assert_allclose(left(sheet((face,), emission=emission)), one, atol=TOLERANCE)
