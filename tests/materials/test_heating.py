"""Sheets in an oven: what must hold whatever the sheet."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import fsolve

from materials.exposure import Heaters
from materials.heating import LONGEST_HEATING, HeatedSheet, heated
from materials.ranges import OutsideRangeError
from tests.material_samples import CELSIUS, amorphous, semicrystalline

few = settings(max_examples=20, deadline=None)
ROOM, AIR = 20 + CELSIUS, 80 + CELSIUS

polymers = st.sampled_from((amorphous(), amorphous(conductivity=0.25, density=1180.0), semicrystalline()))
gauges = st.floats(0.001, 0.0127)
levels = st.floats(300.0, 550.0)
factors = st.floats(1.01, 1.6)


def sheet_of(polymer, gauge: float, upper: float, lower: float, **changes: float) -> HeatedSheet:
    banks = (Heaters(level + CELSIUS, 0.9, 0.7) for level in (upper, lower))
    return replace(HeatedSheet(polymer, gauge, ROOM, *banks, AIR, 8.0), **changes)


SHEET = sheet_of(amorphous(), 0.004, 400.0, 350.0)


def many() -> tuple[HeatedSheet, ...]:
    return tuple(
        sheet_of(polymer, gauge, upper, lower)
        for polymer in (amorphous(), semicrystalline())
        for gauge in (0.0015, 0.004, 0.0127)
        for upper, lower in ((330.0, 330.0), (480.0, 420.0), (250.0, 250.0))
    )


def assert_same(found, expected, which) -> None:
    """Bit for bit, in everything that the march reports."""
    for field in fields(found):
        if getattr(found, field.name) is None:  # curves, where none were asked for
            continue
        assert np.array_equal(getattr(found, field.name)[..., which], getattr(expected, field.name)), field.name


def test_the_order_of_sheets_changes_no_bit_of_any():
    sheets = many()
    order = np.random.default_rng(7).permutation(len(sheets))
    assert_same(heated(sheets), heated(tuple(sheets[i] for i in order)), order)


def test_the_company_of_other_sheets_changes_no_bit_of_one():
    sheets = many()
    together = heated(sheets)
    for place, sheet in enumerate(sheets):
        assert_same(together, heated((sheet,)), [place])


def test_many_copies_of_a_sheet_are_all_alike():
    together = heated((SHEET,) * 37)
    assert_same(together, heated((SHEET,) * 2), [0, 36])


@given(polymers, gauges, levels, levels, factors)
@few
def test_a_thicker_sheet_never_heats_faster(polymer, gauge, upper, lower, factor):
    thin, thick = heated(tuple(sheet_of(polymer, g, upper, lower) for g in (gauge, gauge * factor))).time
    assert thick > thin or thick == LONGEST_HEATING


@given(polymers, gauges, levels, levels, st.floats(2.0, 80.0), st.booleans())
@few
def test_a_hotter_bank_never_heats_slower(polymer, gauge, upper, lower, more, above):
    hotter = (upper + more, lower) if above else (upper, lower + more)
    cold, hot = heated(tuple(sheet_of(polymer, gauge, *pair) for pair in ((upper, lower), hotter))).time
    assert hot < cold or cold == LONGEST_HEATING


@given(polymers, gauges, levels, st.floats(1.0, 60.0))
@few
def test_a_warmer_sheet_never_heats_slower(polymer, gauge, level, more):
    sheet = sheet_of(polymer, gauge, level, level)
    cold, warm = heated((sheet, replace(sheet, start=ROOM + more))).time
    assert warm < cold or cold == LONGEST_HEATING


@given(polymers, gauges, levels)
@few
def test_like_banks_give_a_like_sheet_on_both_faces(polymer, gauge, level):
    profile = heated((sheet_of(polymer, gauge, level, level),)).profile[:, 0]
    assert profile == pytest.approx(profile[::-1], abs=1e-6)


@given(polymers, gauges, levels, levels)
@few
def test_banks_exchanged_turn_the_profile_over_and_change_no_time(polymer, gauge, upper, lower):
    found = heated((sheet_of(polymer, gauge, upper, lower), sheet_of(polymer, gauge, lower, upper)))
    assert found.time[0] == pytest.approx(found.time[1], rel=1e-9)
    assert found.profile[:, 0] == pytest.approx(found.profile[::-1, 1], abs=1e-6)


@given(polymers, gauges, levels, levels)
@few
def test_a_sheet_that_is_done_may_be_formed_and_no_sooner(polymer, gauge, upper, lower):
    found = heated((sheet_of(polymer, gauge, upper, lower),))
    missing = (
        polymer.lower_forming_temperature - found.profile[:, 0].min(),
        polymer.normal_forming_temperature - found.mean[0],
    )
    if found.done[0]:
        assert max(missing) == pytest.approx(0.0, abs=0.01)  # K, the end lies inside the last step
    else:
        assert found.time[0] == LONGEST_HEATING
        assert max(missing) > 0


@given(polymers, gauges, levels, levels)
@few
def test_no_point_is_hotter_than_the_hotter_bank_or_colder_than_at_the_start(polymer, gauge, upper, lower):
    found = heated((sheet_of(polymer, gauge, upper, lower),))
    assert found.profile.min() >= ROOM
    assert found.profile.max() <= found.hottest_ever.max() < max(upper, lower) + CELSIUS


def test_a_thin_sheet_heats_as_one_lump():
    # one temperature, radiation and convection on both faces, by hand: rho cp L dT/dt = 2 q(T); scipy solve_ivp
    polymer = amorphous(specific_heat_solid=2000.0)
    exchange = 0.7 / (1 / 0.9 + 1 / polymer.emissivity - 1) * 5.670374419e-8

    def rate(_, level):
        flux = exchange * ((400 + CELSIUS) ** 4 - level**4) + 8.0 * (AIR - level)
        return 2 * flux / (polymer.density * 2000.0 * 0.0002)

    def missing(_, level):
        return polymer.normal_forming_temperature - level[0]

    missing.terminal = True
    expected = solve_ivp(rate, (0, 200), [ROOM], events=missing, rtol=1e-8).t_events[0][0]

    found = heated((sheet_of(polymer, 0.0002, 400.0, 400.0),))

    # 0.5 %: the faces run some degrees ahead of the core
    assert found.time[0] == pytest.approx(expected, rel=0.005)


def test_a_bank_too_cold_never_gets_a_sheet_done():
    found = heated((sheet_of(amorphous(), 0.004, 130.0, 130.0),))
    assert (found.time[0], bool(found.done[0])) == (LONGEST_HEATING, False)


@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline()])
@pytest.mark.parametrize("gauge", [0.0005, 0.001, 0.002])
@pytest.mark.parametrize("lower", [130.0, 60.0])
def test_a_sheet_that_never_gets_done_ends_at_rest(polymer, gauge, lower):
    # steady flow through the slab, by hand: what enters one face leaves by the other; scipy fsolve
    def entering(bank, level):
        exchange = 0.7 / (1 / 0.9 + 1 / polymer.emissivity - 1) * 5.670374419e-8
        return exchange * ((bank + CELSIUS) ** 4 - level**4) + 8.0 * (AIR - level)

    def unbalanced(faces):
        through = (faces[0] - faces[1]) * polymer.conductivity / gauge
        return entering(130.0, faces[0]) - through, entering(lower, faces[1]) + through

    found = heated((sheet_of(polymer, gauge, 130.0, lower),))

    assert (found.time[0], bool(found.done[0])) == (pytest.approx(LONGEST_HEATING, rel=1e-12), False)
    rest = np.linspace(*fsolve(unbalanced, (390.0, 380.0)), found.profile.shape[0])
    assert found.profile[:, 0] == pytest.approx(rest, abs=0.02)  # K


@pytest.mark.parametrize("change", [{"gauge": 0.0}, {"gauge": -0.001}, {"start": 0.0}, {"start": 430.0}])
def test_an_impossible_sheet_is_refused(change):
    with pytest.raises(OutsideRangeError):
        heated((replace(SHEET, **change),))
