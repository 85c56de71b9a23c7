"""OBJ: text with vertices and polygons, without a unit. Material files that it names are never opened."""

import numpy as np

from quoting.geometry.files.bodies import MOST_FACES, Pieces, UnreadableError, check_corners, check_faces, counted

MOST_CORNERS = 1000  # of one polygon


def looks_like(data: bytes) -> bool:
    """Whether the beginning is text with vertex lines.

    Examples
    --------
    >>> looks_like(b"# cube\\nv 0 0 0\\n"), looks_like(b"very well")
    (True, False)
    """
    head = data[:65536]
    return b"\x00" not in head and any(line.lstrip()[:2] in (b"v ", b"v\t") for line in head.splitlines())


def polygons(data: bytes) -> Pieces:
    """Triangles of an OBJ in file units; a polygon of more corners is cut as a fan.

    Raises
    ------
    UnreadableError
        A line cannot be read, names a vertex that is not there, or there are too many faces.
    """
    vertices: list[list[float]] = []
    triangles: list[tuple[int, int, int]] = []
    wide: list[list[int]] = []
    for number, line in enumerate(data.splitlines(), 1):
        words = line.split()
        try:
            if words and words[0] == b"v":
                vertices.append([float(word) for word in words[1:4]])
                _check(len(vertices[-1]) == 3)
            elif words and words[0] == b"f":
                corners = _corners(words[1:], len(vertices))
                triangles += [(corners[0], one, two) for one, two in zip(corners[1:], corners[2:], strict=False)]
                if len(corners) > 3:
                    wide.append(corners)
        except ValueError:
            raise UnreadableError(f"the OBJ is damaged or cut off: line {number:,} cannot be read") from None
        if len(triangles) > MOST_FACES:
            check_faces(len(triangles))
        check_corners(len(vertices))
    check_faces(len(triangles))
    points = np.array(vertices, dtype=float)
    dented = _dented(points, wide)
    warnings = (f"{counted(dented, 'face has', 'faces have')} a dent and may be filled wrongly",) if dented else ()
    return Pieces(((points, np.array(triangles)),), warnings=warnings)


def _corners(words: list[bytes], known: int) -> list[int]:
    """Vertex numbers of one polygon from 0; the file counts from 1, or backwards from the last."""
    _check(3 <= len(words) <= MOST_CORNERS)
    numbers = [int(word.split(b"/", 1)[0]) for word in words]
    _check(all(number != 0 and -known <= number for number in numbers))
    return [number - 1 if number > 0 else known + number for number in numbers]


def _check(is_right: bool) -> None:
    if not is_right:
        raise ValueError


def _dented(points: np.ndarray, wide: list[list[int]]) -> int:
    """How many polygons turn both ways at their corners [-]: a fan does not fill those."""
    found = 0
    for size in sorted({len(corners) for corners in wide}):
        loops = np.array([corners for corners in wide if len(corners) == size])
        if loops.max() >= len(points):
            continue  # refused later, with the other bad numbers
        ring = points[loops]
        sides = np.roll(ring, -1, axis=1) - ring
        turns = np.cross(sides, np.roll(sides, -1, axis=1))
        along = np.einsum("nki,ni->nk", turns, turns.sum(axis=1))
        found += int((along.min(axis=1) < -1e-6 * np.abs(along).max(axis=1)).sum())
    return found
