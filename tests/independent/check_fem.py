"""Solves the jobs beside this file with finite elements too (package scikit-fem) and compares.

Both solvers take their figures from the same job file. The finite elements are quadratic on meshes
that follow the curved surfaces; the laws are solved by Newton. Each job is solved on meshes that are
refined twice: what the last refinement still changes is stated as the finite-element side's own error
and must be well below the tolerance.

Usage: check_fem.py IONFALL_PROGRAM
Tolerances: 1 % in local current density (away from singular edges: the distance is printed), 0.2 % in
totals. Exits with 0 if all is well, else with 1.
"""

import csv
import json
import os
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

# Small vectors: threads only get into each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import skfem
from scipy.interpolate import CubicSpline, RegularGridInterpolator
from scipy.sparse import bmat, diags
from scipy.sparse.linalg import cg, spsolve
from skfem.helpers import dot, grad

LOCAL, TOTAL = 1e-2, 2e-3
OWN = 0.25  # the finite elements' own error, at most this share of the tolerance
HERE = Path(__file__).parent
UNITS = {"mm": 1e-3, "m": 1.0, "V": 1.0, "mV": 1e-3, "S/m": 1.0, "A/m2": 1.0, "ohm m2": 1.0, "ohm/sq": 1.0}
THERMAL_V = 8.314462618 * 298.15 / 96485.33212  # the jobs leave the bath at 25 degC


def si(text):
    """A quantity or point of a job in SI units."""
    figures, _, unit = text.partition(" ") if " x " not in text else (None, None, None)
    if figures is not None:
        return float(figures) * UNITS[unit]
    *first, last = text.split(" x ")
    figure, _, unit = last.partition(" ")
    return np.array([float(f) for f in [*first, figure]]) * UNITS[unit]


def law(cathode):
    """Current density (magnitude) and its slope over the potential in front of the metal."""
    (kind, figures), = cathode["law"].items()
    if kind == "linear":
        r = si(figures["resistance"])
        return lambda u: (u / r, 0 * u + 1 / r)
    i0 = si(figures["exchange_current_density"])
    if kind == "tafel":
        b = si(figures["slope"])
        return lambda u: (i0 * np.exp(u / b), i0 / b * np.exp(u / b))
    a, c = figures["alpha_a"] / THERMAL_V, figures["alpha_c"] / THERMAL_V
    return lambda u: (
        i0 * (np.exp(c * u) - np.exp(-a * u)),
        i0 * (c * np.exp(c * u) + a * np.exp(-a * u)),
    )


def newton(basis, facets, kappa, volts, anode, response, weight, solver, surface=None):
    """Potential with a law on the cathode's facets; `weight` is 1, or 2 pi r when revolved. `surface` is
    the weight on the facets where it differs (conformal coordinates)."""
    surface = surface or weight
    stiff = skfem.BilinearForm(lambda u, v, w: kappa * weight(w.x) * dot(grad(u), grad(v)))
    k = skfem.asm(stiff, basis)
    slope = skfem.BilinearForm(lambda u, v, w: surface(w.x) * response(w["phi"])[1] * u * v)
    load = skfem.LinearForm(lambda v, w: surface(w.x) * response(w["phi"])[0] * v)
    # Exponentials want short steps; a linear law none.
    slopes = response(np.array([0.1, 0.2]) * volts)[1]
    most = np.inf if slopes[0] == slopes[1] else 0.1
    phi = np.full(basis.N, 0.5 * volts)
    phi[anode] = volts
    for _ in range(60):
        at = facets.interpolate(phi)
        residual = k @ phi + skfem.asm(load, facets, phi=at)
        matrix = k + skfem.asm(slope, facets, phi=at)
        a, b, _, inner = skfem.condense(matrix, -residual, D=anode, x=np.zeros(basis.N))
        step = np.zeros(basis.N)
        step[inner] = solver(a, b)
        phi += np.clip(step, -most, most)
        if most == np.inf or np.abs(step).max() < 1e-11:
            break
    else:
        sys.exit("check_fem: the finite elements did not converge")
    flow = skfem.Functional(lambda w: surface(w.x) * response(w["phi"])[0])
    return phi, skfem.asm(flow, facets, phi=facets.interpolate(phi))


def jacobi(a, b):
    """Conjugate gradients for the larger systems in space."""
    x, info = cg(a, b, rtol=1e-10, maxiter=20000, M=diags(1 / a.diagonal()))
    if info:
        sys.exit("check_fem: conjugate gradients did not converge")
    return x


def mapped(n, m, place):
    """Quadratic triangles on a rectangle [0, 1]^2 put in place by a smooth map."""
    flat = skfem.MeshTri.init_tensor(np.linspace(0, 1, n + 1), np.linspace(0, 1, m + 1))
    curved = skfem.MeshTri2.from_mesh(flat)
    # Vertices, then middles of sides, both at their true places in the rectangle.
    return flat, skfem.MeshTri2(place(curved.doflocs), curved.t)


