"""What a polymer is to a thermoformer: its heat, its window, its strength, and what its maker certifies."""

from dataclasses import dataclass
from datetime import date

NEEDS = ("food_contact", "flame_v0", "outdoor_uv", "impact", "transparent")


@dataclass(frozen=True)
class NeedMet:
    """A need this polymer's sheet can meet, and the paper that says so.

    ``certificate`` and ``expires`` are None where no paper is needed (a clear sheet is seen to be clear).
    ``thinnest_wall`` [m] is the wall down to which a flame class holds; None where thickness does not matter.
    """

    need: str
    certificate: str | None = None
    expires: date | None = None
    thinnest_wall: float | None = None


@dataclass(frozen=True)
class Polymer:
    """One polymer as formed from extruded sheet. All temperatures are levels [K].

    ``specific_heat_solid`` holds below ``step_temperature``, ``specific_heat_hot`` above it; a semi-crystalline
    polymer adds ``latent_heat`` [J/kg] as a Gaussian around ``melting_temperature`` with width ``melting_width`` [K]:
    ``cp += latent/(sqrt(pi) w) exp(-((T-Tm)/w)^2)``. For an amorphous polymer latent heat is 0.
    ``sources`` names, for each property, where its value was found.
    """

    name: str
    description: str
    semicrystalline: bool
    density: float  # kg/m3
    conductivity: float  # W/(m K)
    specific_heat_solid: float  # J/(kg K)
    specific_heat_hot: float  # J/(kg K)
    step_temperature: float
    latent_heat: float  # J/kg
    melting_temperature: float
    melting_width: float  # K, a difference
    emissivity: float  # -
    expansion: float  # 1/K, linear
    flexural_modulus: float  # Pa at room temperature
    hot_modulus: float  # Pa in the forming window, for sag
    deflection_temperature: float  # under load of 0.45 MPa
    lower_forming_temperature: float  # coldest point must be above
    normal_forming_temperature: float  # mean must reach
    upper_forming_temperature: float  # no point may pass (scorch limit)
    tool_temperature: float
    demould_temperature: float  # hottest point of the part when it may leave the tool
    shrinkage: float  # -, linear, after forming
    extinction: float | None = None  # 1/m, of heater radiation in clear sheet; None: opaque, all stays in the skin
    needs: tuple[NeedMet, ...] = ()
    sources: tuple[tuple[str, str], ...] = ()
