"""Forces in a membrane of incompressible rubber-like sheet, triangle by triangle, all at once.

Mooney's energy for each volume of sheet, ``W = c1 (I1 - 3) + c2 (I2 - 3)``, shear modulus ``2 (c1 + c2)``; with c2 = 0
it is the neo-Hookean one. Lengths and forces are without units: shear modulus times gauge is 1.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

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


class Net:
    """Triangles that can move, as two sparse matrices: from places to stretch, and from stress and push to forces.

    Both are made once for many steps: the sums over corners are then one product each.
    """

    def __init__(self, triangles: Triangles, count: int) -> None:
        self.triangles, faces = triangles, triangles.faces
        (a, b), (c, d) = triangles.inverse
        slopes = np.array([[-a - c, a, c], [-b - d, b, d]])  # of the shape functions, (2, 3, m)
        self.flat_area = 0.5 / (a * d - b * c)
        size = faces.shape[1]
        ends, corners = np.arange(0, 6 * size + 1, 3), np.concatenate([faces.T, faces.T]).ravel()
        self._stretching = csr_array((slopes.transpose(0, 2, 1).ravel(), corners, ends), shape=(2 * size, count))
        weights = np.concatenate([-triangles.area * slopes[0], -triangles.area * slopes[1], np.ones((3, size))], axis=1)
        columns = np.broadcast_to(np.arange(3 * size), (3, 3 * size))
        self._gathering = csr_array(
            (weights.ravel(), (np.concatenate([faces] * 3, axis=1).ravel(), columns.ravel())), shape=(count, 3 * size)
        )

    def stretched(self, places: Array) -> tuple[Array, Array]:
        """Both columns of the deformation F of each triangle, (3, m) each, for nodes at (3, n)."""
        both = np.array([self._stretching @ row for row in places])
        size = self.flat_area.size
        return both[:, :size], both[:, size:]

    def area_vectors(self, along: Array, across: Array) -> Array:
        """Area of each triangle times its normal (3, m), from both columns of F."""
        (ax, ay, az), (bx, by, bz) = along, across
        return np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx]) * self.flat_area

    def forces(self, along: Array, across: Array, pushed: Array, mooney: float = 0.0) -> Array:
        """Force on each node (3, n) of stretch, and of the push of a gas.

        ``P = F S``, ``S = 2 dW/dC`` with ``I1 = tr C + 1/det C``, ``I2 = det C + tr C/det C``

        Parameters
        ----------
        along, across : ndarray
            (3, m), columns of F.
        pushed : ndarray
            (3, m) push on each corner of each triangle [shear modulus times gauge times length].
        mooney : float
            Share of c2 in c1 + c2 [-], 0 to 1.

        Returns
        -------
        forces : ndarray
            [shear modulus times gauge times length]

        Examples
        --------
        >>> flat = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
        >>> net = Net(triangles_of(flat[:, :, None], np.array([0.5]), np.array([[0], [1], [2]])), 3)
        >>> along, across = net.stretched(np.vstack([2 * flat, np.zeros(3)]))
        >>> float(net.forces(along, across, np.zeros((3, 1)))[0, 1]) == -0.5 * (2 - 2**-5)
        True
        """
        xx, yy, xy = _squares(along, across)
        determinant = np.maximum(xx * yy - xy * xy, LEAST_DETERMINANT)
        plain, inverse = 1.0 - mooney, -(1.0 - mooney) / determinant
        if mooney:
            plain = plain + mooney / determinant
            inverse = inverse + mooney * (determinant - (xx + yy) / determinant)
        inverse /= determinant  # times the adjugate of C, which is det C times its inverse
        s_xx, s_yy, s_xy = plain + inverse * yy, plain + inverse * xx, -inverse * xy
        acting = np.concatenate([along * s_xx + across * s_xy, along * s_xy + across * s_yy, pushed], axis=1)
        return np.array([self._gathering @ row for row in acting])

    def masses(self, along: Array, across: Array, mooney: float, safety: float = 0.8) -> Array:
        """Mass of each node (n,) with which a step in time of 1 is stable: from the stiffness of its triangles.

        ``m = safety sum(A |grad N|^2 k)``, k the stiffest in-plane modulus over that of a wide stretched sheet.
        """
        xx, yy, xy = _squares(along, across)
        determinant = np.maximum(xx * yy - xy * xy, LEAST_DETERMINANT)
        trace = xx + yy
        least = np.maximum(determinant / trace, LEAST_DETERMINANT)  # at most the smaller eigenvalue of C
        stiff = 1.0 + 3.0 * (1 - mooney) / (determinant * least) + 3 * mooney * trace
        weight = safety * self.triangles.area * np.minimum(stiff, MOST_STIFFENING)
        (a, b), (c, d) = self.triangles.inverse
        corners = [(a + c) ** 2 + (b + d) ** 2, a**2 + b**2, c**2 + d**2]
        faces, count = self.triangles.faces.ravel(), self._stretching.shape[1]
        return np.bincount(faces, np.concatenate([weight * g for g in corners]), count)


def area_vectors(faces: Array, places: Array) -> Array:
    """Area of each triangle times its normal (3, m)."""
    first, second, third = (places.take(corner, axis=1) for corner in faces)
    (ux, uy, uz), (vx, vy, vz) = second - first, third - first
    return np.array([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx]) / 2


def _squares(along: Array, across: Array) -> tuple[Array, Array, Array]:
    """C = F'F as xx, yy, xy (m,)."""
    return _dot(along, along), _dot(across, across), _dot(along, across)


def _dot(first: Array, second: Array) -> Array:
    return first[0] * second[0] + first[1] * second[1] + first[2] * second[2]
