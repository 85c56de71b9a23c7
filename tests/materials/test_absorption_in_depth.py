"""Clear sheet takes up heater radiation in its depth: limits, shares, conservation, balance."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from materials.exposure import Heaters, Surroundings, absorbed_share, sheets_of, slabs_between
from materials.heating import HeatedSheet, carried, heated, heated_for
from tests.material_samples import CELSIUS, amorphous, semicrystalline

START, AIR = 20 + CELSIUS, 80 + CELSIUS
few = settings(max_examples=15, deadline=None)
depths = st.floats(20.0, 5000.0)  # 1/m
gauges = st.floats(0.0015, 0.0127)


def sheet(extinction: float | None, gauge: float = 0.004, heater: float = 400 + CELSIUS) -> HeatedSheet:
    bank = Heaters(heater, 0.9, 0.7)
    return HeatedSheet(amorphous(extinction=extinction), gauge, START, bank, bank, AIR, 8.0)


def slabs(extinction: float, gauge: float, upper: float, lower: float = 1e-3, nodes: int = 21):
    """One sheet between two banks [K], without air."""
    banks = (Heaters(level, 0.9, 0.7) for level in (upper, lower))
    around = Surroundings(*banks, AIR, 0.0)
    return slabs_between(sheets_of((amorphous(extinction=extinction),), (gauge,)), np.array([START]), around, nodes)


def lit(heater: float) -> float:
    """What a bank sends into a sheet [W/m2], by hand: grey parallel planes and view factor."""
    return 0.7 / (1 / 0.9 + 1 / 0.92 - 1) * 5.670374419e-8 * heater**4


@pytest.mark.parametrize("gauge", [0.0015, 0.004, 0.010])
def test_a_sheet_that_swallows_all_in_its_skin_is_an_opaque_one(gauge):
    opaque, dense = heated((sheet(None, gauge), sheet(1e9, gauge))).profile.T
    times = heated((sheet(None, gauge), sheet(1e9, gauge))).time

    assert times[1] == pytest.approx(times[0], rel=1e-6)
    assert dense == pytest.approx(opaque, abs=1e-3)


def carried_on(sheets: tuple[HeatedSheet, ...]) -> np.ndarray:
    """Hottest point of each heated sheet while it is carried on, once its faces are cooler than its middle."""
    many = sheets_of(tuple(s.polymer for s in sheets), tuple(s.gauge for s in sheets))
    while_away = np.full(len(sheets), 20.0)
    cooler = carried(many, heated(sheets).profile, 295.0, while_away).profile
    return carried(many, cooler, 295.0, while_away).hottest_ever


def test_opaque_clear_and_melting_sheets_change_no_bit_of_one_another():
    banks = Heaters(673.15, 0.9, 0.7), Heaters(640.0, 0.9, 0.7)
    kinds = (amorphous(), amorphous(extinction=300.0), semicrystalline(), semicrystalline(extinction=900.0))
    sheets = tuple(HeatedSheet(kind, 0.003, START, *banks, AIR, 8.0) for kind in kinds)

    alone = np.concatenate([carried_on((one,)) for one in sheets], axis=1)
    assert np.array_equal(carried_on(sheets), alone)


@given(st.floats(0.05, 1.2), gauges, st.floats(350.0, 480.0))
@few
def test_a_clear_sheet_is_more_even_at_the_same_mean_and_takes_longer(depth, gauge, heater):
    # up to 1.2 extinction lengths deep, 70 % taken up; a deeper one may win by its cooler skin, which sends less back
    found = heated(tuple(sheet(a, gauge, heater + CELSIUS) for a in (None, depth / gauge)))
    opaque, clear = found.profile.T

    assert found.time[1] > found.time[0]
    if abs(found.mean[1] - found.mean[0]) < 0.1:  # else the core of the opaque one came last, and the means differ
        assert abs(clear[0] - clear[10]) < abs(opaque[0] - opaque[10])


@given(st.floats(20.0, 600.0), st.floats(20.0, 600.0))
@few
def test_the_clearer_of_two_sheets_never_heats_faster_where_both_wait_for_their_mean(one, other):
    clear, dense = sorted((one, other))
    found = heated((sheet(clear, 0.002), sheet(dense, 0.002)))
    assert found.time[0] >= found.time[1] - 0.05


@given(depths, gauges, st.floats(340.0, 450.0), st.floats(340.0, 450.0), st.booleans())
@few
def test_radiation_that_is_taken_up_is_heat_that_the_sheet_holds(extinction, gauge, upper, lower, melting):
    polymer = (semicrystalline if melting else amorphous)(extinction=extinction)
    banks = (Heaters(level + CELSIUS, 0.9, 0.7) for level in (upper, lower))
    sheets = sheets_of((polymer,), (gauge,))
    time = np.array([30.0 * gauge / 0.0015])
    found = heated_for(sheets, np.array([START]), Surroundings(*banks, AIR, 8.0), time, steps=60)
    # conservation of energy: what is let in and what is held are summed apart
    assert found.absorbed[0] == pytest.approx(found.energy[0], rel=0.005)


@given(depths, gauges, st.integers(3, 61))
@few
def test_nodes_share_what_beer_and_lambert_leave_between_them_by_how_near_they_are(extinction, gauge, nodes):
    source = slabs(extinction, gauge, 700.0, nodes=nodes).source[:, 0]
    # Beer-Lambert law: 1 - exp(-a L) stays in all
    assert source.sum() == pytest.approx(lit(700.0) * (1 - np.exp(-extinction * gauge)), rel=1e-9)
    spacing = gauge / (nodes - 1)
    for place in range(nodes):
        at = place * spacing
        # scipy quad over both sides of each node, weighed by how near it is
        held = sum(
            quad(lambda x, at=at: extinction * np.exp(-extinction * x) * (1 - abs(x - at) / spacing), low, high)[0]
            for low, high in ((max(at - spacing, 0.0), at), (at, min(at + spacing, gauge)))
        )
        assert source[place] == pytest.approx(lit(700.0) * held, rel=1e-6, abs=1e-6)


@given(depths, gauges)
@few
def test_light_from_below_is_light_from_above_turned_over(extinction, gauge):
    above, below = slabs(extinction, gauge, 700.0), slabs(extinction, gauge, 1e-3, 700.0)
    assert above.source == pytest.approx(below.source[::-1], rel=1e-9)


def test_shares_of_both_banks_add_up():
    both = slabs(300.0, 0.005, 700.0, 650.0).source
    assert both == pytest.approx(slabs(300.0, 0.005, 700.0).source + slabs(300.0, 0.005, 1e-3, 650.0).source, rel=1e-9)


def test_a_nearly_clear_sheet_without_air_warms_alike_everywhere_and_in_proportion_to_time():
    polymer = amorphous(extinction=2.0, specific_heat_solid=2000.0)
    hot = 2000.0  # K, so that what the sheet sends back is less than a thousandth
    around = Surroundings(Heaters(hot, 0.9, 0.7), Heaters(hot, 0.9, 0.7), AIR, 0.0)
    sheets = sheets_of((polymer,) * 3, (0.003,) * 3)
    times = np.array([20.0, 40.0, 80.0])
    found = heated_for(sheets, np.full(3, START), around, times)
    # constant uniform source, by hand: dT/dt = 2 q a/(rho cp)
    rate = 2 * lit(hot) * 2.0 / (1050.0 * 2000.0)

    assert found.mean - START == pytest.approx(rate * times, rel=0.01)
    assert np.ptp(found.profile, axis=0) == pytest.approx([0, 0, 0], abs=0.01 * rate * 20.0)


hot_levels = st.floats(100.0, 450.0).map(lambda celsius: celsius + CELSIUS)


def enclosed(hot: float) -> Surroundings:
    """Heaters and air all of one temperature [K]."""
    return Surroundings(Heaters(hot, 0.9, 0.7), Heaters(hot, 0.8, 0.5), hot, 8.0)


@given(depths, gauges, hot_levels)
@few
def test_a_clear_sheet_as_hot_as_heaters_and_air_takes_in_what_it_gives(extinction, gauge, hot):
    sheets = sheets_of((amorphous(extinction=extinction),), (gauge,))
    found = heated_for(sheets, np.array([hot]), enclosed(hot), np.array([1e-3]))
    # second law: no heat between bodies of one temperature; W/m2 beside what falls on it
    assert abs(found.energy[0]) / 1e-3 < 0.005 * lit(hot) * absorbed_share(extinction, gauge)


@pytest.mark.parametrize(("extinction", "gauge", "hot"), [(300.0, 0.008, 400 + CELSIUS), (100.0, 0.006, 350 + CELSIUS)])
def test_no_part_of_a_clear_sheet_gets_hotter_than_heaters_and_air(extinction, gauge, hot):
    sheets = sheets_of((amorphous(extinction=extinction),), (gauge,))
    found = heated_for(sheets, np.array([hot]), enclosed(hot), np.array([1800.0]))
    # second law
    assert found.profile.max() <= hot + 0.5


def test_the_share_taken_up_is_none_of_a_clear_and_all_of_an_opaque_sheet():
    assert absorbed_share(np.array([1e-9, np.inf]), np.array([0.003, 0.003])) == pytest.approx([0.0, 1.0], abs=1e-9)


def test_opaque_and_clear_sheets_side_by_side_are_each_as_alone():
    cases = (sheet(None), sheet(200.0), replace(sheet(None), gauge=0.002), sheet(2000.0))
    together = heated(cases).time
    assert together.tolist() == [heated((case,)).time[0] for case in cases]


@pytest.mark.parametrize("gauge", [0.010, 0.012])
@pytest.mark.parametrize("extinction", [1000.0, 1500.0])
def test_a_coarse_march_sees_how_hot_thick_clear_sheet_is_below_its_cooled_face(extinction, gauge):
    bank = Heaters(370 + CELSIUS, 0.9, 0.7)
    clear = HeatedSheet(amorphous(extinction=extinction), gauge, START, bank, bank, AIR, 12.0)
    coarse, fine = heated((clear,), nodes=17), heated((clear,), nodes=321, steps=200)
    # the same march with a node every 0.04 mm, which sees the hottest point itself
    assert coarse.hottest_ever[0, 0] == pytest.approx(fine.hottest_ever[0, 0], abs=0.35)
    # on the nodes alone it would be missed
    assert fine.hottest_ever[0, 0] - coarse.profile.max() > 0.4
