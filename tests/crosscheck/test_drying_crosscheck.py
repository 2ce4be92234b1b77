"""The drying solver against other people's integrators of the same equations.

Siau's model, the series of the air and the boundary condition are written out again here, on grids
of their own; nothing is taken from the package but the answer under test. Agreement asked for: 0.1
percentage point of moisture and 0.5 % of the whole movement.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.sparse import diags, eye, kron

from shrinkage.drying import Settings, air, dry, sections

W, H, GRAVITY, K, START, FSP = 60.0, 90.0, 0.45, 2e-7, 60.0, 30.0  # mm, mm, -, m/s, %, %
DAY = 86400.0
DATES = np.array([10.0, 40.0, 120.0])
MOISTURE, MOVEMENT = 0.1, 0.005
SETTINGS = Settings(max_step=2.0)


def emc(days):
    return 12.0 + 3.0 * np.cos(2 * np.pi * days / 365)


def celsius(days):
    return 10.0 - 12.0 * np.cos(2 * np.pi * days / 365)


def siau(m, days):
    m = np.minimum(m, 30.0)
    void = 1 - GRAVITY * (0.667 + 0.01 * m)
    wall = 7e-6 * np.exp(-(38500 - 290 * m) / (8.314 * (celsius(days) + 273.15)))
    return wall / ((1 - void) * (1 - np.sqrt(void)))


@pytest.fixture(scope="module")
def ours():
    days = np.arange(0.0, 121.0)
    timbers = sections(W, H, GRAVITY, ("left", "right", "bottom"), emission=K)
    return dry(timbers, air(days, emc(days), celsius(days)), START, DATES, settings=SETTINGS)


def assert_agrees(ours, mean, dried):
    n = len(mean)
    np.testing.assert_allclose(ours.mean[0, :n], mean, rtol=0, atol=MOISTURE)
    scale = 1.0 - emc(DATES[-1]) / FSP  # the movement when all has come to the air
    np.testing.assert_allclose(ours.dried[0, :n], dried, rtol=0, atol=MOVEMENT * scale)


def test_solve_ivp_bdf(ours):
    """Method of lines on an even grid of half the section, stiff integrator, sparse Jacobian."""
    nx, ny = 24, 60
    dx, dy = 0.5e-3 * W / nx, 1e-3 * H / ny

    def between(m, days, axis):  # D at the mean moisture of two cells: not our rule
        lower, upper = np.moveaxis(m, axis, 0)[:-1], np.moveaxis(m, axis, 0)[1:]
        return np.moveaxis(siau(0.5 * (lower + upper), days) * (upper - lower), 0, axis)

    def open_face(cell, days, size):
        surface = emc(days)  # found by a few rounds of flow in = flow out
        for _ in range(4):
            through = siau(0.5 * (cell + surface), days) / (0.5 * size)
            surface = (through * cell + K * emc(days)) / (through + K)
        return K * (surface - emc(days))

    def rate(seconds, flat):
        days, m = seconds / DAY, flat.reshape(nx, ny)
        flow_x, flow_y = np.zeros((nx + 1, ny)), np.zeros((nx, ny + 1))
        flow_x[1:-1] = -between(m, days, 0) / dx
        flow_y[:, 1:-1] = -between(m, days, 1) / dy
        flow_x[0] = -open_face(m[0], days, dx)
        flow_y[:, 0] = -open_face(m[:, 0], days, dy)
        return -(np.diff(flow_x, axis=0) / dx + np.diff(flow_y, axis=1) / dy).ravel()

    band_x, band_y = (diags([1.0, 1.0, 1.0], [-1, 0, 1], shape=(n, n)) for n in (nx, ny))
    pattern = kron(band_x, eye(ny)) + kron(eye(nx), band_y)
    out = solve_ivp(rate, (0, DATES[-1] * DAY), np.full(nx * ny, START), "BDF",
                    t_eval=DATES * DAY, rtol=1e-5, atol=1e-4, jac_sparsity=pattern)  # fmt: skip
    assert out.success
    assert_agrees(ours, out.y.mean(axis=0), np.maximum(0, 1 - out.y / FSP).mean(axis=0))


def test_fipy(ours):
    """FiPy, unstructured finite volumes, backward Euler in small steps with two sweeps each."""
    fipy = pytest.importorskip("fipy")
    half = 0.5e-3 * W * np.diff(np.linspace(0, 1, 29) ** 1.5)
    end = 0.5e-3 * H * np.diff(np.linspace(0, 1, 29) ** 1.5)
    mesh = fipy.Grid2D(dx=half, dy=np.concatenate([end, end[::-1]]))
    m = fipy.CellVariable(mesh=mesh, value=START, hasOld=True)
    d = fipy.FaceVariable(mesh=mesh, value=0.0)
    k = fipy.FaceVariable(mesh=mesh, value=0.0)
    level = fipy.Variable(value=12.0)
    exterior = (mesh.facesLeft | mesh.facesBottom).value
    half_cell = mesh._cellDistances
    normal = mesh.faceNormals
    equation = fipy.TransientTerm() == (
        fipy.DiffusionTerm(coeff=d)
        - fipy.ImplicitSourceTerm(coeff=(k * normal).divergence)
        + (k * level * normal).divergence
    )
    volume = mesh.cellVolumes / mesh.cellVolumes.sum()
    found, days, step = [], 0.0, 0.02
    for date in DATES[:1]:  # backward Euler is first order: short steps, so few days
        while days < date - 1e-9:
            length = min(step, date - days)
            middle = days + 0.5 * length
            m.updateOld()
            level.setValue(emc(days + length))
            for _ in range(2):
                inner = siau(m.arithmeticFaceValue.value, middle)
                mine = siau(0.5 * (m.faceValue.value + emc(middle)), middle)
                d.setValue(np.where(mesh.exteriorFaces.value, 0.0, inner))
                k.setValue(np.where(exterior, 1 / (1 / K + half_cell / mine), 0.0))
                equation.sweep(m, dt=length * DAY)
            days, step = days + length, min(1.03 * step, 0.3)
        found.append([volume @ m.value, volume @ np.maximum(0, 1 - m.value / FSP)])
    assert_agrees(ours, *np.array(found).T)


def test_scikit_fem(ours):
    """scikit-fem, bilinear elements, Crank-Nicolson with three rounds on D: no volumes, no flow."""
    skfem = pytest.importorskip("skfem")
    graded = np.linspace(0, 1, 17) ** 1.5
    x, y = 0.5e-3 * W * graded, 0.5e-3 * H * graded
    mesh = skfem.MeshQuad.init_tensor(x, np.concatenate([y, (1e-3 * H - y[::-1])[1:]]))
    basis = skfem.Basis(mesh, skfem.ElementQuad1())
    faces = mesh.facets_satisfying(lambda p: (p[0] < 1e-9) | (p[1] < 1e-9))
    boundary = skfem.FacetBasis(mesh, skfem.ElementQuad1(), facets=faces)

    @skfem.BilinearForm
    def mass(u, v, w):
        return u * v

    @skfem.BilinearForm
    def stiffness(u, v, w):
        return siau(w["m"], w["days"]) * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1])

    @skfem.LinearForm
    def unit(v, w):
        return 1.0 * v

    inside, edge, load = mass.assemble(basis), mass.assemble(boundary), unit.assemble(boundary)
    m, found, days, step = np.full(basis.N, START), [], 0.0, 0.01
    for date in DATES:
        while days < date - 1e-9:
            length = min(step, date - days)
            middle, dt, new = days + 0.5 * length, length * DAY, m
            for _ in range(3):
                field = basis.interpolate(0.5 * (m + new))
                operator = stiffness.assemble(basis, m=field, days=middle) + K * edge
                right = (inside - 0.5 * dt * operator) @ m + dt * K * emc(middle) * load
                new = skfem.solve(inside + 0.5 * dt * operator, right)
            m, days, step = new, days + length, min(1.1 * step, 1.0)
        points, weight = np.asarray(basis.interpolate(m)), basis.dx / basis.dx.sum()
        found.append([(weight * points).sum(), (weight * np.maximum(0, 1 - points / FSP)).sum()])
    assert_agrees(ours, *np.array(found).T)
