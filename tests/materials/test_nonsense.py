"""Every formula of the physics: what it is asked by one value it is asked by many, and what is no number it refuses."""

from dataclasses import dataclass, fields, is_dataclass
from math import inf, nan

import numpy as np
import pytest

from machines import press
from machines.oven import rule_of_thumb_heating_time
from materials import compressed_air, exposure, hanging_shape, sag, shapes, shrinkage, stretching, thinning
from materials.cavity import FormedShape, FormingMethod
from materials.cooling import CoolingCase, cooling_times
from materials.exposure import Heaters
from materials.heating import HeatedSheet, heated
from materials.hot_strength import hot_modulus_at
from materials.progressive import wall_shares
from materials.ranges import OutsideRangeError
from materials.sheet import blank_mass
from materials.stiffness import panel_mass
from materials.tool_contact import contact_with, drifted_tool_temperature, shortest_cycle, tool_film
from tests.material_samples import amorphous, semicrystalline

BANK = Heaters(700.0, 0.9, 0.7)


@dataclass(frozen=True)
class Asked:
    """A formula with numbers that it takes; ``may_be_infinite`` names those of them."""

    formula: object
    numbers: dict
    others: tuple = ()
    may_be_infinite: tuple = ()

    def by(self, **instead: object) -> object:
        return self.formula(*self.others, **(self.numbers | instead))

    def __str__(self) -> str:
        return self.formula.__name__


