"""From the bare triangles of a file to clean, separate bodies, and a plain word about everything that was done."""

from dataclasses import dataclass

import numpy as np

from quoting.geometry.files.bodies import (
    LARGEST_COORDINATE,
    Piece,
    UnreadableError,
    check_bodies,
    check_faces,
    counted,
)  # fmt: skip
from quoting.geometry.files.edges import Edges, agreeing, components, edges_of

GRID = 2**20  # steps along the longest side within which corners are one: 1 um on a part of 1 m
FLAT = 1e-12  # area as a share of the squared longest side, below which a face is a line
MOST_PIECES = 2000  # loose pieces before those that touch are put together
Array = np.ndarray


@dataclass(frozen=True, eq=False)
class Body:
    """One body [file units]: its triangles, whether it is closed, and what had to be done to it."""

    vertices: Array
    faces: Array
    closed: bool
    notes: tuple[str, ...] = ()

    @property
    def area(self) -> float:
        """Surface [file units squared]."""
        return float(np.linalg.norm(_crossed(self.vertices, self.faces), axis=1).sum() / 2)

    @property
    def volume(self) -> float:
        """Signed volume [file units cubed]; below 0 where the faces look inwards."""
        corners = (self.vertices - self.vertices.mean(axis=0))[self.faces]
        return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6)

    @property
    def box(self) -> Array:
        """Lowest and highest corner (2, 3) [file units]."""
        return np.stack((self.vertices.min(axis=0), self.vertices.max(axis=0)))


def separated(pieces: tuple[Piece, ...]) -> tuple[tuple[Body, ...], tuple[str, ...]]:
    """The bodies that the pieces of a file come to, largest surface first, and warnings.

    Raises
    ------
    UnreadableError
        A coordinate is not finite, a face names a missing corner, or nothing with a size is left.
    """
    check_bodies(len(pieces))
    check_faces(sum(len(faces) for _, faces in pieces))
    bodies: list[Body] = []
    dropped: dict[str, int] = {}
    for vertices, faces in pieces:
        _check_numbers(vertices, faces)
        points, kept = _joined(vertices, faces, dropped)
        if len(kept):
            bodies += _split(points, kept)
    check_bodies(len(bodies))
    if not bodies:
        raise UnreadableError("the model has no surface: all its faces are points or lines")
    bodies.sort(key=lambda body: -body.area)
    return tuple(bodies), tuple(_told(bodies, dropped))


def _check_numbers(vertices: Array, faces: Array) -> None:
    if not np.isfinite(vertices).all():
        raise UnreadableError("the model has corners whose coordinates are not numbers: export it again")
    if len(vertices) and np.abs(vertices).max() > LARGEST_COORDINATE:
        raise UnreadableError("the model has corners farther out than any part reaches: export it again")
    if len(faces) and (faces.min() < 0 or faces.max() >= len(vertices)):
        raise UnreadableError("the model is damaged or cut off: a face names a corner that is not there")


def _joined(vertices: Array, faces: Array, dropped: dict[str, int]) -> tuple[Array, Array]:
    """Corners at one place made one; faces without area and faces that come twice dropped and counted."""
    if not len(faces):
        return vertices, faces
    used = vertices[_named(len(vertices), faces)]
    low, side = used.min(axis=0), float(np.ptp(used, axis=0).max())
    if side == 0:
        return vertices, faces[:0]
    steps = np.rint(np.clip((vertices - low) / side, 0, 1) * GRID).astype(np.int64)  # unused corners may lie outside
    keys = (steps[:, 0] << 42) | (steps[:, 1] << 21) | steps[:, 2]
    _, first, number = np.unique(keys, return_index=True, return_inverse=True)
    corners = number.ravel()[faces]
    point = (corners == np.roll(corners, 1, axis=1)).any(axis=1)
    corners = corners[~point]
    corners, doubled = _once(corners)
    corners, lines = _without_lines(vertices[first], corners, FLAT * side**2)
    dropped["flat"] = dropped.get("flat", 0) + int(point.sum()) + lines
    dropped["double"] = dropped.get("double", 0) + doubled
    return vertices[first], corners


def _named(number: int, faces: Array) -> Array:
    """Which of so many corners any face names; marked one by one, since sets of numbers can be made slow on purpose."""
    named = np.zeros(number, bool)
    named[faces] = True
    return named


def _once(corners: Array) -> tuple[Array, int]:
    """Each set of three corners once, the first of them; and how many were dropped."""
    if not len(corners):
        return corners, 0
    ordered = np.sort(corners, axis=1)
    order = np.lexsort(ordered.T)
    again = np.zeros(len(corners), bool)
    again[order[1:]] = (ordered[order[1:]] == ordered[order[:-1]]).all(axis=1)  # lexsort is stable: the first stays
    return corners[~again], int(again.sum())


def _without_lines(vertices: Array, corners: Array, smallest: float) -> tuple[Array, int]:
    """Faces drawn out to a line dropped, unless that would tear a closed surface; and how many."""
    line = np.linalg.norm(_crossed(vertices, corners), axis=1) / 2 <= smallest
    if not line.any() or line.all() or edges_of(corners).is_closed:
        return corners[~line] if line.all() else corners, int(line.sum()) if line.all() else 0
    return corners[~line], int(line.sum())


