"""How much heat a polymer holds at a temperature: a step in specific heat, and a melting peak."""

from dataclasses import dataclass, fields
from math import pi, sqrt

import numpy as np
from scipy.special import erf

from materials.polymer import Polymer

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
    """
    return HeatContent(*(np.array([getattr(p, f.name) for p in polymers], float) for f in fields(HeatContent)))


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
    content *= heat.specific_heat_hot - heat.specific_heat_solid
    content += heat.specific_heat_solid * temperature
    melting = np.flatnonzero(heat.latent_heat)
    if melting.size:
        some = _side_by_side(melting)
        content[..., some] += _melted(heat, some, temperature)[0]
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
    return enthalpy_and_specific_heat(heat, temperature)[1]


def enthalpy_and_specific_heat(heat: HeatContent, temperature: Array) -> tuple[Array, Array]:
    """Both at once, for they share most of their work; see `enthalpy` and `specific_heat`.

    Parameters
    ----------
    heat : HeatContent
        Heat data of each sheet [SI].
    temperature : array
        Level [K], sheets along the last axis.

    Returns
    -------
    enthalpy, specific_heat : array
        [J/kg], [J/(kg K)]
    """
    above = temperature - heat.step_temperature
    apparent = np.where(above < 0.0, heat.specific_heat_solid, heat.specific_heat_hot)
    content = np.maximum(above, 0.0, out=above)
    content *= heat.specific_heat_hot - heat.specific_heat_solid
    content += heat.specific_heat_solid * temperature
    melting = np.flatnonzero(heat.latent_heat)
    if melting.size:
        some = _side_by_side(melting)
        melted, offset = _melted(heat, some, temperature)
        content[..., some] += melted
        apparent[..., some] += (
            heat.latent_heat[some] / (sqrt(pi) * heat.melting_width[some]) * np.exp(-(offset * offset))
        )
    return content, apparent


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


def _side_by_side(melting: Array) -> slice | Array:
    """Sheets that melt, as a slice where they lie side by side, as the march keeps them: it costs less."""
    first, last = melting[0], melting[-1] + 1
    return slice(first, last) if last - first == melting.size else melting


def _melted(heat: HeatContent, some: slice | Array, temperature: Array) -> tuple[Array, Array]:
    """Heat of melting taken up by some sheets [J/kg], and how many widths they are above the peak [-]."""
    offset = (temperature[..., some] - heat.melting_temperature[some]) / heat.melting_width[some]
    return 0.5 * heat.latent_heat[some] * (1.0 + erf(offset)), offset
