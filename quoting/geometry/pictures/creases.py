"""Where a surface of triangles bends: creases to draw as lines, and normals that shade what lies between as smooth."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from quoting.geometry.files.edges import edges_of

Array = np.ndarray
CREASE = np.radians(25.0)  # rad between faces that an eye takes for an edge; common practice, no source
SMOOTHED = 200_000  # faces; more of them are so small that each may be shaded flat


@dataclass(frozen=True, eq=False)
class Creases:
    """Edges to draw (k, 2) vertex numbers; edges where two faces go on smoothly, with those faces (j, 2)."""

    sharp: Array
    smooth: Array
    smooth_faces: Array


def creases_of(faces: Array, normals: Array) -> Creases:
    """Edges between faces that lean more than 25 degrees to each other, edges on nothing, and the smooth rest."""
    edges = edges_of(faces)
    one, two, edge, is_same_way = edges.pairs()
    lean = np.einsum("ij,ij->i", normals[one], normals[two]) * np.where(is_same_way, -1.0, 1.0)
    is_smooth = lean > np.cos(CREASE)
    sharp = np.concatenate((edges.ends[edge[~is_smooth]], edges.ends[edges.count != 2]))
    return Creases(sharp, edges.ends[edge[is_smooth]], np.stack((one, two), axis=1)[is_smooth])


def corner_normals(faces: Array, normals: Array, areas: Array, creases: Creases) -> Array:
    """A unit normal for each corner of each face (m, 3, 3) [-], smooth but at creases.

    Formula: mean by area over the faces of one smooth patch around a vertex.
    """
    if len(faces) > SMOOTHED:
        return np.repeat(normals[:, None], 3, axis=1)
    one, two = creases.smooth_faces.T
    graph = coo_array((np.ones(len(one), np.int8), (one, two)), shape=(len(faces),) * 2)
    _, patch = connected_components(graph, directed=False)
    keys = faces.astype(np.int64) * (int(patch.max()) + 1) + patch[:, None]
    _, place = np.unique(keys.ravel(), return_inverse=True)
    weighted = np.repeat(normals * areas[:, None], 3, axis=0)
    sums = np.stack([np.bincount(place.ravel(), weighted[:, axis]) for axis in range(3)], axis=1)
    length = np.linalg.norm(sums, axis=1, keepdims=True)
    return (sums / np.where(length > 0, length, 1))[place.ravel()].reshape(-1, 3, 3)
