"""How much heat a polymer holds at a temperature: a step in specific heat, and a melting peak."""

from dataclasses import dataclass, fields
from math import pi, sqrt

import numpy as np
from scipy.special import erf

from materials.polymer import Polymer

Array = np.ndarray


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
    return enthalpy_and_specific_heat(heat, temperature)[0]


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
    jump = heat.specific_heat_hot - heat.specific_heat_solid
    above = temperature - heat.step_temperature
    apparent = np.where(above < 0.0, heat.specific_heat_solid, heat.specific_heat_hot)
    content = np.maximum(above, 0.0, out=above)
    content *= jump
    content += heat.specific_heat_solid * temperature
    melting = np.flatnonzero(heat.latent_heat)
    if melting.size:
        _add_melting(heat, temperature, melting, content, apparent)
    return content, apparent


def _add_melting(heat: HeatContent, temperature: Array, melting: Array, content: Array, apparent: Array) -> None:
    """Add the peak to the sheets that have one; the march keeps them side by side, so a slice will mostly do."""
    first, last = melting[0], melting[-1] + 1
    some = slice(first, last) if last - first == melting.size else melting
    width, latent = heat.melting_width[some], heat.latent_heat[some]
    offset = (temperature[..., some] - heat.melting_temperature[some]) / width
    content[..., some] += 0.5 * latent * (1.0 + erf(offset))
    apparent[..., some] += latent / (sqrt(pi) * width) * np.exp(-(offset * offset))
