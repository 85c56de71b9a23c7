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
    jump = heat.specific_heat_hot - heat.specific_heat_solid
    content = heat.specific_heat_solid * temperature + jump * np.maximum(temperature - heat.step_temperature, 0.0)
    if heat.latent_heat.any():
        offset = (temperature - heat.melting_temperature) / heat.melting_width
        content += 0.5 * heat.latent_heat * (1.0 + erf(offset))
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
    apparent = np.where(temperature < heat.step_temperature, heat.specific_heat_solid, heat.specific_heat_hot)
    if heat.latent_heat.any():
        offset = (temperature - heat.melting_temperature) / heat.melting_width
        apparent += heat.latent_heat / (sqrt(pi) * heat.melting_width) * np.exp(-(offset * offset))
    return apparent
