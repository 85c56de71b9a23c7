"""Measures one CAD file and prints what it found as JSON. Runs alone, in a child process with limits.

``python -m quoting.intake.measuring FILE``: lengths are in file units for STL, which has none, and in metres for STEP.
A file may be hostile: the limits are set before the mesh libraries are loaded, and the parent believes nothing but
finite numbers.
"""

import json
import resource
import sys
from pathlib import Path

MEMORY_LIMIT = 2 * 1024**3  # bytes of address space
CPU_LIMIT = 60  # s
BINARY_HEADER, BYTES_PER_FACE = 84, 50  # of a binary STL


class UnreadableError(ValueError):
    """The file is not a model that can be measured; the text says why."""


def set_limits() -> None:
    """Bound memory, processor time and written files of this process."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_LIMIT, MEMORY_LIMIT))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_LIMIT, CPU_LIMIT))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def looks_like(path: Path) -> str:
    """``stl`` or ``step`` by what the file holds; the libraries do not report bad CAD as bad.

    A binary STL has exactly 84 + 50 x faces bytes, an ASCII one starts with ``solid``, a STEP with ISO-10303-21.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(BINARY_HEADER)
    if path.suffix.lower() == ".stl":
        faces = int.from_bytes(head[80:84], "little")
        if size > BINARY_HEADER and size == BINARY_HEADER + BYTES_PER_FACE * faces:
            return "stl"
        if head.lstrip().lower().startswith(b"solid"):
            return "stl"
        raise UnreadableError("the file is not an STL: neither ASCII nor of the size that its face count asks for")
    if b"ISO-10303-21" not in head:
        raise UnreadableError("the file is not a STEP file: it does not start with ISO-10303-21")
    return "step"


def measured(path: Path) -> dict[str, object]:
    """Extents, areas and volume of the model, as plain numbers."""
    kind = looks_like(path)
    import trimesh  # after the limits are set

    mesh = trimesh.load(path, file_type="stl" if kind == "stl" else "step", force="mesh")
    if not isinstance(mesh, trimesh.Trimesh) or len(mesh.faces) == 0:
        raise UnreadableError("the model has no surface")
    mesh.merge_vertices()
    normals, areas = mesh.face_normals, mesh.area_faces
    return {
        "kind": kind,
        "faces": len(mesh.faces),
        "extents": [float(extent) for extent in mesh.extents],
        "area": float(mesh.area),
        "volume": float(abs(mesh.volume)),
        "watertight": bool(mesh.is_watertight),
        "facing": [_facing(areas * normals[:, axis]) for axis in range(3)],
    }


def _facing(projected) -> float:
    """Area seen along one axis: the larger of what faces up and what faces down; overlaps count twice."""
    return float(max(projected.clip(min=0).sum(), -projected.clip(max=0).sum()))


def main(arguments: list[str]) -> int:
    """Measure the file named and print one JSON object: the measures, or ``{"refused": why}``."""
    set_limits()
    try:
        found: dict[str, object] = measured(Path(arguments[0]))
    except UnreadableError as error:
        found = {"refused": str(error)}
    except MemoryError:
        found = {"refused": "the model needs more memory than is allowed"}
    except Exception as error:  # noqa: BLE001 - a mesh library may raise anything on a bad file
        found = {"refused": f"the model cannot be read ({type(error).__name__})"}
    sys.stdout.write(json.dumps(found))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
