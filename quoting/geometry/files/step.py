"""STEP (AP203, AP214, AP242) to triangles; the CAD kernel answers in metres and says little about bad files."""

import re
from io import BytesIO

import cascadio
import numpy as np
import trimesh

from quoting.geometry.files.assembling import instances
from quoting.geometry.files.bodies import Pieces, UnreadableError, check_bodies, check_faces

TOLERANCE = 0.1  # mm, the unit the kernel works in: a wall of heavy gauge is made no closer
ANGLE = 0.2  # rad between neighbouring facets: a cylinder's area comes out within 0.1 %
MOST_PLACINGS = 5000  # of parts in assemblies; looking at each takes time
DEEPEST_BRACKETS = 100  # an entity of the schemas needs about ten
SOLIDS = re.compile(
    rb"=\s*\(?\s*(?:MANIFOLD_SOLID_BREP|BREP_WITH_VOIDS|FACETED_BREP|SHELL_BASED_SURFACE_MODEL|TESSELLATED_SOLID)\s*\("
)
PLACED = re.compile(rb"NEXT_ASSEMBLY_USAGE_OCCURRENCE\s*\([^;]{0,2000}?,\s*#(\d{1,12})\s*,\s*#(\d{1,12})\s*,")
ASSIGNED = re.compile(rb"GLOBAL_UNIT_ASSIGNED_CONTEXT\s*\(\s*\(([#\d,\s]{0,400})\)")
LENGTH = re.compile(rb"#(\d{1,12})\s*=\s*(\([^;]{0,300}?LENGTH_UNIT[^;]{0,300});")
SI_LENGTH = re.compile(rb"SI_UNIT\s*\(\s*(?:\$|\.(\w{1,10})\.)\s*,\s*\.METRE\.\s*\)")
CONVERTED = re.compile(rb"CONVERSION_BASED_UNIT\s*\(\s*'(\w{1,20})'")
PREFIXES = {b"": 1.0, b"MICRO": 1e-6, b"MILLI": 1e-3, b"CENTI": 1e-2, b"DECI": 0.1, b"KILO": 1e3}  # m
CONVERSIONS = {
    b"INCH": 0.0254, b"IN": 0.0254, b"FOOT": 0.3048, b"FT": 0.3048, b"MILLIMETRE": 1e-3, b"MM": 1e-3,
    b"CENTIMETRE": 1e-2, b"METRE": 1.0,
}  # fmt: skip


def solids(data: bytes) -> Pieces:
    """Triangles of every placed body of a STEP file, in the file's unit where that is clear, else as if in mm.

    Raises
    ------
    UnreadableError
        It is cut off, nests too deep, points to other files, holds too many bodies or none.
    """
    _check_text(data)
    unit = length_unit(data)
    glb = cascadio.load(data, tol_linear=TOLERANCE, tol_angular=ANGLE, use_parallel=False)
    if not glb:
        raise UnreadableError("the STEP file holds no solid or surface that can be read, or it is damaged")
    scene = trimesh.load(BytesIO(glb), file_type="glb", force="scene", process=False)
    pieces = _placed(scene, 1.0 / (unit or 0.001))
    check_faces(sum(len(faces) for _, faces in pieces))
    return Pieces(tuple(pieces), unit)


def _check_text(data: bytes) -> None:
    if b"END-ISO-10303-21" not in data[-4096:]:
        raise UnreadableError("the STEP file is cut off: its closing line is missing")
    if _deepest_bracket(data) > DEEPEST_BRACKETS:
        raise UnreadableError("the STEP file is damaged: its brackets nest deeper than any model needs")
    if b"APPLIED_EXTERNAL_IDENTIFICATION_ASSIGNMENT" in data and b"DOCUMENT_FILE" in data:
        raise UnreadableError("the STEP file points to parts in other files: export the part into one file")
    check_bodies(max(len(SOLIDS.findall(data)), _placed_bodies(data)))


def _deepest_bracket(data: bytes) -> int:
    """Greatest depth of brackets [-], in slices that spare memory."""
    deepest = depth = 0
    for start in range(0, len(data), 1 << 20):
        part = np.frombuffer(data, np.uint8, min(1 << 20, len(data) - start), start)
        run = depth + np.cumsum((part == ord("(")).astype(np.int32) - (part == ord(")")))
        deepest, depth = max(deepest, int(run.max())), int(run[-1])
    return deepest


def _placed_bodies(data: bytes) -> int:
    """Bodies that the assembly tree comes to [-]; 0 without one."""
    if data.count(b"NEXT_ASSEMBLY_USAGE_OCCURRENCE") > MOST_PLACINGS:
        raise UnreadableError("the STEP file is an assembly of too many parts: send the one part that is to be formed")
    children: dict[bytes, list[bytes]] = {}
    for whole, part in PLACED.findall(data):
        children.setdefault(whole, []).append(part)
    inner = {part for parts in children.values() for part in parts}
    tops = [whole for whole in children if whole not in inner]
    if children and not tops:
        raise UnreadableError("the assembly contains itself, or its parts lie too deep within parts")
    return sum(instances(children, top) for top in tops)


def length_unit(data: bytes) -> float | None:
    """Metres per length unit of the file [m]; None where it names none or several that differ.

    Examples
    --------
    >>> length_unit(b"#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));#2=(GLOBAL_UNIT_ASSIGNED_CONTEXT((#1)));")
    0.001
    """
    used = {number for listed in ASSIGNED.findall(data) for number in re.findall(rb"#(\d{1,12})", listed)}
    found = {_metres(text) for number, text in LENGTH.findall(data) if number in used}
    return found.pop() if len(found) == 1 else None


def _metres(entity: bytes) -> float | None:
    converted, plain = CONVERTED.search(entity), SI_LENGTH.search(entity)
    if converted:
        return CONVERSIONS.get(converted.group(1).upper())
    return PREFIXES.get((plain.group(1) or b"").upper()) if plain else None


def _placed(scene: trimesh.Scene, scale: float) -> list[tuple[np.ndarray, np.ndarray]]:
    names = sorted(scene.graph.nodes_geometry)
    check_bodies(len(names))
    pieces = []
    for name in names:
        matrix, geometry = scene.graph[name]
        mesh = scene.geometry[geometry]
        if isinstance(mesh, trimesh.Trimesh):
            vertices = trimesh.transform_points(mesh.vertices, matrix) * scale
            pieces.append((vertices, np.asarray(mesh.faces)))
    return pieces
