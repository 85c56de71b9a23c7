"""Lines, text, legend, scale bar and numbered marks on a picture."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from quoting.geometry.pictures.colour_map import FLAG, NO_VALUE, ColourMap

INK, SOFT, PAPER = (28, 33, 40), (92, 100, 110), (255, 255, 255)
FINE = 3  # lines are drawn so many times larger and brought down, for smooth edges
FONTS = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
MARGIN = 18  # px
INCH = 0.0254  # m, exact: international inch
HATCH = 16.0  # px between the lines of a hatch, along an edge of the picture
BAR_SHARE = 0.24  # of the width of the picture that a scale bar takes at most
MARK_RADIUS = 11  # px


@dataclass(frozen=True)
class Spot:
    """A numbered place on the picture [px]; ``is_hidden`` where the part itself covers it."""

    x: float
    y: float
    text: str
    is_hidden: bool


@cache
def font(size: int, is_bold: bool = False) -> ImageFont.FreeTypeFont:
    """DejaVu where the system has it, else the font that comes with Pillow; ``size`` [px]."""
    try:
        return ImageFont.truetype(FONTS[is_bold], size, layout_engine=ImageFont.Layout.BASIC)
    except OSError:
        return ImageFont.load_default(size)


def hatched(x: np.ndarray, y: np.ndarray, width: float) -> np.ndarray:
    """How much a hatch covers at pixels [0 to 1]: slanted lines ``width`` px wide with soft edges."""
    across = np.abs((x + y) % HATCH - HATCH / 2) / np.sqrt(2)
    return np.clip(0.5 + width / 2 - across, 0, 1)


class Sheet:
    """A picture being lettered. Positions in px of the finished picture, from the top left."""

    def __init__(self, picture: Image.Image) -> None:
        self.size = picture.size
        self.large = picture.resize((picture.width * FINE, picture.height * FINE), Image.Resampling.NEAREST)
        self.pen = ImageDraw.Draw(self.large)
        self.texts: list[tuple] = []

    def lines(self, places: np.ndarray, colour: tuple, width: float) -> None:
        """Lines (k, 2, 2) [px]."""
        thick = max(1, round(width * FINE))
        for line in np.round(np.asarray(places) * FINE).reshape(-1, 4).tolist():
            self.pen.line(line, fill=colour, width=thick)

    def box(self, box: tuple, fill: tuple, border: tuple | None = None) -> None:
        """A filled rectangle (left, top, right, bottom) [px]."""
        self.pen.rectangle([round(v * FINE) for v in box], fill=fill, outline=border, width=FINE if border else 0)

    def disc(self, x: float, y: float, radius: float, fill: tuple, border: tuple, width: float) -> None:
        """A disc with a border."""
        box = [(x - radius) * FINE, (y - radius) * FINE, (x + radius) * FINE, (y + radius) * FINE]
        self.pen.ellipse(box, fill=fill, outline=border, width=round(width * FINE))

    def text(self, x: float, y: float, text: str, size: int = 13, colour: tuple = INK, **more) -> None:
        """Text at an anchor (``anchor``, as Pillow names them); ``bold`` for headings."""
        self.texts.append((x, y, text, size, colour, more.get("anchor", "ls"), more.get("bold", False)))

    def finished(self) -> Image.Image:
        """The picture with its lettering."""
        picture = self.large.reduce(FINE)
        pen = ImageDraw.Draw(picture)
        for x, y, text, size, colour, anchor, is_bold in self.texts:
            pen.text((x, y), text, fill=colour, font=font(size, is_bold), anchor=anchor)
        return picture


def text_width(text: str, size: int, is_bold: bool = False) -> float:
    """Width of a line of text [px]."""
    return font(size, is_bold).getlength(text)


def fitting(text: str, size: int, width: float, is_bold: bool = False) -> str:
    """The text, cut with dots where it is wider than ``width`` [px]."""
    if text_width(text, size, is_bold) <= width:
        return text
    while text and text_width(text + "...", size, is_bold) > width:
        text = text[:-1]
    return text.rstrip() + "..."


def legend_width(colours: ColourMap) -> int:
    """Width that the legend needs at the right [px]."""
    wide = [text_width(colours.title, 14, True), text_width(colours.flag_name, 13) + 36]
    wide.append(text_width(colours.empty_name, 13) + 36)
    wide += [38 + text_width(label, 13) for _, label in colours.ticks()]
    return int(min(max(wide), 230)) + 2 * MARGIN


def legend(sheet: Sheet, colours: ColourMap, left: float, top: float, height: float) -> None:
    """The scale with its bands, highest on top, and keys for what is hatched or has no value."""
    keys = [key for key in (_flag_key(colours), _empty_key(colours)) if key]
    width = sheet.size[0] - left - MARGIN
    sheet.text(left, top + 12, fitting(colours.title, 14, width, True), 14, bold=True)
    top, height = top + 28, height - 28 - 30 * len(keys)
    step = height / colours.bands
    for band in range(colours.bands):
        low = top + height - band * step
        sheet.box((left, low - step, left + 26, low), tuple(int(round(c)) for c in colours.colours[band]))
    sheet.box((left, top, left + 26, top + height), None, INK)
    for share, label in colours.ticks():
        y = top + (1 - share) * height
        sheet.lines([[(left + 26, y), (left + 32, y)]], INK, 1)
        sheet.text(left + 38, y, label, anchor="lm")
    for number, (name, is_hatch) in enumerate(keys):
        _key(sheet, left, top + height + 16 + 30 * number, fitting(name, 13, width - 34), is_hatch)


def _flag_key(colours: ColourMap) -> tuple[str, bool] | None:
    return (colours.flag_name, True) if colours.flagged is not None and colours.flag_name else None


def _empty_key(colours: ColourMap) -> tuple[str, bool] | None:
    return (colours.empty_name, False) if colours.has_gaps else None


def _key(sheet: Sheet, left: float, top: float, name: str, is_hatch: bool) -> None:
    sheet.box((left, top, left + 26, top + 16), PAPER if is_hatch else NO_VALUE)
    for shift in np.arange(-16, 26, HATCH / 2) if is_hatch else ():
        low, high = max(shift, 0), min(shift + 16, 26)
        sheet.lines([[(left + low, top + 16 - (low - shift)), (left + high, top + 16 - (high - shift))]], FLAG, 2.6)
    sheet.box((left, top, left + 26, top + 16), None, INK)
    sheet.text(left + 34, top + 8, name, anchor="lm")


def scale_bar(sheet: Sheet, pixel: float, is_inch: bool) -> None:
    """A bar of round length at the lower left; ``pixel`` is the length of one [m]."""
    unit, name = (INCH, "in") if is_inch else (0.001, "mm")
    longest = BAR_SHARE * sheet.size[0] * pixel / unit
    power = 10.0 ** np.floor(np.log10(longest))
    number = max(m * power for m in (1, 2, 5) if m * power <= longest)
    length, low = number * unit / pixel, sheet.size[1] - MARGIN
    ends = [(MARGIN, low), (MARGIN + length, low)]
    sheet.lines([ends, *([(x, y - 5), (x, y)] for x, y in ends)], INK, 1.6)
    sheet.text(MARGIN + length + 8, low + 1, f"{number:g} {name}")


def spots(sheet: Sheet, marks: list[Spot], right: float) -> None:
    """Numbered discs beside their places, led by a line; a place that the part covers gets a hollow disc."""
    taken: list[tuple[float, float]] = []
    for mark in marks:
        x, y = _free_place(mark, taken, (right, sheet.size[1]))
        taken.append((x, y))
        sheet.lines([[(mark.x, mark.y), (x, y)]], PAPER, 3.4)
        sheet.lines([[(mark.x, mark.y), (x, y)]], INK, 1.4)
        sheet.disc(mark.x, mark.y, 3.6, PAPER if mark.is_hidden else INK, INK if mark.is_hidden else PAPER, 1.2)
        fill, ink = (PAPER, INK) if mark.is_hidden else (INK, PAPER)
        sheet.disc(x, y, MARK_RADIUS + 1.4, PAPER, PAPER, 1)
        sheet.disc(x, y, MARK_RADIUS, fill, INK, 1.4)
        sheet.text(x, y + 0.5, mark.text[:3], 13 if len(mark.text) < 3 else 10, ink, anchor="mm", bold=True)


def _free_place(mark: Spot, taken: list, limits: tuple[float, float]) -> tuple[float, float]:
    """The first place around the point that is inside the picture and far from the discs already set."""
    for reach in (26, 44, 64):
        for angle in np.radians([-60, -120, 0, 180, 60, 120, -90, 90]):
            x, y = mark.x + reach * np.cos(angle), mark.y + reach * np.sin(angle)
            is_inside = MARGIN < x < limits[0] - MARGIN and MARGIN < y < limits[1] - MARGIN
            if is_inside and all((x - a) ** 2 + (y - b) ** 2 > (2.3 * MARK_RADIUS) ** 2 for a, b in taken):
                return x, y
    return mark.x, mark.y
