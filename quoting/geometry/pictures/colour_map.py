"""Values on a part as colours that also read in grey and by colour-blind eyes: lightness rises with the value."""

from dataclasses import dataclass

import numpy as np

Array = np.ndarray
ANCHORS = np.array([  # dark violet to yellow, even in lightness; the ends of the viridis scale, from memory, unverified
    (72, 36, 117), (65, 68, 135), (53, 95, 141), (42, 120, 142), (33, 145, 140), (34, 168, 132), (68, 191, 112),
    (122, 209, 81), (189, 223, 38), (253, 231, 37),
], float)  # fmt: skip
NO_VALUE = (205, 205, 205)
FLAG = (214, 69, 32)  # vermilion: told from every colour of the scale also without red or green


@dataclass(frozen=True, eq=False)
class ColourMap:
    """Values to paint, as they shall be read: in the unit that ``title`` names.

    ``values`` are per face (m,) or per vertex (n,), NaN where there is none. The scale runs from ``low`` to ``high`` in
    ``bands`` even steps; values beyond are painted as its ends. ``is_low_light`` turns the colours round. Faces that
    ``flagged`` marks are hatched, with ``flag_name`` in the legend; faces that ``empty``
    marks show no value, and the legend calls that ``empty_name``.
    """

    values: Array
    title: str
    low: float
    high: float
    bands: int = 8
    is_low_light: bool = False
    flagged: Array | None = None
    flag_name: str = ""
    empty: Array | None = None
    empty_name: str = "no value"

    def band_of(self, values: Array) -> Array:
        """Band of each value [-]; -1 where there is no value."""
        share = (values - self.low) / max(self.high - self.low, 1e-300)
        band = np.clip(np.floor(np.nan_to_num(share, nan=0.0) * self.bands + 1e-9), 0, self.bands - 1).astype(int)
        return np.where(np.isnan(values), -1, band)

    @property
    def colours(self) -> Array:
        """Colour of each band, and last that of no value (bands + 1, 3) [0 to 255]."""
        places = np.linspace(0, len(ANCHORS) - 1, self.bands)
        if self.is_low_light:
            places = places[::-1]
        scale = np.stack([np.interp(places, np.arange(len(ANCHORS)), ANCHORS[:, part]) for part in range(3)], axis=1)
        return np.vstack((scale, NO_VALUE))

    def painted(self, faces: Array, face: Array, shares: Array) -> Array:
        """Colour (r, 3) [0 to 255] at places given as face and shares of its corners."""
        if len(self.values) == len(faces):
            found = self.values[face]
        else:
            found = np.einsum("ij,ij->i", self.values[faces[face]], shares)
        band = self.band_of(found)
        return self.colours[band if self.empty is None else np.where(self.empty[face], -1, band)]

    @property
    def has_gaps(self) -> bool:
        """Whether anything shows no value."""
        return bool(np.isnan(self.values).any() or (self.empty is not None and self.empty.any()))

    def ticks(self) -> list[tuple[float, str]]:
        """(share of the scale from its low end, label) at the limits of the bands.

        Examples
        --------
        >>> ColourMap(np.zeros(1), "Wall [mm]", 0.0, 4.0, bands=4).ticks()[1]
        (0.25, '1')
        """
        step = (self.high - self.low) / self.bands
        decimals = next((d for d in range(4) if abs(round(step, d) - step) <= 1e-6 * abs(step)), 3)
        if decimals == 3:
            decimals = max(0, int(np.ceil(-np.log10(abs(step) or 1.0))) + 1)
        labels = [f"{self.low + i * step:.{decimals}f}" for i in range(self.bands + 1)]
        finite = self.values[np.isfinite(self.values)]
        if (finite < self.low - 0.5 * 10.0**-decimals).any():
            labels[0] += " and less"
        if (finite > self.high + 0.5 * 10.0**-decimals).any():
            labels[-1] += " and more"
        return [(i / self.bands, label) for i, label in enumerate(labels)]


def nice_scale(low: float, high: float, bands: int = 8) -> tuple[float, float, int]:
    """Limits around ``low`` to ``high`` and a number of bands, so that labels are round.

    Examples
    --------
    >>> nice_scale(0.93, 4.41)
    (0.5, 4.5, 8)
    """
    span = max(high - low, 1e-9 * max(abs(high), 1.0))
    raw = span / bands
    power = 10.0 ** np.floor(np.log10(raw))
    step = next(float(m * power) for m in (1, 2, 2.5, 5, 10, 20) if m * power >= raw * 0.999)
    first = float(np.floor(low / step + 1e-9))
    count = max(1, int(np.ceil(high / step - first - 1e-9)))
    return round(first * step, 12), round((first + count) * step, 12), count
