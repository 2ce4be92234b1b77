"""Time and memory of the drying solver, side by side with general integrators on the same grid.

Run from the root: ``python benchmarks/bench_drying.py [--quick] [--save]`` (fipy and scipy
installed). It prints one markdown table; docs/benchmarks.md shows such runs.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import diags, eye, kron
from speed_page import Sheet

from shrinkage.diffusion import diffusivity
from shrinkage.drying import DEFAULT, SLIDER, Settings, air, dry, sections, uniform_field

SIDE, GRAVITY, K, START, FSP = 203.2, 0.45, 2e-7, 80.0, 30.0  # 8 in
THREE = ("left", "right", "bottom")
DAY, YEAR = 86400.0, 365.0


def emc(days):
    return 12.0 + 3.0 * np.cos(2 * np.pi * days / YEAR)


def celsius(days):
    return 10.0 - 12.0 * np.cos(2 * np.pi * days / YEAR)


def seasons():
    days = np.arange(0.0, YEAR, 5.0)
    return air(days, emc(days), celsius(days), repeat_year=True)


def timed(call, repeats=3):
    best = np.inf
    for _ in range(repeats):
        begin = time.perf_counter()
        answer = call()
        best = min(best, time.perf_counter() - begin)
    return answer, best


def eight_by_eight(dates, settings=DEFAULT):
    timbers, series = sections(SIDE, SIDE, GRAVITY, THREE, emission=K), seasons()
    out, seconds = timed(lambda: dry(timbers, series, START, dates, settings=settings))
    return out.mean[0], out.dried[0], seconds


def grid():
    state = uniform_field(sections(SIDE, SIDE, GRAVITY), START)
    return state.cell_x[0, :16] * 1e-3, state.cell_y[0] * 1e-3


def conductances(m, days, axis, size, open_ends):
    """Wall and face conductances by the rules of the solver, written for one section."""
    m = np.moveaxis(m, axis, 0)
    d = diffusivity(m, celsius(days), GRAVITY)
    walls = (d[1:] + d[:-1]) / (size[1:] + size[:-1])[:, None]
    ends = []
    for cell, length, is_open in zip((m[0], m[-1]), (size[0], size[-1]), open_ends, strict=True):
        face = np.full_like(cell, emc(days))
        inner = diffusivity(cell, celsius(days), GRAVITY)
        for _ in range(3):
            mean = 0.5 * (inner + diffusivity(face, celsius(days), GRAVITY))
            g = mean / (0.5 * length + mean / K)
            face = emc(days) + g / K * (cell - emc(days))
        ends.append(g if is_open else np.zeros_like(g))
    return m, walls, ends


def bdf(dates, rtol):
    """Integrate the method of lines on the same cells: stiff, sparse Jacobian."""
    dx, dy = grid()
    nx, ny = len(dx), len(dy)

    def rate(seconds, flat):
        days, field, total = seconds / DAY, flat.reshape(nx, ny), 0.0
        for axis, size, opened in ((0, dx, (1, 0)), (1, dy, (1, 0))):
            m, walls, ends = conductances(field, days, axis, size, opened)
            flow = np.concatenate(
                [[ends[0] * (m[0] - emc(days))], walls * np.diff(m, axis=0),
                 [-ends[1] * (m[-1] - emc(days))]])  # fmt: skip
            total = total + np.moveaxis(np.diff(flow, axis=0) / size[:, None], 0, axis)
        return total.ravel()

    bands = [diags([1.0, 1.0, 1.0], [-1, 0, 1], shape=(n, n)) for n in (nx, ny)]
    pattern = kron(bands[0], eye(ny)) + kron(eye(nx), bands[1])

    def run():
        return solve_ivp(
            rate,
            (0, dates[-1] * DAY),
            np.full(nx * ny, START),
            "BDF",
            t_eval=dates * DAY,
            rtol=rtol,
            atol=100 * rtol,
            jac_sparsity=pattern,
        )

    out, seconds = timed(run, 1)
    area = (dx[:, None] * dy / (dx.sum() * dy.sum())).ravel()
    return area @ out.y, area @ np.maximum(0, 1 - out.y / FSP), seconds


def with_fipy(dates, longest):
    """FiPy: backward Euler, two sweeps, steps growing by 1.1 to `longest` days, the same cells."""
    import fipy

    dx, dy = grid()
    mesh = fipy.Grid2D(dx=dx, dy=dy)
    m = fipy.CellVariable(mesh=mesh, value=START, hasOld=True)
    d, k = fipy.FaceVariable(mesh=mesh, value=0.0), fipy.FaceVariable(mesh=mesh, value=0.0)
    level, normal = fipy.Variable(value=12.0), mesh.faceNormals
    is_open = (mesh.facesLeft | mesh.facesBottom).value
    equation = fipy.TransientTerm() == (
        fipy.DiffusionTerm(coeff=d)
        - fipy.ImplicitSourceTerm(coeff=(k * normal).divergence)
        + (k * level * normal).divergence
    )
    area = mesh.cellVolumes / mesh.cellVolumes.sum()
    begin, found, days, step = time.perf_counter(), [], 0.0, 1 / 24
    for date in dates:
        while days < date - 1e-9:
            length = min(step, date - days)
            middle = days + 0.5 * length
            m.updateOld()
            level.setValue(emc(middle))
            for _ in range(2):
                cell = fipy.CellVariable(mesh=mesh, value=diffusivity(m.value, celsius(middle),
                                                                      GRAVITY))  # fmt: skip
                inner = cell.arithmeticFaceValue.value
                mine = 0.5 * (inner + diffusivity(emc(middle), celsius(middle), GRAVITY))
                d.setValue(np.where(mesh.exteriorFaces.value, 0.0, inner))
                k.setValue(np.where(is_open, 1 / (1 / K + mesh._cellDistances / mine), 0.0))
                equation.sweep(m, dt=length * DAY)
            days, step = days + length, min(1.1 * step, longest)
        found.append([area @ m.value, area @ np.maximum(0, 1 - m.value / FSP)])
    mean, dried = np.array(found).T
    return mean, dried, time.perf_counter() - begin


def draws(members, years):
    """Draws of gravity, coefficient and start about one 8 x 8 with three open faces."""
    rng = np.random.default_rng(0)
    timbers = sections(
        np.full(members, SIDE), SIDE, rng.uniform(0.35, 0.6, members), THREE,
        d_scale=np.exp(rng.normal(0.0, 0.35, members)), emission=K,
    )  # fmt: skip
    start = rng.uniform(50.0, 100.0, members)
    return timbers, start, np.linspace(0.0, YEAR * years, 4 * years + 1)


def _measure(members, years, settings, pipe):
    timbers, start, dates = draws(members, years)
    series = seasons()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    out, seconds = timed(lambda: dry(timbers, series, start, dates, settings=settings), 1)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    gap = float(np.abs(out.mean + out.lost - start[:, None]).max() / start.min())
    pipe.send((seconds, peak / 1024, (peak - before) / 1024, gap))


def in_fresh_process(members, years, settings=DEFAULT):
    """Time and peak memory [MB] in a process of its own, so that nothing else counts."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    worker = context.Process(target=_measure, args=(members, years, settings, theirs))
    worker.start()
    answer = ours.recv()
    worker.join()
    return answer


