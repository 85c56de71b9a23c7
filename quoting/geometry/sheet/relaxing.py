"""A sheet coming to rest under the push of a gas: dynamic relaxation, sticking where it touches the tool.

A mass for each node makes a step in time of 1 stable; damping follows the lowest frequency that is seen in the motion.
The gas is a volume let in against a spring, so that a sheet past its greatest pressure does not run away.
"""

from dataclasses import dataclass

import numpy as np

from quoting.geometry.sheet.hyperelastic import Net, Triangles, area_vectors
from quoting.geometry.sheet.moving_sheet import MovingSheet
from quoting.geometry.sheet.tool_field import ToolField

Array = np.ndarray

MASSES_EVERY = 25  # steps
MOST_MOVE = 0.15  # -, of the median edge, in one step
HALVINGS = 12  # of the way of a node into the tool
MOST_DAMPING = 1.2  # -, for a step


@dataclass
class Gas:
    """Pushes with ``stiffness (let_in - volume)``; volume [-] below the level of the sheet's start.

    Where it ``only_holds`` it pushes up alone.
    """

    level: float
    let_in: float = 0.0
    stiffness: float = 1.0
    only_holds: bool = False

    def pressure(self, volume: float) -> float:
        pressure = self.stiffness * (self.let_in - volume)
        return min(pressure, 0.0) if self.only_holds else pressure


@dataclass(frozen=True)
class Rest:
    """How a sheet came to rest: steps taken, force left over that on the held nodes [-], volume below, pressure."""

    steps: int
    unbalanced: float
    volume: float
    pressure: float


def volume_below(level: float, faces: Array, places: Array) -> float:
    """Volume between a level and triangles below it [-]."""
    return float(np.dot(area_vectors(faces, places)[2], level - places[2][faces].mean(axis=0)))


def relax(
    sheet: MovingSheet,
    tool: ToolField | None,
    gas: Gas,
    most_steps: int,
    tolerance: float,
    mooney: float,
    ahead: Array | None = None,
) -> Rest:
    """Let a sheet come to rest, in place.

    Parameters
    ----------
    sheet : MovingSheet
        Changed.
    tool : ToolField or None
        None where nothing is in its way.
    gas : Gas
        Its stiffness is lowered where it would shake the sheet.
    most_steps : int
        Steps after which it stops in any case.
    tolerance : float
        Force left over that on held nodes at which it is at rest [-].
    mooney : float
        Share of the second constant [-].
    ahead : ndarray, optional
        (3, n) way that each node is carried first: where it probably goes.

    Returns
    -------
    rest : Rest
    """
    free = sheet.free()
    outside = volume_below(gas.level, sheet.faces[:, ~free], sheet.places)
    if not free.any():
        return Rest(0, 0.0, outside, gas.pressure(outside))
    nodes, local = np.unique(sheet.faces[:, free], return_inverse=True)
    triangles = Triangles(local.reshape(3, -1), *_without_faces(sheet.triangles().taken(free)))
    march = _March(triangles, sheet.places[:, nodes], sheet.held[nodes], tool, gas, outside, mooney)
    if ahead is not None:
        march.carry(ahead[:, nodes])
    rest = march.run(most_steps, tolerance)
    sheet.places[:, nodes], sheet.held[nodes] = march.places, march.held
    return rest


def _without_faces(triangles: Triangles) -> tuple[Array, Array]:
    return triangles.area, triangles.inverse


class _March:
    """One relaxation of the triangles that can move."""

    def __init__(self, triangles, places, held, tool, gas, outside, mooney):  # noqa: ANN001, PLR0913
        self.net, self.faces, self.places, self.held = Net(triangles, held.size), triangles.faces, places, held
        self.tool, self.gas, self.outside, self.mooney = tool, gas, outside, mooney
        self.speed = np.zeros_like(places)
        edge = np.sqrt(2 * np.median(np.linalg.norm(area_vectors(triangles.faces, places), axis=0)))
        self.most_move = MOST_MOVE * edge
        self.volume, self.pressure = 0.0, 0.0

    def run(self, most_steps: int, tolerance: float) -> Rest:
        before, unbalanced = None, np.inf
        for step in range(most_steps):
            if step % MASSES_EVERY == 0:
                self._weigh()
            force = self._force()
            total = float(np.vdot(force, force))
            force[:, self.held] = 0.0
            unbalanced = float(np.sqrt(np.vdot(force, force) / max(total, 1e-300)))
            if step > 2 and unbalanced < tolerance:
                return Rest(step, unbalanced, self.volume, self.pressure)
            self._move(force, before)
            before = force
        return Rest(most_steps, unbalanced, self.volume, self.pressure)

    def carry(self, way: Array) -> None:
        """Move what is not held and does not come to the tool by that."""
        reached = self.places + way
        stays = self.held if self.tool is None else self.held | (reached[2] < self.tool.height(reached[0], reached[1]))
        self.places = np.where(stays, self.places, reached)

    def _weigh(self) -> None:
        along, across = self.net.stretched(self.places)
        self.mass = self.net.masses(along, across, self.mooney)
        faced = float(np.sum(self.net.area_vectors(along, across)[2]))
        self.gas.stiffness = min(self.gas.stiffness, 0.5 * float(self.mass.sum()) / max(faced**2, 1e-12))

    def _force(self) -> Array:
        along, across = self.net.stretched(self.places)
        vectors = self.net.area_vectors(along, across)
        height = self.places[2]
        first, second, third = (height.take(corner) for corner in self.faces)
        below = self.gas.level - (first + second + third) / 3
        self.volume = self.outside + float(np.dot(vectors[2], below))
        self.pressure = self.gas.pressure(self.volume)
        # a fold lies upside down: a gas that blew it up would run away with it
        push = vectors * np.where(vectors[2] > 0, -self.pressure / 3, 0.0)
        return self.net.forces(along, across, push, self.mooney)

    def _move(self, force: Array, before: Array | None) -> None:
        damping = self._damping(force, before)
        speed = ((2 - damping) * self.speed + 2 * force / self.mass) / (2 + damping)
        fastest = np.sqrt(speed[0] ** 2 + speed[1] ** 2 + speed[2] ** 2)
        if fastest.max() > self.most_move:
            speed *= np.minimum(1.0, self.most_move / np.maximum(fastest, 1e-300))
        speed[:, self.held] = 0.0
        self.speed = speed
        reached = self.places + speed
        if self.tool is not None:
            self._touch(reached)
        self.places = reached

    def _damping(self, force: Array, before: Array | None) -> float:
        """Critical for the frequency in the motion: ``w^2 = -v dF/(v M v)``."""
        if before is None:
            return 0.0
        heavy = float(np.vdot(self.mass * self.speed, self.speed))
        if heavy <= 0:
            return 0.0
        square = -float(np.vdot(self.speed, force - before)) / heavy
        return min(2 * np.sqrt(max(square, 0.0)), MOST_DAMPING)

    def _touch(self, reached: Array) -> None:
        """Hold nodes that came to the tool where they met it."""
        into = np.flatnonzero((reached[2] < self.tool.height(reached[0], reached[1])) & ~self.held)
        if not into.size:
            return
        start, way = self.places[:, into], reached[:, into] - self.places[:, into]
        low, high = np.zeros(into.size), np.ones(into.size)
        for _ in range(HALVINGS):
            half = (low + high) / 2
            there = start + half * way
            above = there[2] >= self.tool.height(there[0], there[1])
            low, high = np.where(above, half, low), np.where(above, high, half)
        reached[:, into] = start + low * way
        self.held[into] = True
        self.speed[:, into] = 0.0
