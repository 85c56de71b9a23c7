"""Heating and cooling times of the demo plants against what the trade expects for a millimetre of sheet.

All the bands are rules of thumb from memory of handbooks, unverified: they catch a factor of two, no more.
"""

import json
from math import log
from pathlib import Path

import pytest

from machines.oven import OvenCase, oven_settings
from materials.cooling import CoolingCase, cooling_times
from materials.exposure import Heaters
from materials.heating import HeatedSheet, heated
from quoting.intake.catalog_file import read_materials, read_plants
from tests.material_samples import CELSIUS, amorphous, semicrystalline

DEMO = Path(__file__).resolve().parents[2] / "fixtures" / "demo"
ROOM = 20 + CELSIUS
MILLIMETRE = 0.001
SLACK = 1.25  # a quarter beyond the band either way: the fastest setting is the edge of what can be done, not the habit


def demo(name):
    return json.loads((DEMO / name).read_text(encoding="utf-8"))


_, MACHINES = read_plants(demo("plants.json"))
POLYMER = {polymer.name: polymer for polymer in read_materials(demo("materials.json"))[0]}


def fastest(name: str, gauge: float) -> list[float]:
    """Least time per thickness [s/mm] that scorches nothing, one for each demo machine."""
    found = oven_settings(tuple(OvenCase(POLYMER[name], gauge, machine.oven, ROOM) for machine in MACHINES))
    return [min(s.time for s in settings if s.feasible) / gauge * MILLIMETRE for settings in found]


# Two-sided heating [s/mm], heavy gauge: from memory of thermoforming handbooks, unverified.
HEATING = {"ABS": (20, 40), "HIPS": (20, 40), "PC": (25, 45), "PMMA": (25, 45), "HDPE": (35, 80), "PP": (35, 80)}


@pytest.mark.parametrize("gauge", [0.003, 0.004, 0.006])
@pytest.mark.parametrize("name", HEATING)
def test_a_demo_oven_takes_as_long_for_a_millimetre_as_the_trade_expects(name, gauge):
    # the band for this polymer, from memory of thermoforming handbooks, unverified, a quarter beyond either way
    least, most = HEATING[name][0] / SLACK, HEATING[name][1] * SLACK
    assert all(least < time < most for time in fastest(name, gauge))


@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline()], ids=["amorphous", "melting"])
@pytest.mark.parametrize("celsius", [300.0, 350.0, 420.0])
def test_time_rises_faster_than_gauge_but_slower_than_its_square(polymer, celsius):
    bank = Heaters(celsius + CELSIUS, 0.9, 0.7)
    gauges = (0.003, 0.006, 0.012)
    times = heated(tuple(HeatedSheet(polymer, g, ROOM, bank, bank, 80 + CELSIUS, 8.0) for g in gauges)).time
    for thin, thick in zip(times, times[1:], strict=False):
        # exponent 1 where the flux limits and 2 where conduction does: limits of the model itself
        assert 1.0 < log(thick / thin) / log(2) < 2.0


@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline()], ids=["amorphous", "melting"])
@pytest.mark.parametrize("gauge", [0.002, 0.004, 0.006])
def test_one_bank_alone_takes_two_to_three_times_as_long_as_two(polymer, gauge):
    bank, none = Heaters(350 + CELSIUS, 0.9, 0.7), Heaters(350 + CELSIUS, 0.9, 0.0)
    both, one = heated(
        tuple(HeatedSheet(polymer, gauge, ROOM, bank, lower, 80 + CELSIUS, 8.0) for lower in (bank, none))
    ).time
    # "one-sided roughly 2-3 times", from memory of thermoforming handbooks, unverified
    assert 2.0 < one / both < 3.0


def test_melting_makes_polyolefins_the_slowest_to_heat():
    # order of the same bands: styrenics, then the glassy ones that form hotter, then the ones that melt
    times = {name: fastest(name, 0.004)[0] for name in HEATING}
    assert max(times["ABS"], times["HIPS"]) < min(times["PC"], times["PMMA"])
    assert times["HDPE"] > max(times["PC"], times["ABS"])


def cooling(name: str, wall: float) -> list[float]:
    """Time per thickness [s/mm] on the temperature-controlled tool and under the fans of each demo machine."""
    polymer = POLYMER[name]
    cases = tuple(
        CoolingCase(
            polymer,
            wall,
            polymer.normal_forming_temperature,
            machine.tool_film_coefficient,
            machine.cooling_film_coefficient,
            machine.cooling_air_temperature,
        )
        for machine in MACHINES
    )
    return [time / wall * MILLIMETRE for time in cooling_times(cases)]


@pytest.mark.parametrize("name", ["ABS", "HIPS", "acrylic-capped ABS", "PC", "PPO/PS", "HDPE", "PP", "TPO"])
@pytest.mark.parametrize("wall", [0.002, 0.003, 0.004])
def test_a_wall_cools_on_aluminium_as_long_for_a_millimetre_as_the_trade_expects(name, wall):
    # 10-35 s/mm for cooled aluminium, from memory of thermoforming handbooks, unverified, a quarter beyond either way
    assert all(10 / SLACK < time < 35 * SLACK for time in cooling(name, wall))


def test_polyolefins_cool_slower_than_styrenics():
    styrenic, polyolefin = (max(cooling(name, 0.003)) for name in ("ABS", "HDPE"))
    # "1.5-2.5 times", from memory of thermoforming handbooks, unverified; a quarter beyond either way
    assert 1.5 / SLACK < polyolefin / styrenic < 2.5 * SLACK
