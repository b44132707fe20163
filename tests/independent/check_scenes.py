"""Random planar scenes with thin walls and narrow slots against finite elements (package scikit-fem).

A scene is a rectangular tank turned by an odd angle, an anode in its end wall and a cathode made of
upright blocks: with slots narrower than cells, with walls thinner than cells, or a comb. In the frame
of the tank all sides lie along the axes, so that the finite elements (quadratic, on a tensor grid that
crowds at every corner) need no mesher; the cells of the program lie across them at the odd angle. The
law is linear, from nearly primary to well levelled. The finite elements' own error is what their last
refinement still changes.

Usage: check_scenes.py IONFALL_PROGRAM [FROM TO]
Each scene is computed on its cells, which are too large for what is narrow there (the last column: does
the program say so?), and on cells of a quarter. Required on the large cells: total current within 1 %, no
current out of the cathode. On the small ones: total within 0.2 %, none out of the cathode, and where no
salient edge is nearer than two of the large cells (there the current density is singular) nine tenths of
the area within 2 % of the mean current density. Exits with 0 if all is well, else with 1.
"""

import csv
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import skfem
from skfem.helpers import dot, grad

TOTAL, LOCAL, WRONG, OWN = {1: 1e-2, 4: 2e-3}, {1: np.inf, 4: 2e-2}, 1e-6, 2.5e-4
SIZE = (0.06, 0.04)  # the tank, m
KAPPA, VOLTS = 20.0, 1.0


def scene(seed):
    """Blocks (low x, low y, high x, high y, m) that make the cathode and that are cut from it."""
    dice = random.Random(seed)
    cell = dice.uniform(0.4e-3, 1.2e-3)
    kind = ("slots", "walls", "comb")[seed % 3]
    x, y = dice.uniform(0.012, 0.02), dice.uniform(0.01, 0.014)
    wide, high = dice.uniform(0.008, 0.018), dice.uniform(0.01, 0.016)
    body, cut = [(x, y, x + wide, y + high)], []
    if kind == "slots":
        for n in range(dice.randint(1, 3)):
            at, w = y + high * (n + dice.uniform(0.2, 0.6)) / 3, dice.uniform(0.3, 1.5) * cell
            deep = dice.uniform(1, 4) * cell
            # Slots at the side of the anode or at the far one.
            cut.append((x + wide - deep, at, x + wide + 0.01, at + w) if dice.random() < 0.7 else (x - 0.01, at, x + deep, at + w))
    elif kind == "walls":
        w = dice.uniform(0.5, 2) * cell
        ends = (x + w, x + wide - w) if dice.random() < 0.5 else (x + w, x + wide + 0.01)
        cut.append((ends[0], y + w, ends[1], y + high + (0.01 if dice.random() < 0.5 or ends[1] < x + wide else -w)))
    else:
        w, teeth = dice.uniform(0.5, 2) * cell, dice.randint(2, 4)
        body = [(x, y, x + 2 * w, y + high)]
        body += [(x, y + (high - w) * n / (teeth - 1), x + wide, y + (high - w) * n / (teeth - 1) + w) for n in range(teeth)]
    # Sides that are meant to lie in one line do so.
    body, cut = ([tuple(round(v, 9) for v in b) for b in blocks] for blocks in (body, cut))
    return {
        "kind": kind, "cell": cell, "body": body, "cut": cut, "angle": dice.uniform(3, 87),
        "resistance": 10 ** dice.uniform(-6, -3),
    }


def job(s):
    """The text of the job."""
    rectangle = lambda b: f'{{ rectangle = {{ from = "{1e3 * b[0]:.9f} x {1e3 * b[1]:.9f} mm", to = "{1e3 * b[2]:.9f} x {1e3 * b[3]:.9f} mm" }} }}'
    place = f'place = [{{ turn = "{s["angle"]:.6f} deg", at = "30 x 20 mm" }}]'
    shape = f'{{ union = [{", ".join(map(rectangle, s["body"]))}] }}' if len(s["body"]) > 1 else rectangle(s["body"][0])
    if s["cut"]:
        shape = f'{{ difference = [{", ".join([shape, *map(rectangle, s["cut"])])}] }}'
    cell = 1e3 * s["cell"] / s["finer"]
    return f"""space = "planar"
depth = "1 m"
tank = {{ shape = {rectangle((0, 0, *SIZE))}, {place} }}
bath = {{ kind = "custom", metal = "copper", conductivity = "{KAPPA} S/m" }}
supply = {{ voltage = "{VOLTS} V" }}
save = {{ what = ["facets"] }}
plan = {{ time = "1 h" }}
grid = {{ finest = "{cell:.6f} mm", coarsest = "{2 * cell:.6f} mm" }}
[[work]]
name = "cathode"
shape = {shape}
{place}
law.linear = {{ resistance = "{s["resistance"]:.9g} ohm m2" }}
[[anode]]
name = "anode"
law = "primary"
shape = {rectangle((SIZE[0], -0.01, SIZE[0] + 0.01, SIZE[1] + 0.01))}
{place}
"""


