"""Every number of the plan opened: what its formula gives from the inputs shown is the number shown."""

import pytest

from machines.machine import Station
from materials.sheet import INCH
from quoting.routing.numbers import explained
from quoting.routing.study import Explained
from tests.quoting.routing.planned_sheets import each_way, plan_of, set_apart
from tests.quoting.routing.routing_catalog import one_planned, part, request

GRAVITY = 9.80665  # m/s2, standard


def opened(planned) -> dict[str, Explained]:
    return {one.name: one for one in explained(planned)}


def inputs_of(one: Explained) -> dict[str, float]:
    return {given.name: given.value for given in one.inputs}


def arithmetic(name: str, given: dict[str, float]) -> float:
    """The printed formulas written out once more, from nothing but the inputs printed beside them."""
    stations = [value for key, value in given.items() if key not in ("index time of the machine",)]
    return {
        "Areal draw ratio": lambda: max(given["formed surface of one skin"] / (given["length"] * given["width"]), 1.0),
        "Mean wall": lambda: given["gauge"] / given["areal draw ratio"],
        "Thinnest wall": lambda: given["gauge"] * given["thinnest wall over gauge"],
        "Gauge required": lambda: given["least wall asked"] / given["thinnest wall over gauge"]
        / (1 - given["share by which sheet runs thin"]),
        "Forming force": lambda: given["forming pressure"] * given["parts of one blank, seen along the draw"],
        "Stored energy of the compressed air": lambda: given["forming pressure"] * given["volume of the box"] / 0.4,
        "Heat for each kilogram": lambda: given["heat into it"] / given["blank"],
        "Mass of one blank": lambda: given["blank"] * given["gauge"] * given["density"],
        "Sag": lambda: (3 * given["density"] * GRAVITY / (64 * given["hot modulus"] * (
            given["free span along the platen"] ** -4 + given["free span across the platen"] ** -4))) ** (1 / 3),
        "Rule of thumb for it": lambda: {"ABS": 90.0, "HDPE": 130.0}["ABS"] * (given["gauge"] / 0.003175) ** 1.4,
        "longest station + index time": lambda: max(stations) + given["index time of the machine"],
        "sum of the stations + 2 x index time": lambda: sum(stations) + 2 * given["index time of the machine"],
    }[name]()  # fmt: skip


ARITHMETIC = ("Areal draw ratio", "Mean wall", "Thinnest wall", "Forming force", "Heat for each kilogram",
              "Mass of one blank", "Sag")  # fmt: skip


@each_way
@pytest.mark.parametrize("name", ARITHMETIC)
def test_a_number_is_what_its_formula_gives_from_its_inputs(way, name):
    one = opened(plan_of(*way))[name]
    # by hand: the printed formula
    assert one.value == pytest.approx(arithmetic(name, inputs_of(one)), rel=1e-9)


@each_way
def test_the_time_between_two_blanks_is_what_its_formula_gives(way):
    one = opened(plan_of(*way))["Time between two blanks"]
    if one.formula.startswith("half"):
        # twin-sheet, worked by hand: T = max(heat, dwells) + 2 index, half of it
        given = inputs_of(one)
        heat = given["preheat"] + given["oven"]
        dwells = sum(max(given["load"], given[f"form, {nth} sheet"]) for nth in ("first", "second"))
        assert one.value == pytest.approx((max(heat, dwells) + 2 * given["index time of the machine"]) / 2)
    else:
        assert one.value == pytest.approx(arithmetic(one.formula, inputs_of(one)))


@each_way
def test_parts_an_hour_are_what_the_formula_gives(way):
    numbers = opened(plan_of(*way))
    one, index = numbers["Parts an hour"], numbers["Time between two blanks"].value
    given = inputs_of(one)
    assert one.value == pytest.approx(3600 / (given["blanks a part"] * index) * given["cavities"] * given["efficiency"])


def test_parts_an_hour_show_the_time_they_rest_on():
    one = opened(plan_of("R3", "ABS", 0.187, "vacuum"))["Parts an hour"]
    assert any("between" in given.name for given in one.inputs)


def test_the_rule_of_thumb_is_what_its_formula_gives():
    one = opened(plan_of("R3", "ABS", 0.187, "vacuum"))["Rule of thumb for it"]
    # common practice, no source: ABS of 0.125 in takes 90 s
    assert one.value == pytest.approx(arithmetic(one.name, inputs_of(one)), rel=1e-9)


