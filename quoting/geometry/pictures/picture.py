"""Pictures of a part for people: shaded or coloured by a value, with a legend, a scale bar and numbered places."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter, zoom

from quoting.geometry.pictures import lettering
from quoting.geometry.pictures.casting import Caster, Hits, Traced
from quoting.geometry.pictures.colour_map import FLAG, ColourMap
from quoting.geometry.pictures.creases import corner_normals, creases_of
from quoting.geometry.pictures.lettering import INK, MARGIN, PAPER, SOFT, Sheet, Spot
from quoting.geometry.pictures.outline import visible_lines
from quoting.geometry.pictures.viewpoint import Viewpoint
from quoting.geometry.surface import Surface

Array = np.ndarray
SIZE = (900, 600)  # px
LARGEST = 2400  # px along one side
SMALLEST_WITH_LEGEND = 200  # px along the shorter side; a thumbnail has none
HEADING = 52  # px kept free for title and subtitle
FOOT = 44  # px kept free for the scale bar
BODY = np.array((176.0, 190.0, 205.0))  # colour of an unpainted part: cool grey
LIGHTS = ((-0.45, 0.62, 0.64), (0.75, 0.25, 0.61))  # (right, up, near) towards the sun at the upper left, and a fill
RIM = 14.0  # px of depth between neighbours from which a line is drawn; steeper than walls are seen
COARSER = 4  # px of the picture for one of the soft shade of hollows
INNER = ((-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25))  # px, further rays where an edge runs


@dataclass(frozen=True, eq=False)
class Mark:
    """A point of the part (3,) [m] to be shown by its number."""

    point: Array
    text: str


@dataclass(frozen=True, eq=False)
class Lines:
    """Straight pieces (k, 2, 3) [m] to be drawn over the part, in one colour and width [px]."""

    ends: Array
    colour: tuple[int, int, int]
    width: float


@dataclass(frozen=True)
class Paper:
    """Size [px], title, subtitle, the unit of the scale bar, and whether creases are drawn as lines."""

    size: tuple[int, int] = SIZE
    title: str = ""
    subtitle: str = ""
    is_inch: bool = False
    has_creases: bool = True


class Drawn:
    """One surface ready to be drawn any number of times: creases, normals and what rays need are found once."""

    def __init__(self, surface: Surface) -> None:
        self.surface, self.traced = surface, Traced(surface)
        self.creases = creases_of(surface.faces, surface.normals)
        self.normals = corner_normals(surface.faces, surface.normals, surface.areas, self.creases)


def picture(
    drawn: Drawn,
    view: Viewpoint,
    paper: Paper = Paper(),
    colours: ColourMap | None = None,
    marks: Sequence[Mark] = (),
    lines: Sequence[Lines] = (),
) -> bytes:
    """One picture as PNG bytes; the same part gives the same bytes.

    Parameters
    ----------
    drawn : Drawn
        The part [m].
    view : Viewpoint
        From where.
    paper : Paper
        Size [px, to 2400 a side], titles, unit of the scale bar.
    colours : ColourMap or None
        Values to paint; without them the part is shaded only.
    marks : sequence of Mark
        Places to number.
    lines : sequence of Lines
        Edges and outlines to point out, where nothing hides them.

    Returns
    -------
    png : bytes
    """
    if not all(64 <= side <= LARGEST for side in paper.size):
        raise ValueError(f"a picture has 64 to {LARGEST} px a side")
    seen = view.seen(drawn.surface.vertices)
    caster = Caster(drawn.traced, view, seen)
    has_legend = colours is not None and min(paper.size) >= SMALLEST_WITH_LEGEND
    right = paper.size[0] - (lettering.legend_width(colours) if has_legend else 0)
    frame = _frame(seen, paper, right)
    image = _Shading(drawn, view, caster, frame, colours).image(paper.size)
    sheet = Sheet(Image.fromarray(image))
    if paper.has_creases:
        sheet.lines(frame.places(visible_lines(caster, seen, drawn.creases.sharp, frame.pixel)), INK, 1.1)
    for each in lines:
        points = view.seen(each.ends.reshape(-1, 3))
        pairs = np.arange(len(points)).reshape(-1, 2)
        sheet.lines(frame.places(visible_lines(caster, points, pairs, frame.pixel)), each.colour, each.width)
    _letter(sheet, paper, view, frame, right, colours if has_legend else None)
    lettering.spots(sheet, [_spot(mark, view, caster, frame) for mark in marks], right)
    file = BytesIO()
    sheet.finished().save(file, "PNG", compress_level=4)
    return file.getvalue()


@dataclass(frozen=True)
class _Frame:
    """Length of a pixel [m] and where the part's right and up of 0 lie [px]."""

    pixel: float
    left: float
    low: float

    def places(self, points: Array) -> Array:
        """Pixels of points (..., right and up) [m]."""
        return np.stack((self.left + points[..., 0] / self.pixel, self.low - points[..., 1] / self.pixel), axis=-1)