FORMULAS = (
    Asked(stretching.cone_wall_share, {"wall_angle": 0.8, "remaining": 0.5}),
    Asked(stretching.wedge_wall_share, {"wall_angle": 0.8, "remaining": 0.5}),
    Asked(stretching.cylinder_wall_share, {"below_rim": 0.05, "radius": 0.2}),
    Asked(stretching.cylinder_corner_share, {"corner_radius": 0.02, "radius": 0.2, "depth": 0.3}),
    Asked(stretching.trough_wall_share, {"below_rim": 0.05, "half_width": 0.2}),
    Asked(stretching.trough_corner_share, {"radius_share": 0.5}),
    Asked(thinning.tapered_box_area, {"length": 1.2, "width": 0.9, "depth": 0.3, "draft": 0.05}),
    Asked(thinning.areal_draw_ratio, {"surface_area": 2.0, "footprint": 1.0}),
    Asked(thinning.mean_wall, {"gauge": 0.005, "areal": 2.0}),
    Asked(thinning.required_gauge, {"minimum_wall": 0.0015, "share": 0.4, "gauge_tolerance": 0.05}),
    Asked(lambda required: thinning.stocked_gauge(required, (0.004, 0.006)), {"required": 0.005}),
    Asked(shapes.cylinder_areal_draw_ratio, {"depth": 0.3, "diameter": 0.4}),
    Asked(shapes.frustum_areal_draw_ratio, {"rim_radius": 0.2, "base_radius": 0.1, "depth": 0.3}),
    Asked(shapes.cap_areal_draw_ratio, {"height": 0.1, "rim_radius": 0.2}),
    Asked(sag.sag, {"density": 1050.0, "hot_modulus": 1e6, "span_a": 1.2, "span_b": 0.9}),
    Asked(sag.disc_sag, {"density": 1050.0, "hot_modulus": 1e6, "radius": 0.4, "poisson": 0.4}),
    Asked(sag.newtonian_sag, {"density": 1050.0, "viscosity": 1e7, "span": 0.9, "time": 60.0}),
    Asked(sag.span_share_for, {"sag_now": 0.1, "sag_wanted": 0.05}),
    Asked(sag.sag_ratio, {"sag": 0.1, "span_a": 1.2, "span_b": 0.9}),
    Asked(sag.slack_ratio, {"strain": 0.01}),
    Asked(hanging_shape.parabola_length_ratio, {"sag_ratio": 0.1}),
    Asked(hanging_shape.catenary_length_ratio, {"sag_ratio": 0.1}),
    Asked(hanging_shape.catenary_sag, {"density": 1050.0, "hot_modulus": 1e6, "span": 0.9}),
    Asked(hot_modulus_at, {"temperature": 420.0}, (amorphous(),)),
    Asked(tool_film, {"contact_film": 400.0, "thickness": 0.02, "conductivity": 1.0, "back_film": 300.0}, ("epoxy",)),
    Asked(
        drifted_tool_temperature,
        {"energy_per_area": 3e5, "cycle_time": 240.0, "loss_film": 25.0, "air_temperature": 298.0},
    ),
    Asked(shortest_cycle, {"energy_per_area": 3e5, "warmest_tool": 340.0, "loss_film": 25.0, "air_temperature": 298.0}),
    Asked(
        contact_with,
        {
            "contact_film": 400.0,
            "set_temperature": 333.0,
            "energy_per_area": 3e5,
            "cycle_time": 240.0,
            "air_temperature": 298.0,
            "loss_film": 25.0,
        },
        ("controlled aluminium",),
    ),
    Asked(shrinkage.shrink_allowance, {"shrinkage": 0.006, "side": 1.2}),
    Asked(compressed_air.stored_air_energy, {"pressure_gauge": 4e5, "volume": 0.5}),
    Asked(exposure.grey_exchange, {"heater_emissivity": 0.9, "sheet_emissivity": 0.92}),
    Asked(exposure.net_flux, {"sheet_emissivity": 0.9, "surface": 300.0, "air": 350.0, "film": 8.0}, (BANK,)),
    Asked(exposure.absorbed_share, {"extinction": 1000.0, "gauge": 0.004}, may_be_infinite=("extinction",)),
    Asked(blank_mass, {"length": 1.2, "width": 0.9, "gauge": 0.004, "density": 1050.0}),
    Asked(panel_mass, {"area": 1.2, "thickness": 0.004, "density": 1050.0}),
    Asked(press.forming_pressure, {"vacuum_pressure": 85e3, "has_texture": False}, ("pressure",)),
    Asked(press.force, {"pressure": 4e5, "area": 1.2}),
    Asked(press.vacuum_force, {"vacuum_pressure": 85e3, "area": 1.2}),
    Asked(press.membrane_pressure, {"pressure_gauge": 4e5, "vacuum_pressure": 85e3}),
    Asked(press.force_on_lock, {"pressure": 4e5, "area": 1.2}, ("pressure",)),
    Asked(press.lock_margin, {"lock_force": 1e6, "opening_force": 5e5}),
    Asked(press.highest_pressure, {"lock_force": 1e6, "area": 1.2, "margin": 1.2}),
    Asked(press.box_volume, {"area": 1.2, "drawn_depth": 0.3, "head_space": 0.1}),
    Asked(rule_of_thumb_heating_time, {"gauge": 0.004}, ("ABS",)),
)
NUMBERS = [(one, name) for one in FORMULAS for name, value in one.numbers.items() if isinstance(value, float)]
each_number = pytest.mark.parametrize(("asked", "name"), NUMBERS, ids=lambda part: str(part))


def parts(found: object) -> list:
    return [getattr(found, field.name) for field in fields(found)] if is_dataclass(found) else [found]


@each_number
@pytest.mark.parametrize("wrong", [nan, inf, -1.0, np.array([1.0, nan])], ids=["nan", "inf", "negative", "one nan"])
def test_what_is_no_number_of_that_kind_is_refused_by_its_name(asked, name, wrong):
    if wrong is inf and name in asked.may_be_infinite:
        pytest.skip("an opaque sheet takes up all at its face")
    with pytest.raises(OutsideRangeError) as refused:
        asked.by(**{name: wrong})
    assert refused.value.name == name


