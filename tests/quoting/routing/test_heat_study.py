"""The chosen sheet followed step by step: it must be the sheet of the plan."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from machines.cycle import Job, turn
from machines.oven import oven_load
from materials.cooling import cooling_times
from materials.heating import heated_to_window
from materials.hot_strength import hot_modulus_at
from materials.tool_contact import LOSS_FILM
from quoting.routing.heat_plan import oven_case
from quoting.routing.heat_study import (
    _as_planned,
    _heat_to_tool,
    cooling_curve,
    heating_study,
    tool_effects,
)
from quoting.routing.other_heat import heated_as_planned
from quoting.routing.sag_study import sag_effects, sag_heats
from tests.quoting.routing.planned_sheets import each_way, plan_of, set_apart, study_of
from tests.quoting.routing.routing_catalog import FOUR, abs_polymer, catalog, machine, one_planned
from tests.reference.cells import heat_between

MARCH = 0.5  # K, what a march is good to


def sags_of(planned):
    return sag_effects(planned, heated_as_planned(planned, sag_heats(planned)))


@each_way
def test_phases_follow_each_other_without_a_gap_and_take_the_times_of_the_recipe(way):
    plan, phases = plan_of(*way).plan, study_of(*way).heating.phases
    heating, by_name = plan.heating, {}
    for phase in phases:
        by_name[phase.name] = by_name.get(phase.name, 0.0) + phase.end - phase.start

    assert phases[0].start == 0.0
    assert all(before.end == pytest.approx(after.start) for before, after in pairwise(phases))
    assert by_name["oven"] == pytest.approx(heating.oven_time)
    assert by_name["transfer"] == pytest.approx(heating.transfer_time)
    assert by_name.get("preheat", 0.0) == pytest.approx(heating.preheat_time, abs=0.5)
    assert [phase.name for phase in phases[-2:]] == ["oven", "transfer"]


@each_way
def test_the_curve_runs_from_the_cold_sheet_to_the_touch_of_the_tool(way):
    planned, heating = plan_of(*way), study_of(*way).heating
    times = [moment.time for moment in heating.curve]

    assert times[0] == 0.0
    assert times == sorted(set(times))
    assert times[-1] == pytest.approx(heating.phases[-1].end)
    assert heating.curve[0].mean == pytest.approx(planned.candidate.plant.shop_temperature)
    for moment in heating.curve:
        assert moment.coldest <= moment.mean <= moment.hottest
        assert moment.coldest <= min(moment.upper_skin, moment.middle, moment.lower_skin)
        assert moment.hottest >= max(moment.upper_skin, moment.middle, moment.lower_skin)


@each_way
def test_the_last_moment_is_the_sheet_that_the_plan_brings_to_the_tool(way):
    heating, last = plan_of(*way).plan.heating, study_of(*way).heating.curve[-1]

    assert last.coldest == pytest.approx(heating.coldest_at_contact, abs=MARCH)
    assert last.mean == pytest.approx(heating.mean_at_contact, abs=MARCH)
    assert min(last.upper_skin, last.lower_skin) == pytest.approx(heating.skin_at_contact, abs=MARCH)


@each_way
def test_profiles_at_exit_and_contact_are_those_of_the_plan(way):
    planned, study = plan_of(*way), study_of(*way).heating
    heating, gauge = planned.plan.heating, planned.candidate.gauge
    leaving, touching = (np.array([d.temperature for d in p]) for p in (study.exit_profile, study.contact_profile))

    # a core in the flank of its melting peak warms so fast that 1 % of the heat is 1.5 K
    assert leaving.min() == pytest.approx(heating.core_at_exit, abs=1.5 if way[1] == "HDPE" else MARCH)
    assert touching.min() == pytest.approx(heating.coldest_at_contact, abs=MARCH)
    for profile in (study.exit_profile, study.contact_profile):
        # numpy: trapezoidal mean over evenly spaced depths
        assert [d.depth for d in profile] == pytest.approx(np.linspace(0.0, gauge, len(profile)))
    assert np.trapezoid(leaving, dx=1 / 20) == pytest.approx(heating.mean_at_exit, abs=MARCH)


@each_way
def test_the_hottest_moment_is_the_hottest_skin_of_the_plan(way):
    heating, study = plan_of(*way).plan.heating, study_of(*way).heating
    assert max(moment.hottest for moment in study.curve) == pytest.approx(heating.surface_peak, abs=MARCH)


def test_a_sheet_whose_preheat_stays_cold_is_still_the_sheet_of_the_plan():
    # a thin sheet on a slow machine is heated in the oven alone
    slow = machine(code="R4", kind="four_station_rotary", stations=FOUR, load_time=120.0, unload_time=100.0)
    planned = one_planned("vacuum", None, catalog(machines=(slow,)), machine="R4")
    heating = planned.plan.heating
    last = heating_study(planned).curve[-1]

    assert last.mean == pytest.approx(heating.mean_at_contact, abs=MARCH)
    assert last.coldest == pytest.approx(heating.coldest_at_contact, abs=MARCH)


@each_way
def test_the_cooling_curve_ends_where_the_plan_demoulds(way):
    planned, curve = plan_of(*way), study_of(*way).cooling_curve

    assert curve[0].mean == planned.plan.heating.mean_at_contact
    assert curve[-1].time == pytest.approx(planned.plan.cooling.time, rel=1e-6)
    assert curve[-1].hottest == pytest.approx(planned.plan.cooling.demould_temperature, abs=0.05)
    # aluminium takes heat better than moving air: lower skin is the tool side
    assert all(moment.lower_skin < moment.upper_skin for moment in curve[2:])
    assert [moment.mean for moment in curve] == sorted((moment.mean for moment in curve), reverse=True)


@each_way
def test_heat_to_the_tool_is_never_less_than_what_the_wall_loses(way):
    planned = plan_of(*way)
    case = _as_planned(planned)
    # scipy quad over the heat capacity, from contact to demoulding
    expected = case.polymer.density * case.wall * heat_between(case.polymer, case.demould, case.start)
    assert _heat_to_tool(case) == pytest.approx(expected, rel=1e-6)


@each_way
def test_a_warmer_tool_is_never_quicker_and_epoxy_is_slower_than_aluminium(way):
    planned, (used, cooler, warmer, epoxy, drifting) = plan_of(*way), study_of(*way).tools

    assert used.time == pytest.approx(planned.plan.cooling.time)
    assert (used.used, cooler.used, warmer.used, epoxy.used, drifting.used) == (True, False, False, False, False)
    assert warmer.tool_temperature - used.tool_temperature == used.tool_temperature - cooler.tool_temperature == 10.0
    assert cooler.time < used.time
    assert warmer.time is None or warmer.time > used.time
    assert epoxy.film < used.film
    assert epoxy.time is None or epoxy.time > used.time
    assert drifting.time >= used.time


@each_way
def test_an_uncontrolled_tool_sheds_what_each_part_brings_before_the_next_comes(way):
    planned, drifting = plan_of(*way), study_of(*way).tools[-1]
    candidate, plan = planned.candidate, planned.plan
    if plan.cycle.governing_station == "form" or candidate.machine.code == "S1":
        assert_shed(planned, drifting)
    else:  # the heat sets the pace, or two sheets do: see the next two tests
        assert drifting.time >= plan.cooling.time


@pytest.mark.parametrize("polymer", ["HDPE", "ABS"])
def test_an_uncontrolled_tool_sheds_its_heat_too_where_two_sheets_make_a_part(polymer):
    way = ("T4", polymer, {"HDPE": 0.187, "ABS": 0.125}[polymer], "twin_sheet")
    assert_shed(plan_of(*way), study_of(*way).tools[-1])


def test_an_uncontrolled_tool_sheds_its_heat_too_where_the_oven_sets_the_pace():
    planned = one_planned("vacuum", None, catalog(machines=(machine(cooling_film_coefficient=300.0),), polymers=(
        abs_polymer(demould_temperature=380.0),)))  # fmt: skip
    assert planned.plan.cycle.governing_station == "oven"
    assert_shed(planned, tool_effects(planned)[-1])


def assert_shed(planned, drifting) -> None:
    candidate, plan = planned.candidate, planned.plan
    polymer, wall = candidate.polymer, plan.cooling.thickest_wall
    job = Job(plan.heating.time, drifting.time, candidate.process, plan.heating.oven_time)
    period = turn(candidate.machine, job).index * plan.cycle.blanks_per_part
    # heat balance by hand, with scipy quad: what a part brings leaves through the back before the next one comes
    brought = polymer.density * wall * heat_between(
        polymer, polymer.demould_temperature, plan.heating.mean_at_contact
    )  # fmt: skip
    warmer = drifting.tool_temperature - candidate.machine.cooling_air_temperature
    assert period * LOSS_FILM * warmer >= brought * (1 - 1e-6)


@each_way
def test_the_part_itself_is_cool_enough_on_an_uncontrolled_tool(way):
    planned, drifting = plan_of(*way), study_of(*way).tools[-1]
    (alone,) = cooling_times((replace(_as_planned(planned), tool_temperature=drifting.tool_temperature),))
    assert drifting.time >= alone


@each_way
def test_the_first_sag_is_the_one_planned(way):
    planned, (first, *others) = plan_of(*way), study_of(*way).sags

    assert first.what.text == "as planned"
    assert first.sag == planned.plan.sag
    assert first.feasible
    assert others
    assert all(other.what.text != "as planned" for other in others)


@pytest.mark.parametrize("code", ["R3", "S1"])
def test_the_first_sag_is_of_a_sheet_heated_as_long_as_planned(code):
    planned = plan_of(code, "ABS", 0.187, "vacuum")
    assert sags_of(planned)[0].heating_time == pytest.approx(planned.plan.heating.time, rel=1e-6)


@pytest.mark.parametrize("planned", [set_apart, lambda: plan_of("R3", "ABS", 0.060, "vacuum")], ids=["apart", "thin"])
def test_the_first_sag_is_of_a_sheet_heated_as_long_as_planned_also_with_a_preheat(planned):
    assert sags_of(planned())[0].heating_time == pytest.approx(planned().plan.heating.time, abs=2.0)


@each_way
def test_a_shorter_hotter_heat_and_a_longer_milder_one_keep_their_order(way):
    sags = {sag.what.text: sag for sag in study_of(*way).sags}
    times = [sags[key].heating_time for key in sags if key.startswith("all heaters {hotter}") or key == "as planned"
             or key.startswith("all heaters {cooler}")]  # fmt: skip
    if len(times) == 3:
        assert times[1] < times[0] < times[2]


def test_sag_goes_with_the_cube_root_of_the_modulus_through_the_thickness():
    planned = plan_of("S1", "ABS", 0.250, "vacuum")
    study, polymer = study_of("S1", "ABS", 0.250, "vacuum"), planned.candidate.polymer
    leaving = np.array([d.temperature for d in study.heating.exit_profile])
    # numpy: trapezoidal mean of the modulus, line on log paper; s = s0 (E0/E)^(1/3)
    own = np.trapezoid(hot_modulus_at(polymer, leaving), dx=1 / 20)
    effect = next(sag for sag in study.sags if sag.what.text.startswith("lower heaters"))
    load, one, heating = oven_load((oven_case(planned.candidate),)), np.ones(1), planned.plan.heating
    around = load.around(heating.upper_heater * one, (heating.lower_heater - 30.0) * one)
    other = heated_to_window(load.sheets, load.start, around).profile[:, 0]
    changed = np.trapezoid(hot_modulus_at(polymer, other), dx=1 / 20)
    assert effect.sag == pytest.approx(planned.plan.sag * (own / changed) ** (1 / 3), rel=0.002)


def test_a_change_that_a_bank_cannot_make_is_not_compared():
    hottest = plan_of("S1", "HDPE", 0.187, "vacuum")  # its banks are at their hottest
    assert not any(sag.what.text.startswith("all heaters {hotter}") for sag in sags_of(hottest))


def test_the_tool_side_of_the_cooling_curve_is_nearer_to_the_tool():
    planned = plan_of("R3", "ABS", 0.187, "vacuum")
    last, tool = cooling_curve(planned)[-1], planned.candidate.polymer.tool_temperature
    assert abs(last.lower_skin - tool) < abs(last.upper_skin - tool)
