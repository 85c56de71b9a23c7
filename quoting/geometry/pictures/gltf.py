"""Meshes as one binary glTF file (.glb), the open standard that browsers and mesh programs read."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

Array = np.ndarray
# Numbers of the glTF 2.0 specification, Khronos Group; from memory, unverified here, but read back by a mesh library
# in the tests.
MAGIC, JSON_CHUNK, BINARY_CHUNK = b"glTF", b"JSON", b"BIN\0"
FLOAT, UNSIGNED_INT = 5126, 5125
VERTEX_BUFFER, INDEX_BUFFER = 34962, 34963
LINES, TRIANGLES = 1, 4


@dataclass(frozen=True, eq=False)
class Shape:
    """One mesh. ``attributes`` are of single precision by name, (n, 3) or (n,); ``POSITION`` [m] is one of them."""

    name: str
    attributes: Mapping[str, Array]
    triangles: Array  # (m, 3)
    lines: Array  # (k, 2), possibly none


@dataclass
class _Buffer:
    """Bytes, and where each array lies in them."""

    parts: list[bytes] = field(default_factory=list)
    views: list[dict[str, int]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)
    length: int = 0

    def add(self, array: Array, is_index: bool) -> int:
        """Number of the accessor of an array; every array is of four-byte numbers, so that all are aligned."""
        kept = np.ascontiguousarray(array, "<u4" if is_index else "<f4")
        content = kept.tobytes()
        accessor = {
            "bufferView": len(self.views), "componentType": UNSIGNED_INT if is_index else FLOAT,
            "count": int(kept.size if is_index else len(kept)),
            "type": "SCALAR" if is_index or kept.ndim == 1 else f"VEC{kept.shape[1]}",
        }  # fmt: skip
        if not is_index:
            low, high = np.atleast_1d(kept.min(axis=0)), np.atleast_1d(kept.max(axis=0))
            accessor |= {"min": low.astype(float).tolist(), "max": high.astype(float).tolist()}
        self.views.append({"buffer": 0, "byteOffset": self.length, "byteLength": len(content),
                           "target": INDEX_BUFFER if is_index else VERTEX_BUFFER})  # fmt: skip
        self.accessors.append(accessor)
        self.parts.append(content)
        self.length += len(content)
        return len(self.accessors) - 1


def glb(shapes: Sequence[Shape], extras: Mapping[str, Any]) -> bytes:
    """The file as bytes.

    Parameters
    ----------
    shapes : sequence of Shape
        Each becomes a mesh and a node of its name; +Y is up [m].
    extras : mapping
        Plain data for whoever draws it, kept with the scene [-].

    Returns
    -------
    content : bytes
    """
    buffer, meshes = _Buffer(), []
    for shape in shapes:
        attributes = {name: buffer.add(values, False) for name, values in shape.attributes.items()}
        primitives = [
            {"attributes": attributes, "indices": buffer.add(shape.triangles, True), "mode": TRIANGLES},
        ]
        if len(shape.lines):
            primitives.append(
                {"attributes": {"POSITION": attributes["POSITION"]}, "indices": buffer.add(shape.lines, True),
                 "mode": LINES}
            )  # fmt: skip
        meshes.append({"name": shape.name, "primitives": primitives})
    document = {
        "asset": {"version": "2.0"}, "scene": 0,
        "scenes": [{"nodes": list(range(len(meshes))), "extras": dict(extras)}],
        "nodes": [{"mesh": number, "name": mesh["name"]} for number, mesh in enumerate(meshes)],
        "meshes": meshes, "buffers": [{"byteLength": buffer.length}],
        "bufferViews": buffer.views, "accessors": buffer.accessors,
    }  # fmt: skip
    text = json.dumps(document, separators=(",", ":"), allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    chunks = _chunk(JSON_CHUNK, text) + _chunk(BINARY_CHUNK, b"".join(buffer.parts))
    return MAGIC + (2).to_bytes(4, "little") + (12 + len(chunks)).to_bytes(4, "little") + chunks


def _chunk(kind: bytes, content: bytes) -> bytes:
    return len(content).to_bytes(4, "little") + kind + content
