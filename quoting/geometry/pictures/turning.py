"""A light copy of a part that a browser can turn: few triangles, with the maps of the pictures as colours on them."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from quoting.geometry.pictures.colour_map import FLAG, NO_VALUE, ColourMap
from quoting.geometry.pictures.creases import corner_normals, creases_of
from quoting.geometry.pictures.gltf import Shape, glb
from quoting.geometry.pictures.viewpoint import along_draw
from quoting.geometry.surface import Surface

Array = np.ndarray
MOST = 40_000  # triangles of one shape; a phone draws them at once, and the file stays near 2 MB
HASTES = (3.0, 5.0, 7.0)  # of the library, from true to quick; a rough surface needs a later one to get there
SIDE = 0.1  # of the size: how far apart in search the two sides of a thin wall are set by their normals; judgement
NOTHING = -1.0  # in place of a share of the scale where there is no value


class NotLightError(ValueError):
    """The surface cannot be made light enough; the text says so."""


@dataclass(frozen=True, eq=False)
class Map:
    """A map of a picture, on its own surface [m]."""

    surface: Surface
    colours: ColourMap


@dataclass(frozen=True)
class Layer:
    """One way to look at a shape: its name, whether the values of the map and the hatching are shown, and a note."""

    name: str
    shape: int
    is_painted: bool
    is_hatched: bool
    note: str = ""


def turning(part: Surface, draw: Array, draft: Map | None, wall: Map | None) -> bytes:
    """The part, and the sheet formed onto it, as binary glTF with +Y along the draw.

    Each shape carries ``_VALUE``, the share of the colour scale [0 to 1, -1 for none], and ``_FLAG`` [0 or 1]. What
    can be shown stands in the extras of the scene: ``layers``, each with its shape, colours and legend.

    Parameters
    ----------
    part : Surface
        As read [m].
    draw : Array
        Out of the cavity (3,) [-].
    draft : Map or None
        Draft of the part, per face, undercuts flagged.
    wall : Map or None
        Wall of the formed sheet, per vertex.

    Returns
    -------
    content : bytes

    Raises
    ------
    NotLightError
        A surface stays above 40,000 triangles, whatever is done.
    """
    across, back, up = along_draw(part.vertices, np.asarray(draw, float)).axes
    axes = np.stack((across, up, -back))
    shapes = [_shape("part", part, draft.colours if draft else None, axes, True)]
    layers = [_layer(Layer("Shaded", 0, False, False))]
    if draft:
        has_undercut = draft.colours.flagged is not None and bool(draft.colours.flagged.any())
        layers.append(_layer(Layer("Draft", 0, True, True, "Below 0 the part hooks on the tool."), draft.colours))
        note = "" if has_undercut else "No undercut was found."
        layers.append(_layer(Layer("Undercuts", 0, False, True, note), draft.colours))
    if wall:
        shapes.append(_shape("sheet", wall.surface, wall.colours, axes, False))
        layers.append(_layer(Layer("Wall", 1, True, False, "The formed sheet, not the part as drawn."), wall.colours))
    return glb(shapes, {"layers": layers})


def lightened(surface: Surface, most: int = MOST) -> Surface:
    """The same shape in at most ``most`` triangles; the surface itself where it has no more.

    Corners are drawn together where that moves the surface least (quadric error), by a library.
    """
    if len(surface.faces) <= most:
        return surface
    from fast_simplification import simplify

    low, size = surface.vertices.min(axis=0), max(float(np.ptp(surface.vertices, axis=0).max()), 1e-12)
    shares, corners = (surface.vertices - low) / size, surface.faces.astype(np.int32)
    for haste in HASTES:
        points, faces = simplify(shares, corners, target_count=most, agg=haste)
        if 0 < len(faces) <= most:
            return Surface(np.asarray(points, float) * size + low, np.asarray(faces))
    raise NotLightError(f"the surface cannot be shown in {most} triangles or fewer")


def nearest_faces(surface: Surface, light: Surface) -> Array:
    """For each face of ``light`` the face of ``surface`` that lies nearest and looks the same way (m,)."""
    if light is surface:
        return np.arange(len(surface.faces))
    size = max(float(np.ptp(surface.vertices, axis=0).max()), 1e-12)
    places = (np.hstack((one.centres / size, SIDE * one.normals)).astype(np.float32) for one in (surface, light))
    return cKDTree(next(places), balanced_tree=False).query(next(places))[1]


def _shape(name: str, surface: Surface, colours: ColourMap | None, axes: Array, has_creases: bool) -> Shape:
    light = lightened(surface)
    creases = creases_of(light.faces, light.normals)
    normals = corner_normals(light.faces, light.normals, light.areas, creases)
    corners = np.empty((*light.faces.shape, 8), np.float32)
    corners[..., :3], corners[..., 3:6] = (light.vertices @ axes.T)[light.faces], normals @ axes.T
    corners[..., 6:] = _values(surface, light, colours)
    corners += 0.0  # a zero has one sign only, so that equal corners are equal bytes
    rows = np.ascontiguousarray(corners.reshape(-1, 8)).view(np.dtype((np.void, 32))).ravel()
    _, first, place = np.unique(rows, return_index=True, return_inverse=True)
    kept = corners.reshape(-1, 8)[first]
    lines = np.zeros((0, 2), int)
    if has_creases:
        stands = np.zeros(len(light.vertices), int)
        stands[light.faces.ravel()] = place.ravel()  # any of the corners at a vertex: a line needs its place only
        lines = stands[creases.sharp]
    attributes = {"POSITION": kept[:, :3], "NORMAL": kept[:, 3:6], "_VALUE": kept[:, 6], "_FLAG": kept[:, 7]}
    return Shape(name, attributes, place.reshape(-1, 3), lines)


def _values(surface: Surface, light: Surface, colours: ColourMap | None) -> Array:
    """Share of the scale and flag at each corner (m, 3, 2)."""
    found = np.zeros((*light.faces.shape, 2))
    if colours is None:
        return found
    face = nearest_faces(surface, light)
    if len(colours.values) == len(surface.faces):  # the middle of its band: neighbours of one band share their corners
        band = colours.band_of(colours.values)[face]
        found[..., 0] = np.where(band < 0, NOTHING, (band + 0.5) / colours.bands)[:, None]
    elif light is surface:
        share = (colours.values - colours.low) / max(colours.high - colours.low, 1e-300)
        found[..., 0] = np.where(np.isnan(share), NOTHING, np.clip(share, 0, 1))[surface.faces]
    else:
        raise NotLightError("values at corners need a surface that is light already")
    if colours.empty is not None:
        found[colours.empty[face], :, 0] = NOTHING
    if colours.flagged is not None:
        found[..., 1] = colours.flagged[face][:, None]
    return found


def _layer(layer: Layer, colours: ColourMap | None = None) -> dict[str, Any]:
    legend, has_flag = [], False
    if colours is not None:
        has_flag = layer.is_hatched and colours.flagged is not None and bool(colours.flagged.any())
        if layer.is_painted:
            legend = _bands(colours)
        if layer.is_painted and colours.has_gaps:
            legend.append({"colour": list(NO_VALUE), "label": colours.empty_name})
        if has_flag:
            legend.append({"colour": list(FLAG), "label": colours.flag_name, "hatched": True})
    return {
        "name": layer.name, "shape": layer.shape, "painted": layer.is_painted, "hatched": has_flag,
        "title": colours.title if colours and layer.is_painted else "", "note": layer.note,
        "bands": colours.colours[:-1].round().astype(int).tolist() if colours and layer.is_painted else [],
        "empty": list(NO_VALUE), "flag": list(FLAG), "legend": legend,
    }  # fmt: skip


def _bands(colours: ColourMap) -> list[dict[str, Any]]:
    """Colour and limits of each band, lowest first, in the words of the legend of the picture."""
    labels = [label for _, label in colours.ticks()]
    found = []
    for number, (low, high) in enumerate(zip(labels[:-1], labels[1:], strict=True)):
        text = f"{low} to {high}"
        if low.endswith(" and less"):
            text = f"up to {high}"
        elif high.endswith(" and more"):
            text = f"{low} and more"
        found.append({"colour": colours.colours[number].round().astype(int).tolist(), "label": text})
    return found