def ticks(end, stops, n):
    """Coordinates from 0 to an end that hold all stops and crowd at them."""
    stops = sorted({0.0, end, *(v for v in stops if 0 < v < end)})
    out = [0.0]
    for low, high in zip(stops, stops[1:]):
        m = n + int(n * 4 * (high - low) / end)
        s = np.linspace(0, 1, 2 * m + 1)[1:]
        s = np.where(s < 0.5, 0.5 * (2 * s) ** 2.5, 1 - 0.5 * np.abs(2 - 2 * s) ** 2.5)
        out.extend(low + (high - low) * s)
    return np.array(out)


def finite_elements(s, n):
    """Current, and the potential along the cathode's sides: ends of the sides and values at both ends and the middle."""
    blocks = s["body"] + s["cut"]
    mesh = skfem.MeshTri.init_tensor(
        ticks(SIZE[0], [b[k] for b in blocks for k in (0, 2)], n),
        ticks(SIZE[1], [b[k] for b in blocks for k in (1, 3)], n),
    )
    middle = mesh.p[:, mesh.t].mean(axis=1)
    inside = lambda b: (b[0] < middle[0]) & (middle[0] < b[2]) & (b[1] < middle[1]) & (middle[1] < b[3])
    metal = np.any([inside(b) for b in s["body"]], axis=0)
    if s["cut"]:
        metal &= ~np.any([inside(b) for b in s["cut"]], axis=0)
    mesh = mesh.remove_elements(np.nonzero(metal)[0])
    on = mesh.facets_satisfying(
        lambda p: (p[0] > 1e-9) & (p[0] < SIZE[0] - 1e-9) & (p[1] > 1e-9) & (p[1] < SIZE[1] - 1e-9),
        boundaries_only=True,
    )
    element = skfem.ElementTriP2()
    basis, side = skfem.Basis(mesh, element), skfem.FacetBasis(mesh, element, facets=on)
    stiff = skfem.BilinearForm(lambda u, v, w: KAPPA * dot(grad(u), grad(v))).assemble(basis)
    stiff = stiff + skfem.BilinearForm(lambda u, v, w: u * v / s["resistance"]).assemble(side)
    held = basis.get_dofs(lambda p: p[0] > SIZE[0] - 1e-9).flatten()
    x = np.zeros(basis.N)
    x[held] = VOLTS
    phi = skfem.solve(*skfem.condense(stiff, np.zeros(basis.N), x=x, D=held))
    total = skfem.Functional(lambda w: w["phi"] / s["resistance"]).assemble(side, phi=side.interpolate(phi))
    ends = mesh.p[:, mesh.facets[:, on]]
    values = np.array([phi[basis.nodal_dofs[0, mesh.facets[k, on]]] for k in (0, 1)] + [phi[basis.facet_dofs[0, on]]])
    return total, ends, values / s["resistance"]


def is_metal(s, x, y):
    """Is a point in the cathode?"""
    inside = lambda blocks: any(b[0] < x < b[2] and b[1] < y < b[3] for b in blocks)
    return inside(s["body"]) and not inside(s["cut"])


def salient(s):
    """Corners of the cathode at which the metal fills one quadrant of four."""
    blocks = s["body"] + s["cut"]
    near = 1e-7
    corners = [
        (x, y)
        for x in {b[k] for b in blocks for k in (0, 2)}
        for y in {b[k] for b in blocks for k in (1, 3)}
        if sum(is_metal(s, x + i, y + j) for i in (-near, near) for j in (-near, near)) == 1
    ]
    return np.array(corners).T


def means(s, points, normals, lengths, ends, values):
    """Means over pieces of the sides, by Gauss's rule of three points."""
    along = np.array([-normals[1], normals[0]]) * lengths
    rule = [(-(0.15**0.5), 5 / 18), (0.0, 4 / 9), (0.15**0.5, 5 / 18)]
    return sum(w * at(points + t * along, ends, values) for t, w in rule)