def _crossed(vertices: Array, faces: Array) -> Array:
    one, two, three = (vertices[faces[:, corner]] for corner in range(3))
    return np.cross(two - one, three - one)


def _split(vertices: Array, faces: Array) -> list[Body]:
    """The pieces that hang together; hollows stay with the body around them, open pieces that touch with each other."""
    number, labels = components(faces)
    if number > MOST_PIECES:
        raise UnreadableError(f"the model falls into {number:,} loose pieces: join its surfaces before it is exported")
    order = np.argsort(labels, kind="stable")
    groups = np.split(faces[order], np.cumsum(np.bincount(labels))[:-1])
    found = [_clean(vertices, group) for group in groups]
    return _with_hollows([body for body in found if body.closed]) + _touching([b for b in found if not b.closed])


def _clean(vertices: Array, faces: Array) -> Body:
    """One connected piece with its own corners only, its faces agreeing which side is out."""
    used, numbers = np.unique(faces.ravel(), return_inverse=True)
    points, corners = vertices[used], numbers.reshape(-1, 3)
    edges, notes = edges_of(corners), []
    if not edges.is_consistent:
        corners = agreeing(corners, edges)
        edges = edges_of(corners)
        notes.append("had faces that did not agree which side is out; " + (
            "they were turned" if edges.is_consistent else "it has one side only, like a twisted strip"
        ))  # fmt: skip
    notes += _faults(edges)
    return Body(points, corners, edges.is_closed, tuple(notes))


def _faults(edges: Edges) -> list[str]:
    open_edges, crowded = int((edges.count == 1).sum()), int((edges.count > 2).sum())
    notes = []
    if open_edges:
        notes.append(f"is open: {counted(open_edges, 'edge borders', 'edges border')} on nothing")
    if crowded:
        notes.append(f"is no clean surface: at {counted(crowded, 'edge', 'edges')} three or more faces meet")
    return notes


def _with_hollows(closed: list[Body]) -> list[Body]:
    """Closed bodies; one that looks inwards is the hollow of the body around it, or else is turned."""
    solids = [body for body in closed if body.volume >= 0]
    added: dict[int, list[Body]] = {}
    for body in (body for body in closed if body.volume < 0):
        around = [index for index, solid in enumerate(solids[: len(closed)]) if _encloses(solid, body)]
        if around:
            added.setdefault(min(around, key=lambda index: solids[index].volume), []).append(body)
        else:
            solids.append(_turned(body))
    return [_together([solid, *added.get(index, [])], True) for index, solid in enumerate(solids)]


def _turned(body: Body) -> Body:
    notes = (*body.notes, "was inside out; it was turned")
    return Body(body.vertices, body.faces[:, ::-1], True, notes)


def _encloses(solid: Body, inner: Body) -> bool:
    """Whether a corner of ``inner`` lies inside ``solid``, by the solid angle under which its faces are seen."""
    if (solid.box[0] > inner.box[0]).any() or (solid.box[1] < inner.box[1]).any():
        return False
    a, b, c = np.moveaxis((solid.vertices - inner.vertices[0])[solid.faces], 1, 0)
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    dots = [np.einsum("ij,ij->i", *two) for two in ((a, b), (b, c), (c, a))]
    over = np.einsum("ij,ij->i", a, np.cross(b, c))
    angle = 2 * np.arctan2(over, la * lb * lc + dots[0] * lc + dots[1] * la + dots[2] * lb)
    return abs(angle.sum()) > 2 * np.pi  # 4 pi inside, 0 outside


def _touching(loose: list[Body]) -> list[Body]:
    """Open pieces whose boxes touch put together: a surface whose seams were not joined."""
    if len(loose) < 2:
        return loose
    boxes = np.stack([body.box for body in loose])
    gap = np.ptp(boxes.reshape(-1, 3), axis=0).max() / GRID
    apart = (boxes[:, None, 0] > boxes[None, :, 1] + gap).any(axis=2)
    from_, to = np.nonzero(~(apart | apart.T))
    _, labels = components(np.stack((from_, to, to), axis=1))
    group = np.zeros(len(loose), int)
    group[from_] = labels
    return [_together([loose[i] for i in np.flatnonzero(group == g)], False) for g in np.unique(group)]


def _together(parts: list[Body], closed: bool) -> Body:
    if len(parts) == 1:
        return parts[0]
    shifts = np.cumsum([0, *(len(part.vertices) for part in parts[:-1])])
    faces = np.concatenate([part.faces + shift for part, shift in zip(parts, shifts, strict=True)])
    if closed:
        notes = tuple(dict.fromkeys(note for part in parts for note in part.notes))
    else:
        notes = (f"is open: it is {len(parts)} surfaces that are not joined",)
    return Body(np.concatenate([part.vertices for part in parts]), faces, closed, notes)


def _told(bodies: list[Body], dropped: dict[str, int]) -> list[str]:
    warnings = []
    if dropped.get("flat"):
        warnings.append(f"{counted(dropped['flat'], 'face', 'faces')} without area dropped")
    if dropped.get("double"):
        warnings.append(f"{counted(dropped['double'], 'face', 'faces')} that came twice dropped")
    for number, body in enumerate(bodies, 1):
        name = "the model" if len(bodies) == 1 else f"body {number}"
        warnings += [f"{name} {note}" for note in body.notes]
    return warnings
