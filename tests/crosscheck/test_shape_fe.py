"""The rule "mean strain = mean free strain" against plane-stress finite elements.

Source: scikit-fem, an independent finite element library; quadratic triangles, the free strain
``-(S_R e_r e_r + S_T e_t e_t)`` about the pith as eigenstrain, no load, rigid motion taken out.
Two stiffnesses: uniform and isotropic, for which the rule is a theorem and the elements must give
it but for quadrature; and that of a softwood, orthotropic about the pith, for which they price it.

Ratios of elastic constants: Wood Handbook, FPL-GTR-190, Tables 5-1 and 5-2. Basis: memory, not
compared with the printed page.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.shape import Section, dry, mean_strain
from shrinkage.shape_dimensions import dimensions

skfem = pytest.importorskip("skfem")

from skfem.helpers import sym_grad  # noqa: E402

S_R, S_T = 0.048, 0.076
"""Douglas-fir, coast, green to oven-dry; the answer is linear in both."""
OF_THE_MOVEMENT = 0.005
"""Quadrature where the free strain turns about the pith; the rule itself is exact."""
POINTWISE = 0.005
"""Elements of a 24th of a side; the extremes stand between nodes."""
PRICE = 0.0005
"""Change from 20 to 80 elements a side: 0.0001."""
SECTIONS = {
    "boxed square": Section(200.0, 200.0),
    "boxed, off centre": Section(200.0, 300.0, 30.0, -50.0),
    "pith on a side": Section(200.0, 200.0, 100.0, 0.0),
    "pith on a corner": Section(200.0, 200.0, 100.0, 100.0),
    "free of heart": Section(200.0, 200.0, 0.0, -125.0),
    "slanting": Section(150.0, 250.0, 50.0, -175.0),
    "flat-sawn board": Section(200.0, 40.0, 0.0, -60.0),
}
# E_R/E_L, E_T/E_L, G_RT/E_L, Poisson's ratio RT. From memory of Tables 5-1 and 5-2.
DOUGLAS_FIR = (0.068, 0.050, 0.007, 0.390)
SITKA_SPRUCE = (0.078, 0.043, 0.003, 0.435)
ISOTROPIC = (1.0, 1.0, 1.0 / 2.6, 0.3)


def mesh_of(section: Section, cells: int) -> skfem.MeshTri:
    """Triangles with grid lines through the pith, so that it never lies inside one."""
    lines = []
    for size, pith in ((section.width, section.pith_x), (section.depth, section.pith_y)):
        ends = [-size / 2, size / 2]
        if abs(pith) < size / 2:
            ends.insert(1, pith)
        counts = [max(2, round(cells * (b - a) / size)) for a, b in pairwise(ends)]
        parts = [np.linspace(a, b, n + 1) for (a, b), n in zip(pairwise(ends), counts, strict=True)]
        lines.append(np.unique(np.concatenate(parts)))
    return skfem.MeshTri.init_tensor(*lines)


def solve(section: Section, ratios: tuple[float, float, float, float], cells: int = 24):
    """Return mean shrinkage of width and depth, and along the faces that of each pair of points."""
    e_r, e_t, g, nu_rt = ratios
    nu_tr = nu_rt * e_t / e_r
    c_rr, c_tt = e_r / (1 - nu_rt * nu_tr), e_t / (1 - nu_rt * nu_tr)
    c_rt = nu_rt * c_tt
    basis = skfem.Basis(mesh_of(section, cells), skfem.ElementVector(skfem.ElementTriP2()),
                        intorder=8)  # fmt: skip

    def in_rings(strain, x):
        """Turn a strain to the ring directions: radial, tangential, engineering shear."""
        phi = np.arctan2(x[1] - section.pith_y, x[0] - section.pith_x)
        c, s = np.cos(phi), np.sin(phi)
        xx, yy, xy = strain[0, 0], strain[1, 1], strain[0, 1]
        return (c * c * xx + s * s * yy + 2 * s * c * xy, s * s * xx + c * c * yy - 2 * s * c * xy,
                2 * (s * c * (yy - xx) + (c * c - s * s) * xy))  # fmt: skip

    @skfem.BilinearForm
    def stiffness(u, v, w):
        r, t, shear = in_rings(sym_grad(u), w.x)
        vr, vt, vshear = in_rings(sym_grad(v), w.x)
        return (c_rr * r + c_rt * t) * vr + (c_rt * r + c_tt * t) * vt + g * shear * vshear

    @skfem.LinearForm
    def drying(v, w):
        vr, vt, _ = in_rings(sym_grad(v), w.x)
        return -(c_rr * S_R + c_rt * S_T) * vr - (c_rt * S_R + c_tt * S_T) * vt

    places = basis.doflocs
    corner = np.flatnonzero(np.isclose(places[0], -section.width / 2)
                            & np.isclose(places[1], -section.depth / 2))  # fmt: skip
    other = np.flatnonzero(np.isclose(places[0], section.width / 2)
                           & np.isclose(places[1], -section.depth / 2))  # fmt: skip
    # Three holds and no more: both ways at one corner, upright at the next.
    held = np.concatenate([corner, other[-1:]])
    u = skfem.solve(*skfem.condense(stiffness.assemble(basis), drying.assemble(basis), D=held))
    return faces_of(basis, u, section)


def faces_of(basis, u, section: Section):
    """Return the mean shrinkage face to face, and that between points that stood opposite."""
    means, losses = [], []
    for axis, size in ((0, section.width), (1, section.depth)):
        sums, lines = [], []
        for sign in (1, -1):
            facets = basis.mesh.facets_satisfying(
                lambda x, a=axis, s=sign, d=size: np.isclose(x[a], s * d / 2)
            )
            edge = skfem.FacetBasis(basis.mesh, basis.elem, facets=facets)
            mean = skfem.Functional(lambda w, a=axis: w["u"][a]).assemble(edge, u=u)
            sums.append(mean / skfem.Functional(lambda w: 1.0 + 0 * w.x[0]).assemble(edge))
            dofs = basis.get_dofs(facets).all()[axis::2]
            places = basis.doflocs[1 - axis, dofs]
            lines.append(u[dofs][np.argsort(places)])
        means.append(-(sums[0] - sums[1]) / size)
        losses.append(-(lines[0] - lines[1]) / size)
    return means, losses


@pytest.mark.parametrize("name", SECTIONS)
def test_uniform_stiffness_moves_by_the_area_average(name):
    means, _ = solve(SECTIONS[name], ISOTROPIC)
    assert_allclose(means, mean_strain(SECTIONS[name], S_R, S_T)[:2], rtol=OF_THE_MOVEMENT)


@pytest.mark.parametrize("ratios", [DOUGLAS_FIR, SITKA_SPRUCE], ids=["douglas-fir", "sitka"])
@pytest.mark.parametrize("name", [n for n, section in SECTIONS.items() if not section.boxed])
def test_with_the_pith_outside_stiffness_does_not_matter(name, ratios):
    """The free strain is compatible: no stress, so no stiffness enters."""
    means, _ = solve(SECTIONS[name], ratios)
    assert_allclose(means, mean_strain(SECTIONS[name], S_R, S_T)[:2], rtol=OF_THE_MOVEMENT)


@pytest.mark.parametrize("name", [n for n, section in SECTIONS.items() if not section.boxed])
def test_points_on_the_faces_follow_the_map(name):
    """Not the mean only: the least and greatest width and depth, to first order in S."""
    section, tiny = SECTIONS[name], 1e-4
    found = dimensions(dry(section, S_R * tiny, S_T * tiny))
    _, losses = solve(section, ISOTROPIC)
    for span, lost in zip((found.width, found.depth), losses, strict=True):
        by_map = (1 - np.array([span.greatest, span.least]) / span.before) / tiny
        assert_allclose([lost.min(), lost.max()], by_map, rtol=POINTWISE)


@pytest.mark.parametrize(
    ("ratios", "price"), [(DOUGLAS_FIR, 0.0150), (SITKA_SPRUCE, 0.0285)], ids=["d-fir", "sitka"]
)
def test_price_of_the_rule_in_a_boxed_square(ratios, price):
    """A softwood's own stiffness: the boxed heart shrinks less than the rule says, by this much."""
    section = SECTIONS["boxed square"]
    means, _ = solve(section, ratios)
    ratio = np.array(means) / np.array(mean_strain(section, S_R, S_T)[:2])
    assert_allclose(1 - ratio, price, atol=PRICE)


@pytest.mark.parametrize("ratios", [DOUGLAS_FIR, SITKA_SPRUCE], ids=["douglas-fir", "sitka"])
def test_the_rule_is_on_the_safe_side_off_centre(ratios):
    section = SECTIONS["boxed, off centre"]
    means, _ = solve(section, ratios)
    ratio = np.array(means) / np.array(mean_strain(section, S_R, S_T)[:2])
    assert ((ratio < 1) & (ratio > 0.965)).all()