def side(flat, test):
    """Facets of the flat mesh whose middles pass a test."""
    return flat.facets_satisfying(test, boundaries_only=True)


def curved(n, m, place, kappa, volts, response, weight):
    """Cathode on the side s = 0, anode on s = 1 of a mapped rectangle (s, t)."""
    flat, mesh = mapped(n, m, place)
    element = skfem.ElementTriP2()
    basis = skfem.Basis(mesh, element, intorder=6)
    cathode = side(flat, lambda x: x[0] < 1e-9)
    facets = skfem.FacetBasis(mesh, element, facets=cathode, intorder=8)
    anode = basis.get_dofs(side(flat, lambda x: x[0] > 1 - 1e-9)).flatten()
    phi, total = newton(basis, facets, kappa, volts, anode, response, weight, spsolve)
    on = basis.get_dofs(cathode).flatten()
    return basis.doflocs[:, on], response(phi[on])[0], total


def along(coordinate, values):
    """A smooth curve through values at places."""
    order = np.argsort(coordinate)
    return CubicSpline(coordinate[order], values[order])


def eccentric(job, level, revolved=False):
    """A rod (or ball) off the middle of a round tank: half of it, by symmetry."""
    kind = "ball" if revolved else "circle"
    inner, outer = job["work"][0]["shape"][kind], job["anode"][0]["shape"]["difference"][1][kind]
    r1, r2 = si(inner["radius"]), si(outer["radius"])
    offset = np.abs(si(inner["centre"])).max()

    def place(p):
        # The axis of symmetry is the second coordinate when revolved, the first else.
        s, angle = p[0], np.pi * p[1]
        middle, radius = offset * (1 - s), r1 * (1 - s) + r2 * s
        x, y = middle + radius * np.cos(angle), radius * np.sin(angle)
        return np.array([y, x]) if revolved else np.array([x, y])

    weight = (lambda x: 2 * np.pi * x[0]) if revolved else (lambda x: 2.0 + 0 * x[0])
    n = 8 * 2**level
    points, i, total = curved(
        n, 2 * n, place, si(job["bath"]["conductivity"]), si(job["supply"]["voltage"]),
        law(job["work"][0]), weight,
    )
    axis, across = (points[1], points[0]) if revolved else points
    curve = along(np.arctan2(across, axis - offset), i)

    def local(x):
        off = np.hypot(x[0], x[1]) if revolved else np.abs(x[1])
        return curve(np.arctan2(off, x[2 if revolved else 0] - offset))

    return local, total


def disk(job, level):
    """In oblate spheroidal coordinates r = a cosh u sin t, z = a sinh u cos t, which are conformal: the
    same equation on a rectangle, with the radius as weight and a cos t dt as length on the disk."""
    a = si(job["work"][0]["shape"]["rectangle"]["to"])[0]
    big, high = si(job["anode"][0]["shape"]["difference"][1]["ellipse"]["semi_axes"])
    assert abs(big**2 - high**2 - a**2) < 1e-9, "the bowl is not confocal"
    n = 8 * 2**level
    top = np.arcsinh(high / a)
    mesh = skfem.MeshTri.init_tensor(np.linspace(0, top, n + 1), np.linspace(0, np.pi / 2, 2 * n + 1))
    element = skfem.ElementTriP2()
    basis = skfem.Basis(mesh, element, intorder=6)
    on = side(mesh, lambda x: x[0] < 1e-9)
    facets = skfem.FacetBasis(mesh, element, facets=on, intorder=8)
    anode = basis.get_dofs(side(mesh, lambda x: x[0] > top - 1e-9)).flatten()
    response = law(job["work"][0])
    radius = lambda x: 2 * np.pi * a * np.cosh(x[0]) * np.sin(x[1])
    phi, total = newton(
        basis, facets, si(job["bath"]["conductivity"]), si(job["supply"]["voltage"]), anode,
        response, radius, spsolve, lambda x: radius(x) * a * np.cos(x[1]),
    )
    dofs = basis.get_dofs(on).flatten()
    curve = along(basis.doflocs[1, dofs], response(phi[dofs])[0])
    return lambda x: curve(np.arcsin(np.clip(x[0] / a, 0, 1))), total