def _frame(seen: Array, paper: Paper, right: float) -> _Frame:
    """The part as large as it fits between heading, foot and legend, in the middle."""
    low, high = seen[:, :2].min(axis=0), seen[:, :2].max(axis=0)
    top, width = (HEADING if paper.title or paper.subtitle else MARGIN), max(right - 2 * MARGIN, 16)
    height = max(paper.size[1] - top - FOOT, 16)
    pixel = max((high[0] - low[0]) / width, (high[1] - low[1]) / height, 1e-9)
    middle = (low + high) / 2 / pixel
    return _Frame(pixel, right / 2 - middle[0], top + height / 2 + middle[1])


class _Shading:
    """Colours of pixels, from one ray each, and from four more where an edge runs through."""

    def __init__(self, drawn: Drawn, view: Viewpoint, caster: Caster, frame: _Frame, colours: ColourMap | None) -> None:
        self.drawn, self.view, self.caster, self.frame, self.colours = drawn, view, caster, frame, colours

    def image(self, size: tuple[int, int]) -> Array:
        """The whole picture (height, width, 3) of bytes."""
        columns, rows = np.meshgrid(np.arange(size[0]) + 0.5, np.arange(size[1]) + 0.5)
        hits = self._cast(columns.ravel(), rows.ravel())
        near = hits.near.reshape(size[::-1])
        shade = self._depth_shade(near).ravel()
        image = self._coloured(hits, columns.ravel(), rows.ravel(), shade)
        edge, rim = (found.ravel() for found in self._edges(near, image.reshape(*near.shape, 3)))
        x, y = columns.ravel()[edge], rows.ravel()[edge]
        sums = np.zeros((len(x), 3))
        for right, down in INNER:
            sums += self._coloured(self._cast(x + right, y + down), x + right, y + down, shade[edge])
        image[edge] = sums / len(INNER)
        image[rim] = 0.45 * image[rim] + 0.55 * np.array(INK, float)
        return np.round(np.clip(image, 0, 255)).astype(np.uint8).reshape(*near.shape, 3)

    def _cast(self, x: Array, y: Array) -> Hits:
        return self.caster.cast((x - self.frame.left) * self.frame.pixel, (self.frame.low - y) * self.frame.pixel)

    def _coloured(self, hits: Hits, x: Array, y: Array, shade: Array) -> Array:
        met = np.flatnonzero(hits.face >= 0)
        face, shares = hits.face[met], hits.shares[met]
        result = np.tile(np.array(PAPER, float), (len(hits.face), 1))
        light = self._light(face, shares) * shade[met]
        if self.colours is None:
            result[met] = BODY * light[:, None]
            return result
        painted = self.colours.painted(self.drawn.surface.faces, face, shares)
        if self.colours.flagged is not None:
            for colour, width in ((PAPER, 4.0), (FLAG, 2.6)):  # a pale rim keeps the line apart from dark and light
                cover = (lettering.hatched(x[met], y[met], width) * self.colours.flagged[face])[:, None]
                painted = painted * (1 - cover) + np.array(colour, float) * cover
        result[met] = painted * (0.62 + 0.38 * np.clip(light, 0, 1.12))[:, None]  # weak, so that bands stay apart
        return result

    def _light(self, face: Array, shares: Array) -> Array:
        """Brightness [about 0.4 to 1.2] of a matt surface that shows both sides alike."""
        normals = np.einsum("rij,ri->rj", self.drawn.normals[face], shares) @ self.view.axes.T
        normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-9)
        normals *= np.where(normals[:, 2:] < 0, -1, 1)
        sun, fill = (np.clip(0.5 + 0.5 * normals @ np.array(light), 0, 1) for light in LIGHTS)
        return 0.42 + 0.58 * sun**2 + 0.16 * fill**2 + 0.06 * sun**40  # half-way wrapped, so that no side is black

    def _depth_shade(self, near: Array) -> Array:
        """Darkens what lies deeper than its surroundings, as daylight does in a hollow."""
        met = np.isfinite(near)
        if not met.any():
            return np.ones_like(near)
        flat = np.where(met, near, 0.0)
        wide = 0.03 * max(near.shape)
        sums, counts = (  # so smooth that one pixel in sixteen says all of it
            gaussian_filter(rows[::COARSER, ::COARSER], wide / COARSER, truncate=2.5) for rows in (flat, met * 1.0)
        )
        around = zoomed(sums / np.maximum(counts, 1e-6), near.shape)
        deeper = (around - flat) / (4 * wide * self.frame.pixel)
        return np.where(met, 1 - 0.28 * np.clip(deeper, 0, 1), 1.0)

    def _edges(self, near: Array, image: Array) -> tuple[Array, Array]:
        """Pixels that differ from a neighbour in depth or in colour; and those that stand before a deeper one."""
        met = np.isfinite(near)
        depth = np.where(met, near, near[met].min() - 1.0 if met.any() else 0.0)
        edge, rim = np.zeros(near.shape, bool), np.zeros(near.shape, bool)
        for axis in (0, 1):
            one, two = (np.s_[1:], np.s_[:-1]) if axis == 0 else (np.s_[:, 1:], np.s_[:, :-1])
            step = np.diff(depth, axis=axis)
            differs = (np.abs(np.diff(image, axis=axis)).max(axis=2) > 14) | (np.abs(step) > 6 * self.frame.pixel)
            edge[one] |= differs
            edge[two] |= differs
            rim[one] |= step > RIM * self.frame.pixel
            rim[two] |= step < -RIM * self.frame.pixel
        return edge, rim


