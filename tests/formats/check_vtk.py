"""Opens a finished result folder in an independent reader (package vtk) and compares it with
summary.json: cell counts, finite fields, and the deposited volume as the integral of thickness.

Usage: check_vtk.py RESULT_FOLDER
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


def read(reader, path):
    reader.SetFileName(str(path))
    reader.Update()
    assert reader.GetErrorCode() == 0, f"{path.name} does not open"
    return reader.GetOutput()


def arrays(data):
    return {data.GetArrayName(k): vtk_to_numpy(data.GetArray(k)) for k in range(data.GetNumberOfArrays())}


def areas(surface):
    sizes = vtkCellSizeFilter()
    sizes.SetInputData(surface)
    sizes.Update()
    return vtk_to_numpy(sizes.GetOutput().GetCellData().GetArray("Area"))


def main(folder):
    summary = json.loads((folder / "summary.json").read_text())
    surface = read(vtkXMLPolyDataReader(), folder / "surface.vtp")
    cells = arrays(surface.GetCellData())
    names = ["current_density_A_per_m2", "thickness_m", "overpotential_V", "solution_potential_V", "body"]
    for name in names:
        assert name in cells, f"surface.vtp lacks {name}: it has {sorted(cells)}"
        assert np.isfinite(cells[name]).all(), f"{name} is not finite everywhere"
    area = areas(surface)
    bodies = np.unique(cells["body"])
    found = {int(b): (area * np.abs(cells["thickness_m"]))[cells["body"] == b].sum() for b in bodies}
    stated = [b["volume_m3"] for b in summary["bodies"]]
    assert len(found) == len(stated), "bodies in surface.vtp and summary differ"
    for (number, volume), body in zip(sorted(found.items()), summary["bodies"]):
        off = volume / body["volume_m3"] - 1
        print(f"{body['name']}: volume {volume:.6e} m3, summary {body['volume_m3']:.6e}, off {off:+.2e}")
        assert abs(off) < TOLERANCE, f"body {number} ({body['name']}) is off by {off:+.2e}"
    bath = read(vtkXMLUnstructuredGridReader(), folder / "bath.vtu")
    assert bath.GetNumberOfCells() == summary["grid"]["cells"], "bath.vtu has another number of cells"
    fields = arrays(bath.GetCellData())
    for name in ["potential_V", "current_density_A_per_m2", "cell_size_m"]:
        assert np.isfinite(fields[name]).all(), f"{name} is not finite everywhere"
    parts = sorted(folder.glob("part-*.vtp"))
    assert parts, "no part files"
    for part in parts:
        data = arrays(read(vtkXMLPolyDataReader(), part).GetPointData())
        wet = np.isfinite(data["thickness_m"])
        assert wet.any(), f"{part.name} has no thickness anywhere"
        print(f"{part.name}: {wet.sum()} of {wet.size} vertices wet")
    series = xml.parse(folder / "series.pvd").getroot()
    for entry in series.iter("DataSet"):
        assert (folder / entry.get("file")).exists(), f"series.pvd names {entry.get('file')}"
    print(f"{folder.name}: {bath.GetNumberOfCells()} cells, {surface.GetNumberOfCells()} surface pieces, all well")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]))