def frame():
    """Ten members of a frame: posts, plates, girts, rafters, with the faces their places leave."""
    sizes = [(203, 203), (203, 203), (203, 305), (152, 203), (152, 254), (102, 203), (203, 254),
             (152, 152), (203, 203), (102, 152)]  # fmt: skip
    faces = [THREE, ("left", "right", "top"), THREE, THREE, ("left", "right", "top")] * 2
    return sections(*np.array(sizes, dtype=float).T, GRAVITY, faces)


def compare(quick, sheet):
    dates = np.array([30.0, 180.0, 365.0, 730.0, 1825.0] + ([] if quick else [3650.0]))
    true_mean, true_dried, _ = bdf(dates, 1e-6)
    whole = true_dried[-1]
    long = Settings(first_step=0.2, growth=1.5, max_step=20.0)
    runs = [
        ("this solver, default settings", eight_by_eight(dates)),
        ("this solver, fewer steps (growth 1.5)", eight_by_eight(dates, long)),
    ]
    runs += [(f"solve_ivp BDF, rtol {r:g}", bdf(dates, r)) for r in (1e-3, 1e-4)]
    runs += [
        (f"FiPy, steps up to {s:g} days", with_fipy(dates, s))
        for s in ((10.0,) if quick else (10.0, 3.0))
    ]
    for name, (mean, dried, seconds) in runs:
        first = runs[0][1][2]
        mine = name.startswith("this solver")
        sheet.add(f"{dates[-1] / YEAR:g} years: {name}", f"{seconds if mine else first:.2f} s",
                  other="" if mine else f"{seconds:.2f} s",
                  ratio="" if mine else f"{seconds / first:.1f}",
                  note=f"off by {np.abs(mean - true_mean).max():.3f} points, "
                  f"{100 * np.abs(dried - true_dried).max() / whole:.2f} % of the movement",
                  )  # fmt: skip


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="5 years and no fine FiPy run")
    parser.add_argument("--save", action="store_true", help="keep the rows for the page")
    sheet = Sheet("drying")
    compare(parser.parse_args().quick, sheet)
    series, dates = seasons(), np.linspace(0.0, 3650.0, 41)
    _, one = timed(lambda: dry(sections(SIDE, SIDE, GRAVITY, THREE), series, START, dates), 5)
    _, ten = timed(lambda: dry(frame(), series, START, dates), 5)
    sheet.add("1 member, 10 years, 41 dates", f"{one:.2f} s")
    sheet.add("frame of 10, 10 years, 41 dates", f"{ten:.2f} s",
              note=f"x {ten / one:.2f} of one member")  # fmt: skip
    for years in (3, 10):
        some = np.linspace(0.0, YEAR * years, 13)
        timber = sections(SIDE, SIDE, GRAVITY, THREE)
        _, fast = timed(lambda: dry(timber, series, START, some, settings=SLIDER), 7)  # noqa: B023
        sheet.add(f"slider: 1 member, {years} years, coarse, 13 dates", f"{1e3 * fast:.0f} ms")
    for members, years in ((250, 10), (500, 10), (1000, 10), (1000, 5)):
        seconds, peak, more, gap = in_fresh_process(members, years)
        sheet.add(f"{members} draws, {years} years", f"{seconds:.1f} s",
                  note=f"{1e3 * seconds / members / years:.2f} ms per draw and year; peak "
                  f"{peak:.0f} MB, {more:.0f} MB of it the run's; water off by {gap:.0e}",
                  )  # fmt: skip
    seconds = in_fresh_process(1000, 10, Settings(growth=1.2, max_step=15.0))[0]
    sheet.add("1000 draws, 10 years, steps up to 15 days", f"{seconds:.1f} s")
    day = np.arange(0.0, YEAR)
    rng = np.random.default_rng(2)
    weather = air(day, emc(day) + rng.normal(0, 2, 365), celsius(day), repeat_year=True)
    timber = sections(25.4, 152.4, GRAVITY)
    answers = {
        s: dry(timber, weather, 18.0, [365.0, 500.0, 730.0], settings=Settings(max_step=s)).mean
        for s in (0.25, 1.0, 2.0)
    }
    for s in (1.0, 2.0):
        off = np.abs(answers[s] - answers[0.25]).max()
        print(f"1 in board, daily noise in the air, steps of {s:g} d: off by {off:.3f} points")
    sheet.keep()


if __name__ == "__main__":
    main()