def zoomed(coarse: Array, shape: tuple[int, int]) -> Array:
    """Values of every `COARSER`-th pixel spread by straight lines over all of them."""
    spread = zoom(coarse, COARSER, order=1, mode="nearest", grid_mode=True)
    return spread[: shape[0], : shape[1]]


def _letter(
    sheet: Sheet, paper: Paper, view: Viewpoint, frame: _Frame, right: float, colours: ColourMap | None
) -> None:
    width = paper.size[0] - 2 * MARGIN
    if paper.title:
        sheet.text(MARGIN, 27, lettering.fitting(paper.title, 16, width, True), 16, bold=True)
    if paper.subtitle:
        sheet.text(MARGIN, 46, lettering.fitting(paper.subtitle, 13, width), 13, SOFT)
    sheet.text(right - MARGIN, paper.size[1] - MARGIN + 1, f"seen {view.name}", 13, SOFT, anchor="rs")
    lettering.scale_bar(sheet, frame.pixel, paper.is_inch)
    if colours:
        top = HEADING + 6
        lettering.legend(sheet, colours, right + MARGIN, top, paper.size[1] - top - FOOT)


def _spot(mark: Mark, view: Viewpoint, caster: Caster, frame: _Frame) -> Spot:
    """Where a mark lies on the picture, and whether the part covers it."""
    point = view.seen(np.asarray(mark.point, float)[None])[0]
    hit = caster.cast(point[:1], point[1:2])
    x, y = frame.places(point[:2])
    return Spot(float(x), float(y), mark.text, bool(hit.near[0] > point[2] + 4 * frame.pixel))
