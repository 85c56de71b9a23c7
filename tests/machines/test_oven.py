"""Heater settings and the choice among them."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines import heater_settings
from machines import oven as oven_module
from machines.heater_settings import SETTING_LEVELS, SettingTable, setting_table
from machines.oven import (
    OvenCase,
    OvenSetting,
    choose,
    chosen_setting,
    limit_of,
    oven_load,
    oven_settings,
    rule_of_thumb_heating_time,
    thickest_gauges_reached,
)
from materials.ranges import OutsideRangeError
from materials.sheet import INCH, STOCKED_GAUGES
from tests.material_samples import CELSIUS, amorphous, bank, oven, semicrystalline

START = 20 + CELSIUS


def settings_of(case: OvenCase) -> tuple[OvenSetting, ...]:
    return oven_settings((case,))[0]


def even(found: tuple[OvenSetting, ...]) -> tuple[OvenSetting, ...]:
    return found[:SETTING_LEVELS]


def table(times, scorched=None, cold=None, draws=None) -> SettingTable:
    """One case with settings at 500, 600, ... K."""
    count = len(times)
    row = lambda values: np.array([values], float)  # noqa: E731
    zero = [0.0] * count
    level = row([500.0 + 100.0 * place for place in range(count)])
    columns = [level, level, row(times), *(row(zero) for _ in range(5))]
    return SettingTable(*columns, row(scorched or zero), row(cold or zero), row(draws or [1.0] * count))


def test_even_settings_ascend_over_the_range_of_both_banks_and_stay_within_each():
    found = even(settings_of(OvenCase(amorphous(), 0.004, oven(bank(500.0, 700.0), bank(550.0, 900.0)), START)))

    assert (found[0].upper_heater, found[0].lower_heater) == (500.0, 550.0)
    assert (found[-1].upper_heater, found[-1].lower_heater) == (700.0, 900.0)
    for side in ("upper_heater", "lower_heater"):
        assert [getattr(s, side) for s in found] == sorted(getattr(s, side) for s in found)


def test_no_setting_leaves_the_range_of_its_bank():
    narrow = oven(bank(620.0, 700.0), bank(550.0, 660.0))
    for gauge in STOCKED_GAUGES:
        for s in settings_of(OvenCase(amorphous(), gauge, narrow, START)):
            assert 620.0 <= s.upper_heater <= 700.0
            assert 550.0 <= s.lower_heater <= 660.0


def test_a_hotter_setting_is_faster_and_hotter_on_the_skin():
    found = even(settings_of(OvenCase(amorphous(), 0.004, oven(), START)))

    assert [s.time for s in found] == sorted((s.time for s in found), reverse=True)
    assert [s.surface_peak for s in found] == sorted(s.surface_peak for s in found)


def test_a_feasible_setting_is_in_the_window_and_no_other_is():
    polymer = amorphous()
    cases = tuple(OvenCase(polymer, gauge, oven(), START) for gauge in STOCKED_GAUGES)
    for found in oven_settings(cases):
        for s in found:
            ready = (
                s.core_at_exit >= polymer.lower_forming_temperature - 1e-2  # K, what the end of the march is good to
                and s.mean_at_exit >= polymer.normal_forming_temperature - 1e-2
            )
            assert s.feasible == (ready and s.surface_peak <= polymer.upper_forming_temperature)
            assert s.feasible == (s.limited_by == "")


def test_banks_of_unequal_power_are_set_apart_so_that_neither_face_scorches():
    # The weaker bank cannot be helped by one common level: the stronger face scorches first.
    unequal = oven(bank(500.0, 800.0, view_factor=0.9), bank(500.0, 800.0, view_factor=0.5))
    found = settings_of(OvenCase(amorphous(), 0.006, unequal, START))
    fastest = min((s for s in found if s.feasible), key=lambda s: s.time)
    fastest_even = min((s for s in even(found) if s.feasible), key=lambda s: s.time)

    assert fastest.lower_heater > fastest.upper_heater + 20
    assert fastest.time < 0.9 * fastest_even.time


def test_a_sheet_gets_the_same_answer_alone_as_among_others():
    cases = tuple(OvenCase(p, g, oven(), START) for p in (amorphous(), semicrystalline()) for g in STOCKED_GAUGES)
    together = oven_settings(cases)
    alone = []
    for case in cases:
        heater_settings._known.clear()
        alone += oven_settings((case,))

    assert tuple(alone) == together


def test_equal_physics_is_solved_once_whatever_it_is_called(monkeypatch):
    case = OvenCase(amorphous(), 0.0031, oven(), START)
    before = settings_of(case)
    monkeypatch.setattr(heater_settings, "_solved", lambda load: pytest.fail("solved again"))

    assert settings_of(replace(case, polymer=amorphous(name="another name"))) == before


def test_no_cases_give_no_settings():
    assert oven_settings(()) == ()


@pytest.mark.parametrize(("dwell", "place"), [(200.0, 1), (199.0, 2), (100.0, 2), (1e9, 0)])
def test_the_coolest_setting_that_fits_the_dwell_is_chosen_else_the_fastest(dwell, place):
    # the hottest would be faster still, but scorches
    assert choose(table([300, 200, 120, 80], scorched=[0, 0, 0, 9]), np.array([dwell]))[0] == place


@pytest.mark.parametrize(
    ("scorched", "cold", "draws", "expected"),
    [
        ([0, 0, 0], [9, 5, 7], [-1, -1, -1], "power"),
        ([9, 5, 7], [0, 0, 0], [1, 1, 1], "core"),
        ([0, 5, 7], [9, 0, 0], [1, 1, 1], "core"),
        ([0, 5, 7], [9, 0, 0], [-1, 1, 1], "skin"),
    ],
)
def test_where_none_is_feasible_the_closest_is_shown_and_says_what_limits(monkeypatch, scorched, cold, draws, expected):
    monkeypatch.setattr(oven_module, "SETTING_LEVELS", 3)
    none = table([300, 200, 100], scorched, cold, draws)
    place = int(choose(none, np.array([1e9]))[0])

    assert place == 1
    assert limit_of(none, 0) == expected
    assert (chosen_setting(none, 0, place).feasible, chosen_setting(none, 0, place).limited_by) == (False, expected)


def test_a_weak_oven_is_limited_by_power_and_a_fierce_one_by_the_core():
    weak, fierce = (oven(b, b) for b in (bank(350.0, 400.0), bank(950.0, 1100.0)))
    found = setting_table(
        oven_load((OvenCase(amorphous(), 0.004, weak, START), OvenCase(amorphous(), 0.0127, fierce, START)))
    )

    assert [limit_of(found, case) for case in (0, 1)] == ["power", "core"]


@pytest.mark.parametrize("change", [{"gauge": 0.0}, {"start": 500.0}])
def test_a_sheet_outside_the_range_is_refused(change):
    with pytest.raises(OutsideRangeError):
        settings_of(replace(OvenCase(amorphous(), 0.004, oven(), START), **change))


def test_a_polymer_without_a_finite_value_is_refused_and_does_not_march_for_ever():
    with pytest.raises(OutsideRangeError):
        settings_of(OvenCase(amorphous(conductivity=float("nan")), 0.004, oven(), START))


def test_the_thickest_gauge_reached_is_the_last_one_with_a_feasible_setting():
    fierce = oven(bank(700.0, 800.0), bank(700.0, 800.0))
    (thickest,) = thickest_gauges_reached((OvenCase(amorphous(), 1.0, fierce, START),))
    thicker = [gauge for gauge in STOCKED_GAUGES if gauge > thickest]

    assert thicker
    for gauge in STOCKED_GAUGES:
        found = settings_of(OvenCase(amorphous(), gauge, fierce, START))
        assert any(s.feasible for s in found) == (gauge <= thickest)


def test_no_gauge_is_reached_without_power():
    weak = oven(bank(350.0, 400.0), bank(350.0, 400.0))
    assert thickest_gauges_reached((OvenCase(amorphous(), 0.004, weak, START),)) == (None,)


def test_energy_is_the_heat_content_of_the_sheet_at_its_mean():
    # thin sheet, nearly one temperature: rho L (1400 x 80 + 2000 x 49) by hand
    (found,) = oven_settings((OvenCase(amorphous(), 0.001524, oven(), START),))
    assert found[0].energy_per_area == pytest.approx(1050 * 0.001524 * (1400 * 80 + 2000 * 49), rel=0.002)


def test_the_rule_of_thumb_agrees_with_its_worked_example():
    # common practice, no source; worked example: ABS of 0.187 in, 158.2 s
    assert rule_of_thumb_heating_time("ABS", 0.187 * INCH) == pytest.approx(158.2, abs=0.05)


def test_the_rule_of_thumb_takes_an_unknown_polymer_by_its_crystallinity():
    gauge = 0.125 * INCH
    assert rule_of_thumb_heating_time("unheard of", gauge) == pytest.approx(90.0)
    assert rule_of_thumb_heating_time("unheard of", gauge, semicrystalline=True) == pytest.approx(130.0)
    assert rule_of_thumb_heating_time("ABS acrylic capped", gauge) == pytest.approx(90.0)
    assert rule_of_thumb_heating_time("PCL", gauge, semicrystalline=True) == pytest.approx(130.0)


def test_computed_heating_times_are_of_the_size_that_the_trade_knows():
    # common practice, no source: power law; a factor of 2.5 either way is all that it can say
    for polymer in (amorphous(), semicrystalline()):
        for gauge in (0.125 * INCH, 0.250 * INCH):
            usual = bank(300 + CELSIUS, 400 + CELSIUS)
            (found,) = oven_settings((OvenCase(polymer, gauge, oven(usual, usual), START),))
            fastest = min(s.time for s in found if s.feasible)
            thumb = rule_of_thumb_heating_time(polymer.name, gauge)
            assert thumb / 2.5 < fastest < thumb * 2.5


@given(st.floats(0.001, 0.013), st.floats(1.01, 1.5), st.booleans())
@settings(max_examples=25, deadline=None)
def test_a_thicker_sheet_never_heats_faster(gauge, factor, melting):
    polymer = semicrystalline() if melting else amorphous()
    thin, thick = oven_settings(tuple(OvenCase(polymer, g, oven(), START) for g in (gauge, gauge * factor)))

    assert all(b.time >= a.time for a, b in zip(even(thin), even(thick), strict=True))


unequal_banks = st.builds(
    lambda low, span, view: bank(low + CELSIUS, low + span + CELSIUS, view_factor=view),
    st.floats(200.0, 320.0),
    st.floats(60.0, 300.0),
    st.floats(0.5, 0.9),
)
few = settings(max_examples=12, deadline=None)


@given(unequal_banks, unequal_banks, st.floats(0.0015, 0.0127), st.booleans())
@few
def test_a_machine_turned_upside_down_has_its_settings_turned_upside_down(upper, lower, gauge, melting):
    polymer = semicrystalline() if melting else amorphous()
    up, down = oven_settings(
        tuple(OvenCase(polymer, gauge, one, START) for one in (oven(upper, lower), oven(lower, upper)))
    )
    for a, b in zip(even(up), even(down), strict=True):
        assert (a.upper_heater, a.lower_heater) == (b.lower_heater, b.upper_heater)
        assert (a.time, a.surface_peak, a.core_at_exit) == pytest.approx(
            (b.time, b.surface_peak, b.core_at_exit), rel=1e-6
        )


@given(unequal_banks, st.floats(0.0015, 0.0127), st.booleans())
@few
def test_no_setting_at_the_edge_of_like_banks_scorches_by_more_than_the_march_is_good_to(side, gauge, melting):
    polymer = semicrystalline() if melting else amorphous()
    for s in settings_of(OvenCase(polymer, gauge, oven(side, side), START))[SETTING_LEVELS:]:
        if min(s.upper_heater, s.lower_heater) > side.lowest_temperature:  # a bank cannot be set cooler than it goes
            assert s.surface_peak <= polymer.upper_forming_temperature + 0.5


@given(unequal_banks, unequal_banks, st.floats(0.0015, 0.0127), st.floats(0.0, 300.0))
@few
def test_the_setting_chosen_for_unlike_banks_scorches_no_face(upper, lower, gauge, dwell):
    polymer = amorphous()
    found = setting_table(oven_load((OvenCase(polymer, gauge, oven(upper, lower), START),)))
    place = int(choose(found, np.array([dwell]))[0])
    if found.feasible.any():
        assert found.surface_peak[0, place] <= polymer.upper_forming_temperature
        assert found.feasible[0, place]


@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline()], ids=["amorphous", "semi-crystalline"])
@pytest.mark.parametrize("gauge", [0.003, 0.006, 0.0095])
def test_the_edge_of_scorching_is_at_least_as_fast_as_any_even_setting_that_does_not_scorch(polymer, gauge):
    found = settings_of(OvenCase(polymer, gauge, oven(), START))
    fastest = min(s.time for s in found if s.feasible)
    assert fastest <= min(s.time for s in even(found) if s.feasible)
    assert any(s.feasible for s in found[SETTING_LEVELS:])


amiss = st.sampled_from([0.0, 0.0, 5.0, 7.0])
numbers = st.lists(st.tuples(st.floats(10.0, 900.0), amiss, amiss), min_size=1, max_size=9)


@given(numbers, st.floats(0.0, 900.0))
def test_the_choice_is_the_gentlest_that_costs_nothing_else_the_fastest_else_the_closest(rows, dwell):
    times, scorched, cold = map(list, zip(*rows, strict=True))
    place = int(choose(table(times, scorched, cold), np.array([dwell]))[0])
    # the rule written out with lists: settings ascend in heat
    able = [p for p, row in enumerate(rows) if row[1] + row[2] == 0]
    fitting = [p for p in able if times[p] <= dwell]
    if fitting:
        assert place == fitting[0]
    elif able:
        assert times[place] == min(times[p] for p in able)
        assert place in able
    else:
        assert scorched[place] + cold[place] == min(a + b for a, b in zip(scorched, cold, strict=True))


def thickest(polymer, heaters) -> float:
    return thickest_gauges_reached((OvenCase(polymer, 1.0, heaters, START),))[0] or 0.0


@given(st.floats(330.0, 430.0), st.floats(10.0, 100.0), st.floats(5.0, 60.0))
@few
def test_a_gentler_oven_and_a_hardier_skin_never_reach_a_thinner_gauge(lowest, span, more):
    narrow, gentle = (bank(level + CELSIUS, lowest + span + CELSIUS) for level in (lowest, lowest - more))
    plain = thickest(amorphous(), oven(narrow, narrow))
    assert thickest(amorphous(), oven(gentle, gentle)) >= plain
    hardier = amorphous(upper_forming_temperature=amorphous().upper_forming_temperature + more)
    assert thickest(hardier, oven(narrow, narrow)) >= plain


@given(st.permutations(range(6)))
@few
def test_the_order_of_a_batch_changes_no_digit(order):
    ovens = (oven(), oven(bank(500.0, 700.0), bank(550.0, 900.0)), oven(bank(480.0, 650.0, view_factor=0.5)))
    cases = [OvenCase(p, 0.0045, one, START) for p in (amorphous(), semicrystalline()) for one in ovens]
    heater_settings._known.clear()
    together = oven_settings(tuple(cases))
    heater_settings._known.clear()
    same = oven_settings(tuple(cases[place] for place in order)) == tuple(together[place] for place in order)
    assert same


def test_a_clear_sheet_is_set_and_limited_like_any_other():
    clear, opaque = (settings_of(OvenCase(amorphous(extinction=e), 0.006, oven(), START)) for e in (150.0, None))
    fastest = [min(s.time for s in found if s.feasible) for found in (clear, opaque)]
    # heat that goes into the depth spares the skin: hotter heaters, less time
    assert fastest[0] < fastest[1]
    assert max(s.upper_heater for s in clear if s.feasible) > max(s.upper_heater for s in opaque if s.feasible)
