"""Opens a finished result folder in an independent reader (package vtk) and compares it with
summary.json: files and arrays, cell counts, finite fields, and the deposited volume as the integral
of thickness over the surface. Areas are those that VTK finds itself; in planar and axisymmetric
results, where a piece of surface is a line, they are those in the file.

Usage: check_vtk.py RESULT_FOLDER
Exits with 0 if all is well, else with 1 and a line that says what is not.
"""

import json
import sys
import xml.etree.ElementTree as xml
from pathlib import Path

import numpy as np
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkFiltersVerdict import vtkCellSizeFilter
from vtkmodules.vtkIOXML import vtkXMLPolyDataReader, vtkXMLUnstructuredGridReader

TOLERANCE = 1e-3
AT_FACETS = ["body", "area_m2", "current_density_A_per_m2", "solution_potential_V", "overpotential_V"]
IN_BATH = ["potential_V", "current_density_A_per_m2", "cell_size_m"]


def require(condition, complaint):
    if not condition:
        sys.exit(f"check_vtk: {complaint}")


def read(reader, path):
    require(path.is_file(), f"{path} is missing")
    failures = []
    reader.AddObserver("ErrorEvent", lambda *_: failures.append(path))
    reader.SetFileName(str(path))
    reader.Update()
    data = reader.GetOutput()
    require(not failures and reader.GetErrorCode() == 0, f"VTK cannot read {path}")
    require(data.GetNumberOfCells() > 0, f"{path.name} is empty")
    return data


def arrays(data):
    return {data.GetArrayName(k): vtk_to_numpy(data.GetArray(k)) for k in range(data.GetNumberOfArrays())}


def require_finite(path, fields, names):
    for name in names:
        require(name in fields, f"{path} lacks {name}: it has {sorted(fields)}")
        require(np.isfinite(fields[name]).all(), f"{name} in {path} is not finite everywhere")


def areas(surface):
    sizes = vtkCellSizeFilter()
    sizes.SetInputData(surface)
    sizes.Update()
    return vtk_to_numpy(sizes.GetOutput().GetCellData().GetArray("Area"))


def check_surface(folder, summary):
    surface = read(vtkXMLPolyDataReader(), folder / "surface.vtp")
    cells = arrays(surface.GetCellData())
    plated = summary["time_s"] is not None
    require_finite("surface.vtp", cells, AT_FACETS + ["thickness_m"] * plated)
    solid = len(summary["grid"]["axes"]) == 3
    area = areas(surface) if solid else cells["area_m2"]
    numbers = np.unique(cells["body"])
    require(len(numbers) == len(summary["bodies"]), "surface.vtp and summary.json tell of different bodies")
    facets = summary["grid"]["facets"]
    require(len(area) >= facets, f"surface.vtp has {len(area)} pieces for {facets} facets")
    for number, body in zip(numbers, summary["bodies"]):
        own = cells["body"] == number
        wholes = {"area": (area[own].sum(), body["area_m2"], "m2")}
        wholes["current"] = ((area * cells["current_density_A_per_m2"])[own].sum(), body["current_a"], "A")
        if plated:
            grown = -1 if body["role"] == "anode" else 1
            wholes["volume"] = (grown * (area * cells["thickness_m"])[own].sum(), body["volume_m3"], "m3")
        for what, (found, stated, unit) in wholes.items():
            off = found / stated - 1
            print(f"{body['name']}: {what} {found:.6e} {unit}, summary {stated:.6e}, off {off:+.1e}")
            require(abs(off) < TOLERANCE, f"{what} of {body['name']} is off by {100 * off:+.3f} %")
    return surface.GetNumberOfCells()


def check_bath(folder, summary):
    bath = read(vtkXMLUnstructuredGridReader(), folder / "bath.vtu")
    cells, stated = bath.GetNumberOfCells(), summary["grid"]["cells"]
    require(cells == stated, f"bath.vtu has {cells} cells, the summary {stated}")
    require_finite("bath.vtu", arrays(bath.GetCellData()), IN_BATH)
    return cells


def check_parts(folder, summary):
    parts = sorted(folder.glob("part-*.vtp"))
    require(len(parts) == len(summary["bodies"]), f"{len(parts)} parts for {len(summary['bodies'])} bodies")
    for part in parts:
        values = arrays(read(vtkXMLPolyDataReader(), part).GetPointData())
        names = ["current_density_A_per_m2"] + ["thickness_m"] * (summary["time_s"] is not None)
        # Dry and stopped-off places are not numbers, in all arrays alike.
        for name in names:
            require(name in values, f"{part.name} lacks {name}: it has {sorted(values)}")
        wet = np.isfinite(values[names[0]])
        require(wet.any(), f"{part.name} has no value anywhere")
        require((np.isfinite(values[names[-1]]) == wet).all(), f"arrays of {part.name} disagree on what is wet")
        print(f"{part.name}: {wet.sum()} of {wet.size} vertices with values")


def check_series(folder, summary):
    entries = list(xml.parse(folder / "series.pvd").getroot().iter("DataSet"))
    require(entries, "series.pvd names no file")
    for entry in entries:
        require((folder / entry.get("file")).is_file(), f"series.pvd names {entry.get('file')}, which is missing")
    last = float(entries[-1].get("timestep"))
    require(last == (summary["time_s"] or 0), f"series.pvd ends at {last} s")


def main(folder):
    summary = json.loads((folder / "summary.json").read_text())
    pieces = check_surface(folder, summary)
    cells = check_bath(folder, summary)
    check_parts(folder, summary)
    check_series(folder, summary)
    print(f"{folder.name}: {cells} cells, {pieces} surface pieces, all well")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]))
