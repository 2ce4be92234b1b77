"""The weight of radial shrinkage against numerical integration, and the method's section table.

Source: the area mean of cos^2 phi over a rectangle, phi seen from the pith; mean strain equals mean
free strain in a body of uniform stiffness without load (elasticity, any textbook). Basis: derived
here, four ways: the package's closed form, the table worked out beforehand, adaptive quadrature,
and a dense midpoint sum.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import dblquad

from shrinkage.section import radial_weight

SOURCE = "Weight of R in the width, by numerical integration"
BASIS = "derived"
TABLE = [
    # W, H, pith x, pith y, weight of R in the width
    (8, 8, 0, 0, 0.5000),  # boxed heart: the mean of R and T
    (8, 12, 0, 0, 0.3866),
    (12, 8, 0, 0, 0.6134),
    (8, 8, 4, 0, 0.6869),  # pith on a side face
    (8, 8, 4, 4, 0.5000),  # pith on a corner
    (8, 8, 0, -5, 0.2183),  # free of heart
    (8, 8, 0, -20, 0.0135),  # nearly flat-sawn
    (6, 10, 2, -7, 0.1505),
]
PRINTED = 5.1e-5
"""Half the last digit of the table."""
QUADRATURE = 1e-7
"""The error asked of scipy's adaptive rule, whose subregions meet at the pith."""
MIDPOINT = 2e-5
"""A 1000 x 1000 midpoint sum; the jump of the integrand at the pith costs the most."""


def cos2(x: float, y: float) -> float:
    return x * x / (x * x + y * y) if x or y else 0.5


def by_quadrature(w: float, h: float, xp: float, yp: float) -> float:
    """Integrate in the four rectangles that meet at the pith, or at its nearest point."""
    x_cut, y_cut = (min(max(p, -s / 2), s / 2) for p, s in ((xp, w), (yp, h)))
    total = 0.0
    for x0, x1 in ((-w / 2, x_cut), (x_cut, w / 2)):
        for y0, y1 in ((-h / 2, y_cut), (y_cut, h / 2)):
            if x1 > x0 and y1 > y0:
                total += dblquad(
                    lambda y, x: cos2(x - xp, y - yp), x0, x1, y0, y1, epsabs=1e-8, epsrel=1e-8
                )[0]
    return total / (w * h)


def by_midpoint(w: float, h: float, xp: float, yp: float, n: int = 1000) -> float:
    x = ((np.arange(n) + 0.5) / n - 0.5)[:, None] * w - xp
    y = ((np.arange(n) + 0.5) / n - 0.5)[None, :] * h - yp
    return float((x**2 / (x**2 + y**2)).mean())


@pytest.mark.parametrize(("w", "h", "xp", "yp", "weight"), TABLE)
def test_section_table(w, h, xp, yp, weight, record):
    record("table worked out beforehand", weight, radial_weight(w, h, xp, yp), "", PRINTED,
           case=f"{w} x {h}, pith ({xp}, {yp})")  # fmt: skip


@pytest.mark.parametrize(("w", "h", "xp", "yp", "weight"), TABLE)
def test_adaptive_quadrature(w, h, xp, yp, weight, record):
    found = by_quadrature(w, h, xp, yp)
    assert_allclose(found, weight, rtol=0, atol=PRINTED)
    record("adaptive quadrature", found, radial_weight(w, h, xp, yp), "", QUADRATURE,
           case=f"{w} x {h}, pith ({xp}, {yp})")  # fmt: skip


@pytest.mark.parametrize(
    ("w", "h", "xp", "yp"),
    [row[:4] for row in TABLE]
    + [(1, 30, 0.3, 2), (200, 300, -140, 90), (5, 5, 2.5, 1), (7, 3, 50, -20), (4, 4, 30, 30)],
)
def test_midpoint_sum(w, h, xp, yp):
    found = by_midpoint(w, h, xp, yp)
    assert_allclose(radial_weight(w, h, xp, yp), found, rtol=0, atol=MIDPOINT)


def test_boxed_square_is_half_exactly(record):
    record("boxed square, by symmetry", 0.5, radial_weight(8, 8, 0, 0), "", 1e-15)


def test_random_sections_by_midpoint():
    """Fifty sections drawn at random, pith inside and out."""
    random = np.random.default_rng(20)
    w, h = random.uniform(1, 12, (2, 50))
    xp, yp = random.uniform(-15, 15, (2, 50))
    found = [by_midpoint(*section, n=400) for section in zip(w, h, xp, yp, strict=True)]
    assert_allclose(radial_weight(w, h, xp, yp), found, rtol=0, atol=1e-4)  # 400: coarser grid
