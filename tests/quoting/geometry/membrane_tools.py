"""Tools as triangles for the forming of sheet: round ones, long troughs and open boxes. Rim at height 0, draw +z."""

import numpy as np

from quoting.geometry.surface import Surface

UP = np.array([0.0, 0.0, 1.0])


def revolved(profile: list[tuple[float, float]], sides: int = 96) -> Surface:
    """From places (radius, height), rim to axis."""
    angle = np.arange(sides) * 2 * np.pi / sides
    ring = np.column_stack([np.cos(angle), np.sin(angle), np.ones(sides)])
    return _stacked([ring * (radius, radius, height) for radius, height in profile])


def cone(wall_angle: float, radius: float = 1.0) -> Surface:
    return revolved([(radius, 0.0), (1e-6 * radius, -radius * np.tan(wall_angle))])


def cylinder(radius: float, depth: float) -> Surface:
    return revolved([(radius, 0.0), (radius * (1 - 1e-6), -depth), (1e-6 * radius, -depth)])


def trough(half_profile: list[tuple[float, float]], length: float) -> Surface:
    """Long along y; from places (x, height), rim to middle."""
    other = [(-x, height) for x, height in half_profile]
    line = np.array(other + half_profile[::-1][1:])
    ends = [np.column_stack([line[:, 0], np.full(len(line), y), line[:, 1]]) for y in (-length / 2, length / 2)]
    count, i = len(line), np.arange(len(line) - 1)
    faces = [np.column_stack([i, i + 1, count + i + 1]), np.column_stack([i, count + i + 1, count + i])]
    return Surface(np.concatenate(ends), np.concatenate(faces))


def open_box(length: float, width: float, depth: float, draft: float, corner: float, arc: int = 6) -> Surface:
    """Edges along the base and upright ones rounded by ``corner``."""
    middle = (depth - corner) * np.tan(draft) + corner / np.cos(draft)
    angle = np.linspace(draft, np.pi / 2, arc)
    profile = [(0.0, 0.0)]
    profile += [(middle - corner * np.cos(a), -depth + corner * (1 - np.sin(a))) for a in angle]
    profile.append((min(length, width) / 2 * (1 - 1e-6), -depth))
    return _stacked([_rounded(length / 2 - inset, width / 2 - inset, corner, z, arc) for inset, z in profile])


def _rounded(half_length: float, half_width: float, corner: float, height: float, arc: int) -> np.ndarray:
    radius = min(corner, half_length, half_width)
    quarter = np.linspace(0, np.pi / 2, arc)
    corners = []
    for turn, (x, y) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        angle = quarter + turn * np.pi / 2
        x_places = x * (half_length - radius) + radius * np.cos(angle)
        corners.append(
            np.column_stack([x_places, y * (half_width - radius) + radius * np.sin(angle), 0 * angle + height])
        )
    return np.concatenate(corners)


def _stacked(rings: list[np.ndarray]) -> Surface:
    sides, i = len(rings[0]), np.arange(len(rings[0]))
    j, faces = (i + 1) % sides, []
    for low in range(0, (len(rings) - 1) * sides, sides):
        faces.append(np.column_stack([low + i, low + sides + i, low + j]))
        faces.append(np.column_stack([low + j, low + sides + i, low + sides + j]))
    return Surface(np.concatenate(rings), np.concatenate(faces))