def test_the_heat_into_a_blank_is_what_the_enthalpy_says():
    planned = plan_of("R3", "ABS", 0.187, "vacuum")
    one = opened(planned)["Heat into one blank"]
    given, mean = inputs_of(one), planned.plan.heating.mean_at_exit
    # by hand: an amorphous sheet all above its step at the exit, so that only its mean counts
    gained = given["specific heat solid"] * (given["step temperature"] - 295.0) + given["specific heat hot"] * (
        mean - given["step temperature"]
    )
    assert one.value == pytest.approx(given["density"] * given["gauge"] * given["blank"] * gained, rel=1e-4)


def test_stored_energy_is_what_its_formula_gives_and_is_told_of_pressure_alone():
    name = "Stored energy of the compressed air"
    one = opened(plan_of("R3", "ABS", 0.187, "pressure"))[name]
    assert one.value == pytest.approx(arithmetic(name, inputs_of(one)), rel=1e-9)
    given = inputs_of(one)
    # by hand: area inside the seal x (8 in + 0.1 m)
    assert given["volume of the box"] == pytest.approx(given["area inside the seal"] * (8 * INCH + 0.1))
    assert name not in opened(plan_of("R3", "ABS", 0.187, "vacuum"))


def asked_by_wall(**changes):
    return one_planned("vacuum", request(part(**{"gauge": None, "minimum_wall": 0.050 * INCH} | changes)))


def test_the_gauge_required_is_what_its_formula_gives_where_a_radius_is_asked_for():
    one = opened(asked_by_wall(smallest_radius=0.25 * INCH))["Gauge required"]
    assert one.value == pytest.approx(arithmetic(one.name, inputs_of(one)), rel=1e-6)
    assert inputs_of(one)["share by which sheet runs thin"] == 0.1


def test_the_gauge_required_is_what_its_formula_gives_where_the_radius_is_the_gauge():
    one = opened(asked_by_wall())["Gauge required"]
    assert one.value == pytest.approx(arithmetic(one.name, inputs_of(one)), rel=1e-3)


def test_no_gauge_is_required_where_it_was_given():
    assert "Gauge required" not in opened(plan_of("R3", "ABS", 0.187, "vacuum"))


@each_way
def test_every_number_and_every_input_has_a_source_and_a_unit(way):
    for one in explained(plan_of(*way)):
        assert one.formula.strip()
        assert one.source.strip()
        assert one.unit
        for given in one.inputs:
            assert given.source.strip(), (one.name, given.name)
            assert given.unit, (one.name, given.name)
            assert given.value == given.value  # noqa: PLR0124  not a NaN


@each_way
def test_numbers_are_those_of_the_plan(way):
    plan, numbers = plan_of(*way).plan, opened(plan_of(*way))
    shown = {
        "Time in the heat": plan.heating.time, "Skin at its hottest": plan.heating.surface_peak,
        "Core at oven exit": plan.heating.core_at_exit, "Coldest point at the tool": plan.heating.coldest_at_contact,
        "Mean at the tool": plan.heating.mean_at_contact, "Cooling on the tool": plan.cooling.time,
        "Thinnest wall": plan.thinning.thinnest_wall, "Sag": plan.sag, "Forming force": plan.press.force,
        "Time between two blanks": plan.cycle.index, "Parts an hour": plan.cycle.parts_per_hour,
        "Mass of one blank": plan.blank_mass, "Heat into one blank": plan.blank_energy,
    }  # fmt: skip
    assert {name: numbers[name].value for name in shown} == shown
    assert len(numbers) == len(explained(plan_of(*way)))


def test_names_of_stations_do_not_collide_in_the_inputs():
    planned = plan_of("R4", "ABS", 0.375, "vacuum")
    names = [given.name for given in opened(planned)["Time between two blanks"].inputs]
    assert len(names) == len(set(names))
    assert isinstance(planned.candidate.machine.stations[0], Station)


def test_the_time_in_the_heat_shows_every_heater_it_rests_on():
    planned = set_apart()
    shown = {given.value for given in opened(planned)["Time in the heat"].inputs}
    assert {planned.plan.heating.upper_heater, planned.plan.heating.preheat_upper} <= shown
