"""STL, binary and ASCII: bare triangles without a unit."""

import re

import numpy as np

from quoting.geometry.files.bodies import Pieces, UnreadableError, check_faces

HEADER, BYTES_PER_FACE = 84, 50  # bytes of a binary STL: 80 of comment and 4 of count, then 50 a face
RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
VERTEX = re.compile(rb"vertex[ \t]+(\S{1,40})[ \t]+(\S{1,40})[ \t]+(\S{1,40})", re.IGNORECASE)


def promised_faces(data: bytes) -> int:
    """Face count in the head of a binary STL [-]; 0 where there is no head.

    Examples
    --------
    >>> promised_faces(bytes(80) + (12).to_bytes(4, "little"))
    12
    """
    return int.from_bytes(data[80:HEADER], "little") if len(data) >= HEADER else 0


def is_binary(head: bytes, size: int) -> bool:
    """Whether the size [bytes] is what the face count asks for, the only mark that a binary STL has."""
    faces = promised_faces(head)
    return faces > 0 and size == HEADER + BYTES_PER_FACE * faces


def binary(data: bytes) -> Pieces:
    """Triangles of a binary STL in file units; stored normals are not believed."""
    check_faces(promised_faces(data))
    records = np.frombuffer(data, RECORD, offset=HEADER)
    return _soup(records["corners"].astype(float))


def ascii_text(data: bytes) -> Pieces:
    """Triangles of an ASCII STL in file units.

    Raises
    ------
    UnreadableError
        It is cut off, or a coordinate is no number.
    """
    found = VERTEX.findall(data)
    if len(found) % 3 or b"endsolid" not in data[-4096:].lower():
        raise UnreadableError("the STL is cut off: its last face or its closing line is missing")
    if len(found) // 3 != len(re.findall(rb"outer[ \t]+loop", data, re.IGNORECASE)):
        raise UnreadableError("the STL is damaged: its faces do not all have three corners")
    check_faces(len(found) // 3)
    try:
        corners = np.array(found).astype(float)
    except ValueError:
        raise UnreadableError("the STL is damaged: a coordinate in it is not a number") from None
    return _soup(corners.reshape(-1, 3, 3))


def _soup(corners: np.ndarray) -> Pieces:
    faces = np.arange(3 * len(corners)).reshape(-1, 3)
    return Pieces(((corners.reshape(-1, 3), faces),))
