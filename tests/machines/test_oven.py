"""Heater settings and the choice among them."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines import oven as oven_module
from machines.oven import (
    OvenCase,
    OvenSetting,
    choose_setting,
    oven_settings,
    rule_of_thumb_heating_time,
    setting_levels,
    thickest_gauge_reached,
)
from materials.ranges import OutsideRangeError
from materials.sheet import INCH, STOCKED_GAUGES
from tests.material_samples import CELSIUS, amorphous, bank, oven, semicrystalline

START = 20 + CELSIUS


def setting(level: float, time: float, limited_by: str = "", off_by: float = 0.0) -> OvenSetting:
    return OvenSetting(level, level, time, 430.0, 420.0, 425.0, 1e6, not limited_by, limited_by, off_by)


def test_settings_ascend_over_the_range_of_both_banks_and_stay_within_each():
    levels = setting_levels(oven(bank(500.0, 700.0), bank(550.0, 900.0)))

    assert levels[0] == (500.0, 550.0)
    assert levels[-1] == (700.0, 900.0)
    assert levels == tuple(sorted(levels))


def test_a_bank_with_one_temperature_gives_one_setting():
    assert setting_levels(oven(bank(600.0, 600.0), bank(600.0, 600.0))) == ((600.0, 600.0),)


def test_a_hotter_setting_is_faster_and_hotter_on_the_skin():
    (found,) = oven_settings((OvenCase(amorphous(), 0.004, oven(), START),))

    assert [s.time for s in found] == sorted((s.time for s in found), reverse=True)
    assert [s.surface_peak for s in found] == sorted(s.surface_peak for s in found)


def test_a_feasible_setting_is_in_the_window_and_no_other_is():
    polymer = amorphous()
    cases = tuple(OvenCase(polymer, gauge, oven(), START) for gauge in STOCKED_GAUGES)
    for found in oven_settings(cases):
        for s in found:
            ready = (
                s.core_at_exit >= polymer.lower_forming_temperature - 1e-6
                and s.mean_at_exit >= polymer.normal_forming_temperature - 1e-6
            )
            assert s.feasible == (ready and s.surface_peak <= polymer.upper_forming_temperature)
            assert s.feasible == (s.limited_by == "")


def test_a_sheet_gets_the_same_answer_alone_as_among_others():
    cases = tuple(OvenCase(p, g, oven(), START) for p in (amorphous(), semicrystalline()) for g in STOCKED_GAUGES)
    together = oven_settings(cases)
    alone = []
    for case in cases:
        oven_module._known.clear()
        alone += oven_settings((case,))

    assert tuple(alone) == together


def test_equal_physics_is_solved_once_whatever_it_is_called(monkeypatch):
    case = OvenCase(amorphous(), 0.0031, oven(), START)
    (before,) = oven_settings((case,))
    monkeypatch.setattr(oven_module, "_solved", lambda cases: pytest.fail("solved again"))

    assert oven_settings((replace(case, polymer=amorphous(name="another name")),)) == (before,)


def test_no_cases_give_no_settings():
    assert oven_settings(()) == ()


def test_the_gentlest_setting_that_fits_the_dwell_is_chosen():
    settings_ = (setting(500, 300), setting(600, 200), setting(700, 120), setting(800, 80, "skin"))
    assert choose_setting(settings_, 200).upper_heater == 600


def test_the_fastest_feasible_setting_is_chosen_where_none_fits():
    settings_ = (setting(500, 300), setting(600, 200), setting(700, 120), setting(800, 80, "skin"))
    assert choose_setting(settings_, 100).upper_heater == 700


@pytest.mark.parametrize(
    ("limits", "expected"),
    [
        (("power", "power", "power"), "power"),
        (("skin", "skin", "skin"), "core"),
        (("core", "skin", "skin"), "core"),
        (("power", "skin", "skin"), "skin"),
    ],
)
def test_where_none_is_feasible_the_closest_says_what_limits(limits, expected):
    misses = (9.0, 5.0, 7.0)
    found = choose_setting(tuple(setting(500 + m, 300, w, m) for w, m in zip(limits, misses, strict=True)), 1e9)

    assert (found.upper_heater, found.feasible, found.limited_by) == (505.0, False, expected)


def test_a_weak_oven_is_limited_by_power_and_a_fierce_one_by_the_core():
    weak, fierce = (oven(b, b) for b in (bank(350.0, 400.0), bank(950.0, 1100.0)))
    cases = (OvenCase(amorphous(), 0.004, weak, START), OvenCase(amorphous(), 0.0127, fierce, START))
    found = [choose_setting(s, 1e9) for s in oven_settings(cases)]

    assert [(f.feasible, f.limited_by) for f in found] == [(False, "power"), (False, "core")]


def test_a_choice_among_nothing_is_refused():
    with pytest.raises(OutsideRangeError):
        choose_setting((), 100.0)


@pytest.mark.parametrize("change", [{"gauge": 0.0}, {"start": 500.0}])
def test_a_sheet_outside_the_range_is_refused(change):
    with pytest.raises(OutsideRangeError):
        oven_settings((replace(OvenCase(amorphous(), 0.004, oven(), START), **change),))


def test_a_polymer_without_a_finite_value_is_refused_and_does_not_march_for_ever():
    with pytest.raises(OutsideRangeError):
        oven_settings((OvenCase(amorphous(conductivity=float("nan")), 0.004, oven(), START),))


def test_the_thickest_gauge_reached_is_the_last_one_with_a_feasible_setting():
    fierce = oven(bank(700.0, 800.0), bank(700.0, 800.0))
    thickest = thickest_gauge_reached(amorphous(), fierce, START)
    thicker = [gauge for gauge in STOCKED_GAUGES if gauge > thickest]

    assert thicker
    for gauge, feasible in [(thickest, True)] + [(g, False) for g in thicker]:
        (found,) = oven_settings((OvenCase(amorphous(), gauge, fierce, START),))
        assert any(s.feasible for s in found) == feasible


def test_no_gauge_is_reached_without_power():
    assert thickest_gauge_reached(amorphous(), oven(bank(350.0, 400.0), bank(350.0, 400.0)), START) is None


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

    assert all(b.time >= a.time for a, b in zip(thin, thick, strict=True))