def graded(ends, sharp, n, first):
    """Coordinates between two ends that hold `sharp` places and crowd at them."""
    stops = sorted({*ends, *sharp})
    pieces = []
    for low, high in zip(stops, stops[1:]):
        s = np.linspace(0, 1, max(2, round(n * (high - low) / (ends[1] - ends[0])) + 1) * 1)
        p = 1.0 / first
        if low in sharp and high in sharp:
            s = np.where(s < 0.5, 0.5 * (2 * s) ** p, 1 - 0.5 * (2 - 2 * s) ** p)
        elif low in sharp:
            s = s**p
        elif high in sharp:
            s = 1 - (1 - s) ** p
        pieces.append(low + (high - low) * s)
    return np.unique(np.concatenate(pieces).round(12))


def plain(job, basis, facets, anode_at, solver):
    """Potential, law and total of a job in plain coordinates, with its anode at the far end."""
    anode = basis.get_dofs(lambda p: p[0] > anode_at - 1e-9).flatten()
    response = law(job["work"][0])
    phi, total = newton(
        basis, facets, si(job["bath"]["conductivity"]), si(job["supply"]["voltage"]), anode,
        response, lambda p: 1.0 + 0 * p[0], solver,
    )
    return phi, response, total


def l_shape(job, level):
    """The tank less the block of the cathode; cells crowd at its corner."""
    corner = si(job["work"][0]["shape"]["rectangle"]["to"])
    size = si(job["tank"]["size"])
    x = graded((0.0, size[0]), {corner[0]}, 20 * 2**level, 0.4)
    y = graded((0.0, size[1]), {corner[1]}, 14 * 2**level, 0.4)
    mesh = skfem.MeshTri.init_tensor(x, y)
    middles = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.remove_elements(np.nonzero((middles < corner[:, None]).all(axis=0))[0])
    element = skfem.ElementTriP2()
    basis = skfem.Basis(mesh, element)
    on = mesh.facets_satisfying(
        lambda p: ((np.abs(p[1] - corner[1]) < 1e-9) & (p[0] < corner[0]))
        | ((np.abs(p[0] - corner[0]) < 1e-9) & (p[1] < corner[1])),
        boundaries_only=True,
    )
    facets = skfem.FacetBasis(mesh, element, facets=on)
    phi, response, total = plain(job, basis, facets, size[0], spsolve)
    dofs = basis.get_dofs(on).flatten()
    way = lambda p: np.where(np.abs(p[1] - corner[1]) < 1e-9, p[0], corner[0] + corner[1] - p[1])
    place, i = way(basis.doflocs[:, dofs]), response(phi[dofs])[0]
    order = np.argsort(place)
    # Not smooth at the corner: straight lines between the crowded nodes.
    return lambda p: np.interp(way(p), place[order], i[order]), total


def box(job, level):
    """Quadratic bricks; cells crowd at the edges of the block in the way."""
    size = si(job["tank"]["size"])
    block = job["shield"][0]["shape"]["box"]
    low, high = np.maximum(si(block["from"]), 0), si(block["to"])
    ticks = [
        graded((0.0, size[k]), {v for v in (low[k], high[k]) if v > 0}, n * (2 + level), 0.6)
        for k, n in enumerate((6, 5, 5))
    ]
    mesh = skfem.MeshHex.init_tensor(*ticks)
    middles = mesh.p[:, mesh.t].mean(axis=1)
    inside = ((middles > low[:, None]) & (middles < high[:, None])).all(axis=0)
    mesh = mesh.remove_elements(np.nonzero(inside)[0])
    element = skfem.ElementHex2()
    basis = skfem.Basis(mesh, element, intorder=4)
    on = mesh.facets_satisfying(lambda p: p[0] < 1e-9, boundaries_only=True)
    facets = skfem.FacetBasis(mesh, element, facets=on, intorder=4)
    phi, response, total = plain(job, basis, facets, size[0], jacobi)
    dofs = basis.get_dofs(on).flatten()
    y, z = basis.doflocs[1, dofs].round(9), basis.doflocs[2, dofs].round(9)
    ys, zs = np.unique(y), np.unique(z)
    table = np.full((ys.size, zs.size), np.nan)
    table[np.searchsorted(ys, y), np.searchsorted(zs, z)] = response(phi[dofs])[0]
    assert np.isfinite(table).all()
    read = RegularGridInterpolator((ys, zs), table, method="cubic")
    return lambda p: read(np.array([p[1], p[2]]).T), total