def at(points, ends, values):
    """Values at points of the sides."""
    a, along = ends[:, 0], ends[:, 1] - ends[:, 0]
    length = (along**2).sum(axis=0)
    out = np.empty(points.shape[1])
    for n, p in enumerate(points.T):
        t = np.clip(((p[:, None] - a) * along).sum(axis=0) / length, 0, 1)
        k = ((p[:, None] - a - t * along) ** 2).sum(axis=0).argmin()
        u, (first, last, middle) = t[k], values[:, k]
        out[n] = first * (1 - u) * (1 - 2 * u) + last * u * (2 * u - 1) + 4 * middle * u * (1 - u)
    return out


def run(program, s, folder):
    """Points and normals in the frame of the tank, lengths and current densities into the cathode, its
    current; or why there is no solution."""
    (folder / "job.toml").write_text(job(s))
    command = [program, "run", str(folder / "job.toml"), "--out", str(folder / "result"), "--json", "--plus-minus", "never"]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode:
        return done.stderr.strip()
    summary = json.loads(done.stdout)
    with open(folder / "result" / "facets.csv", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["name"] == "cathode"]
    column = lambda key: np.array([float(row[key]) for row in rows])
    angle, middle = np.radians(s["angle"]), 0.5 * np.array(SIZE)[:, None]
    back = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    points = middle + back @ (np.array([column("x_m"), column("y_m")]) - middle)
    normals = back @ np.array([column("normal_x"), column("normal_y")])
    total = next(b for b in summary["bodies"] if b["name"] == "cathode")["current_a"]
    warned = any("[[grid.region]]" in caution for caution in summary["cautions"])
    return points, normals, column("area_m2"), -column("current_density_A_per_m2"), abs(total), warned


def compare(program, s, seed, own, exact, ends, values):
    """Prints a row; returns what is bad."""
    with tempfile.TemporaryDirectory() as folder:
        found = run(program, s, Path(folder))
    if isinstance(found, str):
        print(f"{seed:4} {s['kind']:6} no solution")
        return [found]
    points, normals, area, current, total, warned = found
    off = total / exact - 1
    wrong = (area * np.maximum(-current, 0)).sum() / total
    want, mean = means(s, points, normals, area, ends, values), exact / area.sum()
    far = np.linalg.norm(points[:, :, None] - salient(s)[:, None], axis=0).min(axis=1) > 2 * s["cell"]
    order = (np.abs(current - want) / mean)[far].argsort()
    errors, share = (np.abs(current - want) / mean)[far][order], area[far][order].cumsum()
    within = lambda q: errors[np.searchsorted(share, q * share[-1])]
    places = area > 0.1 * area.mean()
    wagner = KAPPA * s["resistance"] / s["cell"]
    print(
        f"{seed:4} {s['kind']:6}{1e3 * s['cell'] / s['finer']:6.2f}{wagner:9.1e}{area.size:7}{off:+10.3%}{own:9.4%}{wrong:9.1e}{share[-1] / area.sum():9.0%}"
        f"{within(0.5):9.3%}{within(0.9):9.2%}{current[places].min() / mean:10.4f}{want[places].min() / mean:9.4f}  {'yes' if warned else 'no'}"
    )
    held = [("total", abs(off) <= TOTAL[s["finer"]]), ("wrong way", wrong <= WRONG), ("local", within(0.9) <= LOCAL[s["finer"]])]
    return [what for what, good in held if not good]


def main():
    if len(sys.argv) not in (2, 4):
        sys.exit(__doc__)
    seeds = range(*map(int, sys.argv[2:])) if len(sys.argv) == 4 else range(12)
    failed = []
    print(f"{'seed':>4} {'kind':6}{'cell':>6}{'Wagner':>9}{'facets':>7}{'total':>10}{'own':>9}{'wrong':>9}{'far off':>9}{'median':>9}{'9 in 10':>9}{'thinnest':>10}{'elements':>9}  warned")
    for seed in seeds:
        s = scene(seed)
        (rough, *_), (exact, ends, values) = finite_elements(s, 3), finite_elements(s, 6)
        own = abs(rough / exact - 1)
        if own > OWN:
            failed.append(f"{seed}: the finite elements are not converged")
        for finer in (1, 4):
            failed += [f"{seed}, cells / {finer}: {what}" for what in compare(sys.argv[1], {**s, "finer": finer}, seed, own, exact, ends, values)]
    if failed:
        sys.exit("check_scenes: " + "; ".join(failed))


if __name__ == "__main__":
    main()