@each_number
@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 1)], ids=str)
def test_many_values_give_as_many_results_each_as_alone(asked, name, shape):
    alone, many = parts(asked.by()), parts(asked.by(**{name: np.full(shape, asked.numbers[name])}))
    assert [np.shape(part) for part in many] == [shape] * len(alone)
    for one, all_ in zip(alone, many, strict=True):
        assert np.broadcast_to(one, shape) == pytest.approx(all_, rel=1e-13)


def test_no_sheets_are_heated_at_once():
    assert heated(()).time.shape == (0,)


@pytest.mark.parametrize("kind", ["box", "cylinder", "wedge"])
def test_a_part_of_no_shapes_has_no_walls(kind):
    none = FormedShape(kind, np.array([]), 0.3, 0.1, web=0.02)
    for method in (FormingMethod(), FormingMethod(plug=True), FormingMethod("male")):
        assert wall_shares(none, method).thinnest.shape == (0,)


@pytest.mark.parametrize("name", ["length", "width", "depth", "draft", "corner_radius", "web"])
@pytest.mark.parametrize("wrong", [nan, inf, -1.0])
def test_a_shape_without_a_size_is_refused_by_its_name(name, wrong):
    sizes = {"length": 0.5, "width": 0.3, "depth": 0.1}
    with pytest.raises(OutsideRangeError) as refused:
        FormedShape("box", **(sizes | {name: wrong}))
    assert refused.value.name == name


@pytest.mark.parametrize("wrong", [nan, inf, 0.9])
def test_a_bubble_without_end_is_refused(wrong):
    with pytest.raises(OutsideRangeError, match="pre_stretch"):
        FormingMethod(pre_stretch=wrong)


@pytest.mark.parametrize("wrong", [nan, inf, -1.0])
@pytest.mark.parametrize(
    "name", ["gauge", "start", "air_temperature", "air_film_coefficient", "temperature", "emissivity", "view_factor"]
)
def test_a_sheet_in_an_oven_that_is_none_is_refused_by_name(name, wrong):
    sheet = {"gauge": 0.003, "start": 293.0, "air_temperature": 350.0, "air_film_coefficient": 8.0}
    bank = {"temperature": 700.0, "emissivity": 0.9, "view_factor": 0.7}
    known = {"air_temperature": "air", "air_film_coefficient": "film", "temperature": "heater_temperature"}
    known |= {"emissivity": "heater_emissivity"}
    sheet, bank = ({key: wrong if key == name else value for key, value in part.items()} for part in (sheet, bank))
    with pytest.raises(OutsideRangeError) as refused:
        heated((HeatedSheet(amorphous(), upper=Heaters(**bank), lower=BANK, **sheet),))
    assert refused.value.name == known.get(name, name)


@pytest.mark.parametrize("wrong", [nan, inf, -1.0])
@pytest.mark.parametrize(
    "name",
    ["wall", "start", "tool_film", "free_film", "air_temperature", "tool_temperature", "demould_temperature"],
)
def test_a_wall_on_a_tool_that_is_none_is_refused_by_name(name, wrong):
    wall = {"wall": 0.003, "start": 420.0, "tool_film": 400.0, "free_film": 30.0, "air_temperature": 298.0}
    with pytest.raises(OutsideRangeError) as refused:
        cooling_times((CoolingCase(amorphous(), **(wall | {name: wrong})),))
    assert refused.value.name == name


@pytest.mark.parametrize(
    "name", ["density", "conductivity", "specific_heat_solid", "specific_heat_hot", "latent_heat", "melting_width"]
)
@pytest.mark.parametrize("wrong", [nan, inf, -1.0])
def test_a_polymer_without_a_property_is_refused_by_its_name(name, wrong):
    odd = semicrystalline(**{name: wrong})
    for ask in (
        lambda: heated((HeatedSheet(odd, 0.003, 293.0, BANK, BANK, 350.0, 8.0),)),
        lambda: cooling_times((CoolingCase(odd, 0.003, 420.0, 400.0, 30.0, 298.0),)),
    ):
        with pytest.raises(OutsideRangeError) as refused:
            ask()
        assert refused.value.name == name
