"""Forces in a membrane of incompressible rubber-like sheet, triangle by triangle, all at once.

Mooney's energy for each volume of sheet, ``W = c1 (I1 - 3) + c2 (I2 - 3)``, shear modulus ``2 (c1 + c2)``; with c2 = 0
it is the neo-Hookean one. Lengths and forces are without units: shear modulus times gauge is 1.
"""

from dataclasses import dataclass

import numpy as np

Array = np.ndarray

MOST_STIFFENING = 50.0  # -, limit of how much stiffer a triangle counts than a wide stretched one
LEAST_DETERMINANT = 1e-8  # -, of C: a folded triangle gives forces still


@dataclass(frozen=True)
class Triangles:
    """Triangles of a sheet as they were when flat. ``faces`` (3, m); the rest (m,)."""

    faces: Array
    area: Array  # when flat, lengths squared
    inverse: Array  # (2, 2, m), inverse of the two edges from the first corner, as columns

    def taken(self, which: Array) -> "Triangles":
        """Some of them."""
        return Triangles(self.faces[:, which], self.area[which], self.inverse[:, :, which])


def triangles_of(rest: Array, volume: Array, faces: Array) -> Triangles:
    """Triangles of a sheet from their shapes without stress.

    Parameters
    ----------
    rest : ndarray
        (2, 3, m) corners of each in a plane of its own [any length], counter-clockwise.
    volume : ndarray
        (m,) volume over gauge: the area when flat.
    faces : ndarray
        (3, m)

    Returns
    -------
    triangles : Triangles

    Examples
    --------
    >>> rest = np.array([[[0.0], [2.0], [0.0]], [[0.0], [0.0], [1.0]]])
    >>> triangles_of(rest, np.ones(1), np.array([[0], [1], [2]])).inverse[:, :, 0].tolist()
    [[0.5, -0.0], [-0.0, 1.0]]
    """
    (a, c), (b, d) = rest[:, 1] - rest[:, 0], rest[:, 2] - rest[:, 0]
    return Triangles(faces, volume, np.array([[d, -b], [-c, a]]) / (a * d - b * c))


def stretched(triangles: Triangles, places: Array) -> tuple[Array, Array, Array, Array, Array]:
    """Deformation of each triangle: both columns of F (3, m), and C as xx, yy, xy (m,)."""
    first, second, third = (places[:, corner] for corner in triangles.faces)
    u, v = second - first, third - first
    (a, b), (c, d) = triangles.inverse
    along, across = u * a + v * c, u * b + v * d
    return along, across, _dot(along, along), _dot(across, across), _dot(along, across)


def elastic_forces(triangles: Triangles, places: Array, mooney: float = 0.0) -> tuple[Array, Array]:
    """Force on the second and on the third corner of each triangle, (3, m) each; the first has minus their sum.

    ``P = F S``, ``S = 2 dW/dC`` with ``I1 = tr C + 1/det C``, ``I2 = det C + tr C/det C``

    Parameters
    ----------
    triangles : Triangles
    places : ndarray
        (3, n), where the nodes are now.
    mooney : float
        Share of c2 in c1 + c2 [-], 0 to 1.

    Returns
    -------
    second, third : ndarray
        [shear modulus times gauge times length]

    Examples
    --------
    >>> flat = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    >>> one = triangles_of(flat[:, :, None], np.array([0.5]), np.array([[0], [1], [2]]))
    >>> second, _ = elastic_forces(one, np.vstack([2 * flat, np.zeros(3)]))
    >>> float(second[0, 0]) == -0.5 * (2 - 2**-5)
    True
    """
    along, across, xx, yy, xy = stretched(triangles, places)
    determinant = np.maximum(xx * yy - xy * xy, LEAST_DETERMINANT)
    plain, inverse = 1.0 - mooney, -(1.0 - mooney) / determinant
    if mooney:
        plain = plain + mooney / determinant
        inverse = inverse + mooney * (determinant - (xx + yy) / determinant)
    inverse = inverse / determinant  # times the adjugate of C, which is det C times its inverse
    s_xx, s_yy, s_xy = plain + inverse * yy, plain + inverse * xx, -inverse * xy
    (a, b), (c, d) = triangles.inverse * -triangles.area
    second = along * (s_xx * a + s_xy * b) + across * (s_xy * a + s_yy * b)
    third = along * (s_xx * c + s_xy * d) + across * (s_xy * c + s_yy * d)
    return second, third


def area_vectors(faces: Array, places: Array) -> Array:
    """Area of each triangle times its normal (3, m)."""
    first, second, third = (places[:, corner] for corner in faces)
    (ux, uy, uz), (vx, vy, vz) = second - first, third - first
    return np.array([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx]) / 2


def nodal_forces(triangles: Triangles, places: Array, pushed: Array, mooney: float = 0.0) -> Array:
    """Force on each node (3, n) of stretch, and of the push of a gas.

    Parameters
    ----------
    triangles : Triangles
    places : ndarray
        (3, n)
    pushed : ndarray
        (3, m) push on each corner of each triangle [shear modulus times gauge times length].
    mooney : float
        [-]

    Returns
    -------
    forces : ndarray
        (3, n)
    """
    second, third = elastic_forces(triangles, places, mooney)
    corners = np.concatenate([pushed - second - third, pushed + second, pushed + third], axis=1)
    index, count = triangles.faces.ravel(), places.shape[1]
    return np.array([np.bincount(index, row, count) for row in corners])


def fictitious_masses(triangles: Triangles, places: Array, mooney: float, safety: float = 0.8) -> Array:
    """Mass of each node (n,) with which a step in time of 1 is stable: from the stiffness of its triangles.

    ``m = safety sum(A |grad N|^2 k)``, k the stiffest in-plane modulus over that of a wide stretched sheet.
    """
    _, _, xx, yy, xy = stretched(triangles, places)
    determinant = np.maximum(xx * yy - xy * xy, LEAST_DETERMINANT)
    trace = xx + yy
    least = np.maximum(determinant / trace, LEAST_DETERMINANT)  # at most the smaller eigenvalue of C
    stiff = 1.0 + 3.0 * (1 - mooney) / (determinant * least) + 3 * mooney * trace
    weight = safety * triangles.area * np.minimum(stiff, MOST_STIFFENING)
    (a, b), (c, d) = triangles.inverse
    corners = [(a + c) ** 2 + (b + d) ** 2, a**2 + b**2, c**2 + d**2]
    return np.bincount(triangles.faces.ravel(), np.concatenate([weight * g for g in corners]), places.shape[1])


def _dot(first: Array, second: Array) -> Array:
    return first[0] * second[0] + first[1] * second[1] + first[2] * second[2]