def coat(job, level):
    """Bath and coat as one linear system; the coat is a line of quadratic elements under the bath."""
    size = si(job["tank"]["size"])
    cathode = job["work"][0]
    kappa, volts = si(job["bath"]["conductivity"]), si(job["supply"]["voltage"])
    r, sheet = si(cathode["law"]["linear"]["resistance"]), si(cathode["coat"]["sheet_resistance"])
    n = 12 * 2**level
    x = graded((0.0, size[0]), {0.0}, 3 * n, 0.5)
    y = graded((0.0, size[1]), {0.0}, n, 0.6)
    mesh = skfem.MeshTri.init_tensor(x, y)
    element = skfem.ElementTriP2()
    basis = skfem.Basis(mesh, element)
    facets = skfem.FacetBasis(
        mesh, element,
        facets=mesh.facets_satisfying(lambda p: p[1] < 1e-9, boundaries_only=True),
    )
    k = skfem.asm(skfem.BilinearForm(lambda u, v, w: kappa * dot(grad(u), grad(v))), basis)
    mass = skfem.asm(skfem.BilinearForm(lambda u, v, w: u * v / r), facets)
    line = skfem.asm(skfem.BilinearForm(lambda u, v, w: grad(u)[0] * grad(v)[0] / sheet), facets)
    floor = basis.get_dofs(lambda p: p[1] < 1e-9).flatten()
    pick = lambda m: m[floor][:, floor]
    system = bmat([[k + mass, -mass[:, floor]], [-mass[floor], pick(line) + pick(mass)]]).tocsr()
    fixed = basis.get_dofs(lambda p: p[1] > size[1] - 1e-9).flatten()
    start = np.nonzero(basis.doflocs[0, floor] < 1e-9)[0] + basis.N
    known = np.zeros(basis.N + floor.size)
    known[fixed] = volts
    held = np.concatenate([fixed, start])
    u = skfem.solve(*skfem.condense(system, np.zeros(known.size), x=known, D=held))
    i = (u[floor] - u[basis.N :]) / r
    ones = np.zeros(basis.N)
    ones[floor] = i
    total = skfem.asm(skfem.Functional(lambda w: w["i"]), facets, i=facets.interpolate(ones))
    curve = along(basis.doflocs[0, floor], i)
    return lambda p: curve(p[0]), total


# Job, solver, where local values are compared, and what that is called.
JOBS = [
    ("eccentric-tafel", eccentric, None, "everywhere"),
    ("l-shaped-cathode", l_shape, lambda p: np.hypot(p[0] - 0.04, p[1] - 0.02) > 1e-3, "1 mm off the edge"),
    ("disk-butler-volmer", disk, lambda p: 0.02 - p[0] > 2.5e-4, "0.25 mm off the rim"),
    ("ball", lambda job, level: eccentric(job, level, True), None, "everywhere"),
    ("box-with-shield", box, None, "everywhere on the cathode, 20 mm from the shield's edges"),
    ("coated-plate", coat, lambda p: p[0] > 1e-3, "1 mm off the contact"),
]


def run(program, job, folder):
    """Places, areas and current densities of the cathode, and its current."""
    command = [program, "run", str(HERE / f"{job}.toml"), "--out", str(folder), "--json"]
    summary = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    with open(folder / "facets.csv", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["name"] == "cathode"]
    axes = [a for a in ("x_m", "y_m", "z_m") if a in rows[0]] if "x_m" in rows[0] else ["r_m", "z_m"]
    points = np.array([[float(row[a]) for row in rows] for a in axes])
    current = np.array([abs(float(row["current_density_A_per_m2"])) for row in rows])
    body = next(b for b in summary["bodies"] if b["name"] == "cathode")
    return points, current, abs(body["current_a"])


def listed(job):
    """Tables of bodies as lists, whichever way they are written."""
    return {k: v if k not in ("work", "anode", "shield") or isinstance(v, list) else [v] for k, v in job.items()}


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    failed = []
    print(f"{'job':20}{'facets':>7}{'local':>10}{'own':>10}{'total':>10}{'own':>10}{'s':>6}  compared")
    for name, solve, where, words in JOBS:
        clock = time.time()
        job = listed(tomllib.loads((HERE / f"{name}.toml").read_text()))
        with tempfile.TemporaryDirectory() as folder:
            points, found, total = run(sys.argv[1], name, Path(folder))
        keep = np.ones(found.size, bool) if where is None else where(points)
        points, found = points[:, keep], found[keep]
        assert found.size > 20, name
        levels = [solve(job, level) for level in (0, 1, 2)]
        values = [local(points) for local, _ in levels]
        own = np.abs(values[2] / values[1] - 1).max()
        own_total = abs(levels[2][1] / levels[1][1] - 1)
        off = np.abs(found / values[2] - 1).max()
        off_total = abs(total / levels[2][1] - 1)
        print(
            f"{name:20}{found.size:7}{off:10.4%}{own:10.4%}{off_total:10.4%}{own_total:10.4%}"
            f"{time.time() - clock:6.1f}  {words}"
        )
        if not (off <= LOCAL and off_total <= TOTAL):
            failed.append(f"{name} differs")
        if not (own <= OWN * LOCAL and own_total <= OWN * TOTAL):
            failed.append(f"{name}: the finite elements are not converged")
    if failed:
        sys.exit("check_fem: " + "; ".join(failed))


if __name__ == "__main__":
    main()
