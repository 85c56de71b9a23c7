"""Parts built by hand, whose sizes follow from school formulas. Lengths [m]; the draw is +z unless turned."""

import numpy as np
import trimesh
from scipy.spatial.transform import Rotation

from quoting.geometry.surface import Surface

TURN = Rotation.from_euler("xyz", [0.3, 0.7, 1.1]).as_matrix()
SHIFT = np.array([1.0, -2.0, 3.0])


def of_mesh(mesh: trimesh.Trimesh) -> Surface:
    return Surface(np.array(mesh.vertices), np.array(mesh.faces))


def ringed(rings: list[tuple[float, float, float]], closed: bool = True) -> Surface:
    """Rectangles (length, width, height) joined in their order; the first and last filled where closed."""
    corners = [
        (x * length / 2, y * width / 2, height)
        for length, width, height in rings
        for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    last = 4 * (len(rings) - 1)
    quads = [(3, 2, 1, 0)] + ([(last, last + 1, last + 2, last + 3)] if closed else [])
    quads += [(a + k, a + (k + 1) % 4, a + 4 + (k + 1) % 4, a + 4 + k) for a in range(0, last, 4) for k in range(4)]
    faces = [face for a, b, c, d in quads for face in ((a, b, c), (a, c, d))]
    return Surface(np.array(corners), np.array(faces))


def box(length: float = 0.6, width: float = 0.4, height: float = 0.08) -> Surface:
    return ringed([(length, width, 0), (length, width, height)])


def tray(wall: float = 0.003) -> Surface:
    inner = (0.6 - 2 * wall, 0.4 - 2 * wall)
    return ringed([(0.6, 0.4, 0), (0.6, 0.4, 0.08), (*inner, 0.08), (*inner, wall)])


def tray_skin() -> Surface:
    """Outside of the tray, one skin: bottom and four walls."""
    return ringed([(0.6, 0.4, 0), (0.6, 0.4, 0.08)], closed=False)


def lipped() -> Surface:
    """A block 600 x 400 on a foot that stands out 20 mm all round."""
    return ringed([(0.64, 0.44, 0), (0.64, 0.44, 0.01), (0.6, 0.4, 0.01), (0.6, 0.4, 0.08)])


def beaded(wall: float = 0.003, out: float = 0.01) -> Surface:
    """The tray with a bead that bulges 10 mm outwards half way up the wall; equal wall throughout."""
    outer = [(0.0, 0), (0.0, 0.03), (out, 0.04), (0.0, 0.05), (0.0, 0.08)]
    inner = [(z, h) for z, h in reversed(outer) if h > 0]
    rings = [(0.6 + 2 * o, 0.4 + 2 * o, h) for o, h in outer]
    rings += [(0.6 + 2 * (o - wall), 0.4 + 2 * (o - wall), h) for o, h in inner]
    return ringed([*rings, (0.6 - 2 * wall, 0.4 - 2 * wall, wall)])


def frustum(low: float, high: float, height: float, sections: int = 64) -> Surface:
    """Cone cut off: radius ``low`` at the bottom, ``high`` at the top."""
    turn = np.arange(sections) * 2 * np.pi / sections
    ring = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    corners = np.concatenate(
        [ring * [low, low, 1], ring * [high, high, 1] + [0, 0, height], [[0, 0, 0], [0, 0, height]]]
    )
    n, faces = sections, []
    for k in range(n):
        j = (k + 1) % n
        faces += [(k, j, n + j), (k, n + j, n + k), (2 * n, j, k), (2 * n + 1, n + k, n + j)]
    return Surface(corners, np.array(faces))


def bowl(radius: float = 0.3, wall: float = 0.003, steps: int = 48) -> Surface:
    """Half a ball of equal wall, open at the top."""
    angle = np.linspace(0.0, np.pi / 2, steps)
    profile = np.stack([np.sin(angle), -np.cos(angle)], axis=1)
    profile[0, 0] = 0.0
    line = np.concatenate([radius * profile, (radius - wall) * profile[::-1]])
    return of_mesh(trimesh.creation.revolve(line, sections=2 * steps))


def hollow(length: float = 0.6, width: float = 0.4, height: float = 0.08, wall: float = 0.003) -> Surface:
    """A closed box with a void."""
    outer, inner = box(length, width, height), box(length - 2 * wall, width - 2 * wall, height - 2 * wall)
    corners = np.concatenate([outer.vertices, inner.vertices + [0, 0, wall]])
    return Surface(corners, np.concatenate([outer.faces, inner.faces[:, ::-1] + len(outer.vertices)]))


def rounded_trough(radius: float, sections: int = 8) -> Surface:
    """A block 400 x 200 x 100 whose two long bottom edges are rounded."""
    turn = np.linspace(0, np.pi / 2, sections + 1)
    right = np.stack([0.1 - radius + radius * np.sin(turn), radius - radius * np.cos(turn)], axis=1)
    outline = np.concatenate([right, [[0.1, 0.1], [-0.1, 0.1]], right[::-1] * [-1, 1]])
    return _extruded(outline, 0.4)


def _extruded(outline: np.ndarray, length: float) -> Surface:
    """A convex outline in y, z drawn along x."""
    n = len(outline)
    near = np.column_stack([np.full(n, -length / 2), outline])
    corners = np.concatenate([near, near + [length, 0, 0]])
    faces = [(0, k + 1, k) for k in range(1, n - 1)] + [(n, n + k, n + k + 1) for k in range(1, n - 1)]
    for k in range(n):
        j = (k + 1) % n
        faces += [(k, j, n + j), (k, n + j, n + k)]
    return Surface(corners, np.array(faces))


def turned(surface: Surface) -> Surface:
    return Surface(surface.vertices @ TURN.T + SHIFT, surface.faces)


def refined(surface: Surface, times: int = 2) -> Surface:
    mesh = surface.mesh
    for _ in range(times):
        mesh = mesh.subdivide()
    return of_mesh(mesh)


def inside_out(surface: Surface) -> Surface:
    return Surface(surface.vertices, surface.faces[:, ::-1])


def apart(surface: Surface) -> Surface:
    """Every face with corners of its own, as an STL file has them, in single precision."""
    corners = surface.vertices[surface.faces].reshape(-1, 3).astype(np.float32).astype(float)
    return Surface(corners, np.arange(len(corners)).reshape(-1, 3))
