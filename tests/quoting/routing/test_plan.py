"""The forming plan that is computed for a candidate."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.cooling import LONGEST_COOLING
from materials.sheet import INCH
from quoting.routing.candidates import candidates
from quoting.routing.judging import judge, judged
from quoting.routing.plan import planned, trim_of
from quoting.routing.rules.ability import lock_holds_box, lock_holds_parts
from quoting.routing.rules.all_rules import RULES, RULES_OF_THE_LAYOUT
from quoting.routing.rules.depth import areal_draw
from tests.quoting.routing.routing_catalog import (
    KELVIN,
    PSI,
    TODAY,
    abs_polymer,
    bank,
    bench,
    catalog,
    changed,
    hdpe,
    machine,
    one_planned,
    oven,
    part,
    planned_all,
    plant,
    request,
    router,
)

POUND = 0.45359237  # kg, exact


def test_the_cover_is_stretched_and_weighs_what_the_hand_calculation_says():
    # by hand, in, lb, 1485 in2 of .187: A 1.971, mean .095, thinnest .057, blank 10.525 lb at .0379 lb/in3 (1049 kg/m3)
    plan = one_planned("vacuum").plan

    assert plan.thinning.areal_draw_ratio == pytest.approx(1.971, abs=5e-4)
    assert plan.thinning.mean_wall / INCH == pytest.approx(0.095, abs=5e-4)
    assert plan.thinning.thinnest_wall / INCH == pytest.approx(0.057, abs=1e-3)  # ours rests on its calibration
    assert plan.blank_mass / POUND == pytest.approx(10.525, rel=2e-3)
    assert plan.selvedge_fraction == pytest.approx(1 - 1120 / 1485)


def test_a_twin_sheet_part_takes_two_blanks():
    plan = one_planned("twin_sheet", request(part(enclosed=True))).plan

    assert plan.cycle.blanks_per_part == 2
    assert plan.cycle.parts_per_hour == pytest.approx(3600 / (2 * plan.cycle.index) * 0.85)
    assert plan.part_mass / plan.blank_mass == pytest.approx(2 * 1120 / (46 * 34))


def test_the_press_works_on_the_parts_and_the_box_inside_the_clamps():
    press = one_planned("pressure").plan.press

    assert press.projected_area == pytest.approx(40 * 28 * INCH**2)
    assert press.box_area == pytest.approx(43 * 31 * INCH**2)
    assert press.force == pytest.approx(60 * PSI * 1120 * INCH**2)


def test_a_rotary_heats_more_gently_where_that_costs_no_time():
    shuttle = one_planned("vacuum", machine="S1").plan
    four = one_planned("vacuum", machine="R4").plan

    assert four.heating.upper_heater < shuttle.heating.upper_heater
    assert four.heating.time > shuttle.heating.time
    assert four.cycle.governing_station == "form"


def test_a_sheet_that_misses_its_window_is_planned_all_the_same_and_says_what_would_not():
    fierce = bank(highest_temperature=500 + KELVIN, lowest_temperature=400 + KELVIN)
    house = catalog(machines=(machine(oven=oven(upper=fierce, lower=fierce)),))
    heating = one_planned("vacuum", request(part(gauge=0.5 * INCH)), house).plan.heating

    assert not heating.reaches_window
    assert heating.limited_by == "core"
    assert 0.060 * INCH < heating.thickest_gauge < 0.5 * INCH


def test_a_part_that_never_cools_enough_is_planned_all_the_same_and_refused():
    house = catalog(machines=(machine(cooling_air_temperature=400.0),), polymers=(abs_polymer(tool_temperature=380.0),))
    hot = one_planned("vacuum", None, house)

    assert hot.plan.cooling.time == LONGEST_COOLING
    assert [verdict.rule for verdict in judge(hot) if not verdict.passed] == ["demould temperature"]


@pytest.mark.parametrize(
    "odd",
    [
        {"gauge": 2.0 * INCH},
        {"gauge": None, "minimum_wall": 0.5 * INCH},
        {"length": 400 * INCH, "width": 300 * INCH},
        {"depth": 90 * INCH},
        {"surface_area": 0.1},
        {"length": 1 * INCH, "width": 0.5 * INCH, "depth": 0.2 * INCH},
    ],
)
def test_a_part_far_outside_the_trade_is_refused_in_words_not_by_a_crash(odd):
    groups = judged(planned_all(request(part(**odd))))

    assert len(groups) == 24
    assert all(len(one.verdicts) == len(RULES) for group in groups for one in group)


def test_rules_that_do_not_look_at_the_layout_say_the_same_of_all_layouts_of_a_group():
    small = request(part(length=18 * INCH, width=12 * INCH, depth=4 * INCH, surface_area=456 * INCH**2))
    groups = planned_all(small)

    assert max(len(group) for group in groups) > 4
    for group, known in zip(groups, judged(groups), strict=True):
        assert all(one.verdicts == judge(one.planned) for one in known)
        for rule in set(RULES) - RULES_OF_THE_LAYOUT:
            assert len({rule(one) for one in group}) == 1


def test_of_a_group_those_that_fit_are_kept_or_else_the_one_that_fails_least():
    small = request(part(length=18 * INCH, width=12 * INCH, depth=4 * INCH, surface_area=456 * INCH**2))
    groups = planned_all(small)

    for group, known in zip(groups, judged(groups), strict=True):
        failures = [sum(not verdict.passed for verdict in judge(one)) for one in group]
        kept = [group.index(one.planned) for one in known]
        fitting = [place for place, count in enumerate(failures) if count == 0]
        assert kept == (fitting or [failures.index(min(failures))])


def test_the_same_question_gets_the_same_answer():
    first, again = (list(map(list, judged(planned_all(request())))) for _ in range(2))
    assert first == again


def test_polymers_planned_together_come_out_as_if_planned_alone():
    house = catalog()
    alone = [replace(house, polymers=(polymer,)) for polymer in (abs_polymer(), hdpe())]

    together = {group[0].candidate: group[0].plan for group in planned_all(request(), house)}
    for one in alone:
        for group in planned_all(request(), one):
            known = together[group[0].candidate]
            assert group[0].plan.heating.time == pytest.approx(known.heating.time, rel=1e-9)
            assert group[0].plan.cooling.time == pytest.approx(known.cooling.time, rel=1e-9)


def test_trimming_stays_at_home_where_a_router_takes_the_part():
    home = plant(trimmers=(router(code="DEAR", hour_rate=router().hour_rate + 1), router(), bench()))

    assert trim_of(part(), home, (home,)).trimmer.code == "5X"


def test_a_part_too_large_for_the_home_router_moves_to_the_cheapest_sister():
    big = {"table_length": 120 * INCH, "table_width": 120 * INCH}
    home, dear, cheap = (
        plant(trimmers=(router(), bench())),
        plant(code="B", trimmers=(router(hour_rate=router().hour_rate + 1, **big),)),
        plant(code="C", trimmers=(router(**big),)),
    )
    found = trim_of(part(length=80 * INCH), home, (dear, cheap, home))

    assert (found.plant, found.moves) == ("C", True)


def test_without_any_router_the_home_bench_trims_and_without_a_bench_nobody():
    assert trim_of(part(length=80 * INCH), plant(trimmers=(bench(),)), (plant(),)).trimmer.kind == "hand"
    assert trim_of(part(length=80 * INCH), plant(), (plant(),)).trimmer is None


def test_height_on_the_router_is_the_whole_depth_of_the_part():
    assert trim_of(part(depth=37 * INCH), plant(), (plant(),)).trimmer is None


force = st.floats(min_value=0, max_value=5e6)


@given(lock=force, more=force, process=st.sampled_from(["pressure", "twin_sheet"]))
@settings(deadline=None, max_examples=40)
def test_a_stronger_lock_never_turns_a_fit_into_a_failure(lock, more, process):
    one = one_planned(process)
    weak, strong = (changed(one, press={"lock_force": given}) for given in (lock, lock + more))

    for rule in (lock_holds_parts, lock_holds_box):
        assert rule(strong).passed or not rule(weak).passed


@given(depth=st.floats(min_value=1, max_value=20), more=st.floats(min_value=0, max_value=10))
@settings(deadline=None, max_examples=25)
def test_a_deeper_part_is_never_stretched_less(depth, more):
    def stretched(inches):
        surface = (40 * 28 + 2 * (40 + 28) * inches) * INCH**2
        asked = request(part(depth=inches * INCH, surface_area=surface), polymers=("ABS",))
        house = catalog(machines=(machine(),))
        return areal_draw(planned(asked, candidates(asked, house, TODAY), house, TODAY)[0][0]).measured

    assert stretched(depth + more) >= stretched(depth)


def test_what_the_clamp_frame_grips_does_not_hang():
    planned = one_planned("vacuum")
    layout, polymer = planned.candidate.layout, planned.candidate.polymer
    # by hand: a blank of 45 x 33 in, an inch of which is clamped on each side; E and rho from the sheet's own data
    hand = (3 * polymer.density * 9.80665 / (64 * polymer.hot_modulus * ((43 * INCH) ** -4 + (31 * INCH) ** -4))) ** (
        1 / 3
    )
    assert (round(layout.blank_length / INCH, 6), round(layout.blank_width / INCH, 6)) == (45.0, 33.0)
    assert planned.plan.sag == pytest.approx(hand, rel=1e-9)
