"""Invented polymers and an invented oven for tests of materials and machines; figures are plausible, not measured."""

from machines.machine import HeaterBank, Oven
from materials.polymer import Polymer

CELSIUS = 273.15


def amorphous(**changes: object) -> Polymer:
    return Polymer(
        **{
            "name": "ABS",
            "description": "for tests",
            "semicrystalline": False,
            "density": 1050.0,
            "conductivity": 0.19,
            "specific_heat_solid": 1400.0,
            "specific_heat_hot": 2000.0,
            "step_temperature": 100 + CELSIUS,
            "latent_heat": 0.0,
            "melting_temperature": 100 + CELSIUS,
            "melting_width": 6.0,
            "emissivity": 0.92,
            "expansion": 8e-5,
            "flexural_modulus": 2.1e9,
            "hot_modulus": 1e6,
            "deflection_temperature": 90 + CELSIUS,
            "lower_forming_temperature": 127 + CELSIUS,
            "normal_forming_temperature": 149 + CELSIUS,
            "upper_forming_temperature": 182 + CELSIUS,
            "tool_temperature": 60 + CELSIUS,
            "demould_temperature": 85 + CELSIUS,
            "shrinkage": 0.006,
        }
        | changes
    )


def semicrystalline(**changes: object) -> Polymer:
    melting = {
        "name": "HDPE",
        "semicrystalline": True,
        "density": 950.0,
        "conductivity": 0.33,
        "specific_heat_solid": 2300.0,
        "specific_heat_hot": 2300.0,
        "latent_heat": 190e3,
        "melting_temperature": 128 + CELSIUS,
        "lower_forming_temperature": 132 + CELSIUS,
        "normal_forming_temperature": 145 + CELSIUS,
        "upper_forming_temperature": 180 + CELSIUS,
    }
    return amorphous(**(melting | changes))


def bank(lowest: float = 250 + CELSIUS, highest: float = 550 + CELSIUS, **changes: float) -> HeaterBank:
    size = {"heated_length": 2.0, "heated_width": 1.5, "emissivity": 0.90, "view_factor": 0.70}
    return HeaterBank(lowest, highest, **(size | changes))


def oven(upper: HeaterBank | None = None, lower: HeaterBank | None = None) -> Oven:
    return Oven(upper or bank(), lower or bank(), 80 + CELSIUS, 8.0, 0.5)
