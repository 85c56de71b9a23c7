"""Edges of a surface of triangles: which faces meet where, and which way round they run."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

Array = np.ndarray


@dataclass(frozen=True, eq=False)
class Edges:
    """Every edge once. ``edge_of[3 f + k]`` is the edge of face f from its corner k to the next.

    ``forward`` says whether the face runs along it from the lower vertex number to the higher.
    """

    ends: Array  # (e, 2) vertex numbers, lower first
    count: Array  # (e,) faces at the edge
    edge_of: Array  # (3 m,)
    forward: Array  # (3 m,) bool

    @property
    def is_closed(self) -> bool:
        """Whether at every edge exactly two faces meet that run opposite ways."""
        return bool((self.count == 2).all()) and self.is_consistent

    @property
    def balance(self) -> Array:
        """Forward minus backward runs of each edge (e,) [-]."""
        return np.bincount(self.edge_of, np.where(self.forward, 1, -1), len(self.ends))

    @property
    def is_consistent(self) -> bool:
        """Whether faces that share an edge agree which side is out."""
        return not (self.balance[self.count == 2] != 0).any()

    def pairs(self) -> tuple[Array, Array, Array, Array]:
        """(first face, second face, edge, whether both run the same way) where exactly two faces meet."""
        order = np.argsort(self.edge_of, kind="stable")
        starts = np.concatenate(([0], np.cumsum(self.count)[:-1]))[self.count == 2]
        one, two = order[starts], order[starts + 1]
        return one // 3, two // 3, self.edge_of[one], self.forward[one] == self.forward[two]


def edges_of(faces: Array) -> Edges:
    """The edges of ``faces`` (m, 3)."""
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    low, high = np.minimum(start, end), np.maximum(start, end)
    width = int(faces.max()) + 1
    keys, edge_of, count = np.unique(low.astype(np.int64) * width + high, return_inverse=True, return_counts=True)
    return Edges(np.stack((keys // width, keys % width), axis=1), count, edge_of.ravel(), start < end)


def components(faces: Array) -> tuple[int, Array]:
    """Number of separate pieces and the piece of each face (m,) [-]; pieces that share a vertex are one."""
    used, numbers = np.unique(faces.ravel(), return_inverse=True)
    corners = numbers.reshape(-1, 3)
    rows, columns = np.concatenate((corners[:, 0], corners[:, 1])), np.concatenate((corners[:, 1], corners[:, 2]))
    graph = coo_array((np.ones(len(rows), np.int8), (rows, columns)), shape=(len(used), len(used)))
    number, labels = connected_components(graph, directed=False)
    return number, labels[corners[:, 0]]


def agreeing(faces: Array, edges: Edges) -> Array:
    """Faces turned so that neighbours run opposite ways along their edge; as few as possible are turned.

    A surface with one side only cannot be turned so; it comes back as good as it gets.
    """
    one, two, _, same = edges.pairs()
    turn = np.zeros(len(faces), bool)
    weights = np.where(same, 2, 1)
    graph = csr_array((np.tile(weights, 2), (np.r_[one, two], np.r_[two, one])), shape=(len(faces),) * 2)
    number, label = connected_components(graph, directed=False)
    for piece in range(number):
        members = np.flatnonzero(label == piece) if number > 1 else np.arange(len(faces))
        order, before = breadth_first_order(graph, members[0], directed=False)
        steps = _weights(graph, before[order[1:]], order[1:]) == 2
        for face, step in zip(order[1:].tolist(), steps.tolist(), strict=True):
            turn[face] = turn[before[face]] ^ step
        if 2 * turn[members].sum() > len(members):
            turn[members] ^= True
        if piece > 1000:
            break  # so many loose shreds are no surface; they are told as open edges
    return np.where(turn[:, None], faces[:, ::-1], faces)


def _weights(graph: csr_array, rows: Array, columns: Array) -> Array:
    return np.asarray(graph[rows, columns]).ravel() if len(rows) else np.zeros(0)
