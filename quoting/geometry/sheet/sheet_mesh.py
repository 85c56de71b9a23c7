"""The flat sheet as triangles: rectangles and discs, and halving of triangles that have become too long."""

from dataclasses import dataclass

import numpy as np

Array = np.ndarray


@dataclass(frozen=True)
class FlatSheet:
    """Nodes (2, n) [any length], triangles (3, m) counter-clockwise, and which nodes the clamp holds (n,)."""

    places: Array
    faces: Array
    clamped: Array


def rectangular_sheet(across: Array, along: Array) -> FlatSheet:
    """Triangles on the lines of a grid, its diagonals turned so that both middle lines are lines of symmetry.

    Parameters
    ----------
    across, along : ndarray
        Lines of the grid, rising; an odd number of each.

    Returns
    -------
    sheet : FlatSheet

    Examples
    --------
    >>> sheet = rectangular_sheet(np.linspace(0, 1, 3), np.linspace(0, 1, 5))
    >>> sheet.places.shape, sheet.faces.shape, int(sheet.clamped.sum())
    ((2, 15), (3, 16), 12)
    """
    x, y = np.meshgrid(across, along, indexing="ij")
    number = np.arange(x.size).reshape(x.shape)
    a, b, c, d = number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]
    even = np.add.outer(np.arange(a.shape[0]), np.arange(a.shape[1])) % 2 == 0
    rising = np.array([[a, b, c], [a, c, d]])[..., even]
    falling = np.array([[a, b, d], [b, c, d]])[..., ~even]
    faces = np.concatenate([*rising, *falling], axis=1)
    edge = np.ones(x.shape, bool)
    edge[1:-1, 1:-1] = False
    return FlatSheet(np.array([x.ravel(), y.ravel()]), faces, edge.ravel())


def round_sheet(radii: Array) -> FlatSheet:
    """Triangles between rings: the k-th has 6 k nodes.

    Parameters
    ----------
    radii : ndarray
        Of the rings, rising, above 0.

    Returns
    -------
    sheet : FlatSheet

    Examples
    --------
    >>> sheet = round_sheet(np.array([0.5, 1.0]))
    >>> sheet.places.shape, sheet.faces.shape, int(sheet.clamped.sum())
    ((2, 19), (3, 24), 12)
    """
    rings = len(radii)
    ring = np.repeat(np.arange(1, rings + 1), 6 * np.arange(1, rings + 1))
    angle = np.concatenate([np.arange(6 * k) * (np.pi / (3 * k)) for k in range(1, rings + 1)])
    radius = np.concatenate([[0.0], np.asarray(radii)[ring - 1]])
    angle = np.concatenate([[0.0], angle])
    faces = np.concatenate([_between_rings(k) for k in range(1, rings + 1)], axis=1)
    return FlatSheet(radius * np.array([np.cos(angle), np.sin(angle)]), faces, np.append(False, ring == rings))


def _between_rings(k: int) -> Array:
    """Triangles between ring k - 1 and ring k (3, 6 (2 k - 1))."""

    def node(ring: int, place: Array) -> Array:
        return 1 + 3 * ring * (ring - 1) + place % (6 * ring) if ring else 0 * place

    sector, step = np.repeat(np.arange(6), k), np.tile(np.arange(k), 6)
    outer, inner = sector * k + step, sector * (k - 1) + step
    pointing_in = np.array([node(k, outer), node(k, outer + 1), node(k - 1, inner)])
    within = step < k - 1
    pointing_out = np.array([node(k, outer + 1), node(k - 1, inner + 1), node(k - 1, inner)])[:, within]
    return np.concatenate([pointing_in, pointing_out], axis=1)


@dataclass(frozen=True)
class Split:
    """Triangles after halving (3, k), from which each comes (k,), and the ends of the edge around each new node.

    ``corners`` (2, 3, k): which two corners of the triangle it comes from each corner lies in the middle of; twice the
    same where it is one of them.
    """

    faces: Array
    parent: Array
    corners: Array
    ends: Array


def split_long(faces: Array, places: Array, wanted: Array) -> Split:
    """Halve triangles at their longest edge, and neighbours as far as it takes that edges meet at their ends.

    Parameters
    ----------
    faces : ndarray
        (3, m)
    places : ndarray
        (2 or 3, n), by which lengths are measured.
    wanted : ndarray
        (m,) True where a triangle is to be halved.

    Returns
    -------
    split : Split

    Examples
    --------
    >>> square = np.array([[0, 0], [1, 2], [2, 3]])
    >>> split = split_long(square, np.array([[0.0, 1, 1, 0], [0, 0, 1, 1]]), np.array([True, False]))
    >>> split.faces.shape, split.ends.ravel().tolist()
    ((3, 4), [0, 2])
    """
    edges, of_face = _edges(faces)  # edge i of a face lies opposite its corner i
    length = np.sum((places[:, edges[0]] - places[:, edges[1]]) ** 2, axis=0)
    # of equal edges the same one is the longest from both sides
    length = length * (1 + 1e-9 * np.arange(length.size) / length.size)
    longest = np.argmax(length[of_face], axis=0)
    column = np.arange(faces.shape[1])
    main = of_face[longest, column]
    marked = np.zeros(length.size, bool)
    marked[main[wanted]] = True
    while True:
        follow = marked[of_face].any(axis=0) & ~marked[main]
        if not follow.any():
            break
        marked[main[follow]] = True
    middle = np.where(marked, np.cumsum(marked) - 1 + places.shape[1], -1)
    turned = (longest + np.arange(3)[:, None]) % 3  # the corner opposite to the longest edge first
    parent, own = _halves(middle[of_face[turned, column]])
    # a corner 0 to 2 of the turned triangle, or 3 to 5 for the middle of the edge opposite to it
    nodes = np.concatenate([faces[turned, column], middle[of_face[turned, column]]])
    ends = np.array([[0, 1, 2, 1, 2, 0], [0, 1, 2, 2, 0, 1]])[:, own]
    return Split(nodes[own, parent], parent, turned[ends, parent], edges[:, marked])


def _halves(middle: Array) -> tuple[Array, Array]:
    """Children of triangles whose longest edge lies opposite the first corner; ``middle`` -1 where an edge stays."""
    numbers = np.arange(middle.shape[1])
    cut = middle >= 0
    patterns = [
        (~cut[0], [(0, 1, 2)]),
        (cut[0] & ~cut[2], [(0, 1, 3)]),
        (cut[0] & cut[2], [(0, 5, 3), (5, 1, 3)]),
        (cut[0] & ~cut[1], [(2, 0, 3)]),
        (cut[0] & cut[1], [(2, 4, 3), (4, 0, 3)]),
    ]
    parents = [numbers[where] for where, children in patterns for _ in children]
    owns = [
        np.repeat(np.array(child)[:, None], where.sum(), axis=1) for where, children in patterns for child in children
    ]
    return np.concatenate(parents), np.concatenate(owns, axis=1)


def _edges(faces: Array) -> tuple[Array, Array]:
    """Ends of each edge (2, e), and the edge opposite each corner of each face (3, m)."""
    pairs = np.sort(np.array([[faces[1], faces[2]], [faces[2], faces[0]], [faces[0], faces[1]]]), axis=1)
    flat = pairs.transpose(1, 0, 2).reshape(2, -1)
    base = int(faces.max()) + 1
    keys, of_face = np.unique(flat[0].astype(np.int64) * base + flat[1], return_inverse=True)
    return np.array([keys // base, keys % base]), of_face.reshape(faces.shape)
