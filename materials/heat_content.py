"""How much heat a polymer holds at a temperature: a step in specific heat, and a melting peak."""

from dataclasses import dataclass, fields
from functools import cached_property
from math import pi, sqrt

import numpy as np
from scipy.special import erf

from materials.polymer import Polymer
from materials.ranges import OutsideRangeError, not_negative, positive

Array = np.ndarray

COLDEST, HOTTEST = 100.0, 2000.0  # K, between which a temperature is sought
HALVINGS = 50  # of that: beyond the digits that matter


@dataclass(frozen=True)
class HeatContent:
    """Heat data of many polymers side by side, one array element for each sheet. Levels [K]."""

    specific_heat_solid: Array  # J/(kg K)
    specific_heat_hot: Array  # J/(kg K)
    step_temperature: Array
    latent_heat: Array  # J/kg
    melting_temperature: Array
    melting_width: Array  # K, a difference

    def taken(self, which: Array) -> "HeatContent":
        return HeatContent(*(getattr(self, field.name)[which] for field in fields(self)))

    # What a march asks for at every step is worked out once.

    @cached_property
    def melting(self) -> "slice | Array | None":
        """Which sheets melt: as a slice where they lie side by side, as the march keeps them, since it costs less."""
        return side_by_side(self.latent_heat)

    @cached_property
    def peaks(self) -> "tuple[Array, Array, Array]":
        """Of those that melt: where [K] and how wide [K] the peak is, and how much heat it takes up [J/kg]."""
        some = self.melting
        return self.melting_temperature[some], self.melting_width[some], self.latent_heat[some]

    @cached_property
    def jump(self) -> Array:
        """What the hot polymer takes up more than the solid one [J/(kg K)]."""
        return self.specific_heat_hot - self.specific_heat_solid

    @cached_property
    def shift(self) -> Array:
        """Where the straight line of the hot polymer begins at 0 K [J/kg]."""
        return -self.jump * self.step_temperature


def side_by_side(chosen: Array) -> "slice | Array | None":
    """The places that hold something: a slice where they are one stretch, None where there are none.

    Parameters
    ----------
    chosen : array
        One value for each sheet, 0 or False where it is not meant [-].

    Returns
    -------
    places : slice, array of int or None
        [-]

    Examples
    --------
    >>> side_by_side(np.array([0, 1, 1])), side_by_side(np.zeros(3))
    (slice(1, 3, None), None)
    """
    which = np.flatnonzero(chosen)
    if not which.size:
        return None
    first, last = int(which[0]), int(which[-1]) + 1
    return slice(first, last) if last - first == which.size else which


def columns(rows: Array, which: "slice | Array") -> Array:
    """Some of the sheets that lie side by side along the last axis, still so in memory.

    Indexing by an array would leave the sheets of a row apart in memory, and every later operation on rows slow.

    Parameters
    ----------
    rows : array
        Sheets along the last axis [any unit].
    which : slice or array of int
        Places of some sheets, in any order [-].

    Returns
    -------
    some : array
        [the same]

    Examples
    --------
    >>> some = columns(np.array([[1, 2, 3], [4, 5, 6]]), np.array([2, 0]))
    >>> some.tolist(), some.flags.c_contiguous
    ([[3, 1], [6, 4]], True)
    """
    return rows[..., which] if isinstance(which, slice) else rows.take(which, axis=-1)


def heat_content_of(polymers: tuple[Polymer, ...]) -> HeatContent:
    """Put the heat data of polymers side by side.

    Parameters
    ----------
    polymers : tuple of Polymer
        One for each sheet [-].

    Returns
    -------
    heat : HeatContent
        [SI]

    Raises
    ------
    OutsideRangeError
        A latent heat is below 0, or another value is not above 0.
    """
    of_all = {f.name: np.array([getattr(p, f.name) for p in polymers], float) for f in fields(HeatContent)}
    not_negative(latent_heat=of_all["latent_heat"])
    positive(**{name: values for name, values in of_all.items() if name != "latent_heat"})
    return HeatContent(**of_all)


