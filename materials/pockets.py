"""Areas of the pocket that a sheet makes on its way into a hollow.

The pocket is the room that a ball of radius c sweeps in the hollow as deep as it has come: flat where it touches wall
and base, round along edges and in corners. A ball as wide as the hollow gives the first dome. A plan is known by its
area, its perimeter and how fast the perimeter shrinks with the inset, so that box, round, oval and trough are one.
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from materials.cavity import FormedShape


@dataclass(frozen=True)
class Hollow:
    """A hollow as arrays; from ``turn`` on, what tells box, round plan and trough apart."""

    area: np.ndarray  # inside the rim, m2
    perimeter: np.ndarray  # of the rim, m
    half: np.ndarray  # half the width, m
    depth: np.ndarray  # m
    corner_radius: np.ndarray  # m
    web: np.ndarray  # m
    sine: np.ndarray  # of the draft
    cosine: np.ndarray
    tangent: np.ndarray
    bend: np.ndarray  # angle from wall to base, rad
    setback: np.ndarray  # from the edge of the base to where a ball of radius 1 touches
    turn: float  # shrinking of the perimeter with the inset: 8 box, 2 pi round, 0 trough
    cap: np.ndarray  # area that a cap of height 1 in the corners of the plan adds to its flat area
    ball: np.ndarray  # solid angle of the ball in all bottom corners together
    lost: float  # width of wall that a ball of radius 1/cosine does not touch beside the upright edges
    edge_arc: np.ndarray  # upright edges: area for each radius and depth of the ball's middle
    edge_end: np.ndarray  # ... and for the radius squared
    flat: np.ndarray  # flat corners of the rim outside the rounds of the upright edges, for the radius squared

    def plan_area(self, inset: np.ndarray) -> np.ndarray:
        """Area of the plan drawn in by ``inset`` [m2]; drawn out where it is negative."""
        return self.area - self.perimeter * inset + self.turn / 2 * inset**2

    def plan_perimeter(self, inset: np.ndarray) -> np.ndarray:
        """Perimeter of the plan drawn in by ``inset`` [m]."""
        return self.perimeter - self.turn * inset

    def band(self, first: np.ndarray, second: np.ndarray, height: np.ndarray) -> np.ndarray:
        """Area of the straight band between two insets of the plan, ``height`` apart [m2]."""
        mean = (self.plan_perimeter(first) + self.plan_perimeter(second)) / 2
        return np.hypot(first - second, height) * mean


def hollow_of(shape: FormedShape) -> Hollow:
    """The plan and the angles of a shape, each a row of its values side by side.

    Parameters
    ----------
    shape : FormedShape
        [m, rad]

    Returns
    -------
    hollow : Hollow
        [m, m2]; arrays of one dimension.

    Examples
    --------
    >>> float(hollow_of(FormedShape("box", 3.0, 2.0, 1.0)).plan_area(0.5)[0])
    2.0
    """
    length, width, depth, draft, corner, web = (
        np.ravel(value).astype(float) for value in np.broadcast_arrays(*shape.sizes())
    )
    if shape.kind != "wedge":
        length, width = np.maximum(length, width), np.minimum(length, width)
    sine, cosine = np.sin(draft), np.cos(draft)
    area, perimeter, turn = _plan(shape.kind, length, width)
    return Hollow(
        area=area,
        perimeter=perimeter,
        half=width / 2,
        depth=np.maximum(depth, 1e-9 * width),  # a flat sheet is a very shallow hollow
        corner_radius=corner,
        web=web,
        sine=sine,
        cosine=cosine,
        tangent=sine / cosine,
        bend=pi / 2 - draft,
        setback=(1 - sine) / cosine,
        turn=turn,
        **_corners(shape.kind, sine, cosine),
    )


def _plan(kind: str, length: np.ndarray, width: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    straight = length - width
    if kind in ("box", "pyramid"):
        return length * width, 2 * (length + width), 8.0
    if kind == "wedge":
        return length * width, 2 * length, 0.0
    return pi * width**2 / 4 + straight * width, pi * width + 2 * straight, 2 * pi


def _corners(kind: str, sine: np.ndarray, cosine: np.ndarray) -> dict[str, np.ndarray | float]:
    """What a ball of radius 1 makes of the corners; round plans and troughs have none."""
    none = np.zeros_like(sine)
    bare = {"lost": 0.0, "edge_arc": none, "edge_end": none, "flat": none}
    if kind == "wedge":
        return {"cap": none, "ball": none, **bare}
    if kind not in ("box", "pyramid"):
        return {"cap": none + pi, "ball": 2 * pi * (1 - sine), **bare}
    slant = np.sqrt(1 + 2 * (sine / cosine) ** 2)  # of an upright edge for each depth
    opening = np.arccos(sine**2)  # between the normals of two walls
    tangent = np.tan(opening / 2)
    ball = 8 * np.arctan2(1.0, sine) - 2 * pi  # four right-angled spherical triangles
    arc, end, flat = 4 * slant * opening, 8 * slant * sine * tangent, 4 * slant * (tangent - opening / 2)
    # a cap that just touches the walls at the rim has the area of the ball there
    cap = (ball + end - sine * arc + flat - 4 * cosine**2) / (1 - sine) ** 2
    return {"cap": cap, "ball": ball, "lost": 8.0, "edge_arc": arc, "edge_end": end, "flat": flat}


@dataclass(frozen=True)
class Pocket:
    """Areas [m2]: base and walls lie on the tool; bottom edges and corners, upright edges, rim corners are round."""

    base: np.ndarray
    walls: np.ndarray
    bottom: np.ndarray
    upright: np.ndarray
    rim_corners: np.ndarray


def swept_pocket(hollow: Hollow, depth: np.ndarray, radius: np.ndarray) -> Pocket:
    """Pocket that a ball sweeps in a hollow, where it touches both the walls and a base.

    Parameters
    ----------
    hollow : Hollow
    depth : ndarray
        Of the base that it lies on [m], above 0.
    radius : ndarray
        [m], above 0 and small enough that the ball touches the walls below the rim and fits the base.

    Returns
    -------
    pocket : Pocket
        [m2]

    References
    ----------
    Derived here: Steiner's formula for the hollow drawn in by the radius; checked against triangulated pockets.

    Examples
    --------
    A hemisphere, and no wall or base yet:

    >>> dome = swept_pocket(hollow_of(FormedShape("cylinder", 2.0, 2.0, 1.0)), np.array([1.0]), np.array([1.0]))
    >>> round(float(dome.bottom[0] / pi), 9), float(dome.walls[0]), float(dome.base[0])
    (2.0, 0.0, 0.0)
    """
    touched = wall_reached(hollow, depth, radius)
    inset = depth * hollow.tangent + radius * hollow.setback
    return Pocket(
        base=hollow.plan_area(inset),
        walls=laid_wall(hollow, touched, radius),
        bottom=radius * hollow.bend * hollow.plan_perimeter(inset) + radius**2 * hollow.ball,
        upright=radius * (hollow.edge_arc * (depth - radius) + hollow.edge_end * radius),
        rim_corners=radius**2 * hollow.flat,
    )


def wall_reached(hollow: Hollow, depth: np.ndarray, radius: np.ndarray) -> np.ndarray:
    """Depth down to which a ball that lies on the base touches the wall [m]."""
    return depth - radius * (1 - hollow.sine)


def laid_wall(hollow: Hollow, down_to: np.ndarray, radius: np.ndarray) -> np.ndarray:
    """Wall from the rim down to a depth, without the rounds of the upright edges [m2]."""
    return hollow.band(0.0, down_to * hollow.tangent, down_to) - hollow.lost * radius * down_to


def shallow_cap(hollow: Hollow, depth: np.ndarray, reach: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Areas of a cap that leans on the rim, not on the walls, and may lie on a base.

    ``arc = 2 r atan(H/b)``, ``r = (b^2 + H^2)/(2 H)``; over the corners of the plan it is a part of a sphere.

    Parameters
    ----------
    hollow : Hollow
    depth : ndarray
        H [m], above 0.
    reach : ndarray
        b, from the rim in to where the cap is lowest [m], half the width where it just touches.

    Returns
    -------
    free, flattened : ndarray
        Area of the arc and of what lies on the base [m2].
    """
    arc = (reach**2 + depth**2) / depth * np.arctan2(depth, reach)
    free = arc * hollow.plan_perimeter(reach) + hollow.turn / 2 * reach**2 + hollow.cap * depth**2
    return free, hollow.plan_area(reach)