def enthalpy(heat: HeatContent, temperature: Array) -> Array:
    """Heat held above that of the solid at 0 K with the solid specific heat, exact integral of `specific_heat`.

    ``H = cs T + (ch - cs) max(T - Tstep, 0) + latent/2 (1 + erf((T - Tm)/w))``

    Parameters
    ----------
    heat : HeatContent
        Heat data of each sheet [SI].
    temperature : array
        Level [K], sheets along the last axis.

    Returns
    -------
    enthalpy : array
        [J/kg]
    """
    above = temperature - heat.step_temperature
    content = np.maximum(above, 0.0, out=above)
    content *= heat.jump
    content += heat.specific_heat_solid * temperature
    if heat.melting is not None:
        content[..., heat.melting] += _melted(heat, temperature)
    return content


def specific_heat(heat: HeatContent, temperature: Array) -> Array:
    """Apparent specific heat, melting peak included.

    ``cp = (cs below Tstep, ch above) + latent/(sqrt(pi) w) exp(-((T - Tm)/w)^2)``

    Parameters
    ----------
    heat : HeatContent
        Heat data of each sheet [SI].
    temperature : array
        Level [K], sheets along the last axis.

    Returns
    -------
    specific_heat : array
        [J/(kg K)]
    """
    return linearised(heat, temperature)[1]


def linearised(heat: HeatContent, temperature: Array) -> tuple[Array, Array]:
    """The tangent to `enthalpy` at a temperature, ``H = offset + cp T``.

    Parameters
    ----------
    heat : HeatContent
        Heat data of each sheet [SI].
    temperature : array
        Level [K], sheets along the last axis.

    Returns
    -------
    offset, specific_heat : array
        [J/kg], [J/(kg K)]
    """
    hot = temperature >= heat.step_temperature
    apparent = np.where(hot, heat.specific_heat_hot, heat.specific_heat_solid)
    offset = hot * heat.shift
    if heat.melting is not None:
        melted, slope = _melted_and_slope(heat, temperature)
        apparent[..., heat.melting] += slope
        slope *= columns(temperature, heat.melting)
        melted -= slope
        offset[..., heat.melting] += melted
    return offset, apparent


def temperature_holding(heat: HeatContent, content: Array) -> Array:
    """Temperature at which a polymer holds so much heat: `enthalpy` turned round, by halving.

    Parameters
    ----------
    heat : HeatContent
        Heat data of each sheet [SI].
    content : array
        [J/kg], sheets along the last axis.

    Returns
    -------
    temperature : array
        [K], between `COLDEST` and `HOTTEST`.
    """
    low, high = np.full_like(content, COLDEST), np.full_like(content, HOTTEST)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        more = enthalpy(heat, middle) < content
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    return 0.5 * (low + high)


def _melted(heat: HeatContent, temperature: Array) -> Array:
    """Heat of melting that the sheets that melt have taken up [J/kg]."""
    share = erf(_above_peak(heat, temperature))
    share += 1.0
    share *= 0.5 * heat.peaks[2]
    return share


def _melted_and_slope(heat: HeatContent, temperature: Array) -> tuple[Array, Array]:
    """The same, and what one more kelvin takes up [J/(kg K)]."""
    offset = _above_peak(heat, temperature)
    _, width, latent = heat.peaks
    share = erf(offset)
    offset *= offset
    slope = np.exp(np.negative(offset, out=offset), out=offset)
    slope *= latent / (sqrt(pi) * width)
    share += 1.0
    share *= 0.5 * latent
    return share, slope


def _above_peak(heat: HeatContent, temperature: Array) -> Array:
    """Of the sheets that melt: how many widths above the peak they are [-]."""
    if temperature.shape[-1] != heat.latent_heat.size:
        raise OutsideRangeError(
            "temperature", temperature.shape, f"one column for each of {heat.latent_heat.size} sheets"
        )
    middle, width, _ = heat.peaks
    offset = columns(temperature, heat.melting) - middle
    offset /= width
    return offset
