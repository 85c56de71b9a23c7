"""How fast machines turn: the worked examples of the trade, and laws that hold for any times."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from machines.cycle import Job, dwell_available, forming_time, turn, twin_sheet_turn
from machines.machine import Station
from tests.quoting.routing.routing_catalog import FOUR, THREE, machine, twin_machine

# Worked by hand with the trade's usual times (common practice, no source): .187 in ABS heats in 158.2 s and cools
# in 96.7 s; close 12, vacuum 8, open 10; so 126.7 s at the form station; load and unload 45 s.
ABS_187 = Job(heating_time=158.2, cooling_time=96.7, process="vacuum")


def shuttle(**changes):
    stations = (THREE[0], THREE[1], THREE[2])
    return machine(kind="single_station_shuttle", stations=stations, load_time=25.0, unload_time=15.0, **changes)


def test_the_form_station_closes_draws_cools_and_opens():
    assert forming_time(machine(), 96.7, "vacuum") == pytest.approx(126.7)
    assert forming_time(machine(), 96.7, "pressure") == pytest.approx(130.7)
    assert forming_time(machine(), 96.7, "twin_sheet") == pytest.approx(146.7)


def test_a_three_station_rotary_turns_with_its_slowest_station():
    found = turn(machine(index_time=6.0), ABS_187)

    assert found.index == pytest.approx(164.2)
    assert found.governing_station == "oven"
    assert [(dwell.name, round(dwell.time, 1)) for dwell in found.stations] == [
        ("load", 45.0),
        ("oven", 158.2),
        ("form", 126.7),
    ]


def test_a_four_station_rotary_shares_the_heat_between_two_ovens():
    found = turn(machine(kind="four_station_rotary", stations=FOUR, index_time=6.0), ABS_187)

    assert found.index == pytest.approx(132.7)
    assert found.governing_station == "form"
    assert found.stations[1].time == found.stations[2].time == pytest.approx(79.1)


def test_a_shuttle_adds_up_its_stations_and_two_travels():
    found = turn(shuttle(index_time=2.5), ABS_187)

    # 25 + 158.2 + 5 + 126.7 + 15
    assert found.index == pytest.approx(329.9)
    assert found.governing_station == "oven"


def test_one_twin_sheet_part_takes_two_turns():
    # HDPE .187 + .187: heat 228, weld dwell 12 + 20 + 145 + 10 = 187, first sheet 35, two indexes of 9:
    # max(228, 35 + 187) + 18 = 246
    press = twin_machine(close_time=12.0, vacuum_time=0.0, open_time=10.0, load_time=20.0, unload_time=15.0)
    found = twin_sheet_turn(press, Job(228.0, 145.0, "twin_sheet"))

    assert 2 * found.index == pytest.approx(246.0)
    assert found.governing_station == "preheat"
    assert found.stations[-1].time == pytest.approx(187.0)


def test_a_twin_sheet_press_with_one_oven_waits_for_it_twice():
    press = twin_machine(stations=THREE, close_time=12.0, vacuum_time=0.0, open_time=10.0, load_time=20.0)
    found = twin_sheet_turn(press, Job(200.0, 100.0, "twin_sheet"))

    # heat 200 against load 40 and first sheet 22, then against load 40 and weld 142; two indexes of 9
    assert 2 * found.index == pytest.approx(200 + 200 + 18)


def test_a_shuttle_leaves_no_dwell_for_gentle_heating():
    assert dwell_available(shuttle(), 96.7, "vacuum") == 0.0


times = st.floats(min_value=1.0, max_value=900.0)


@given(heat=times, cool=times, process=st.sampled_from(["vacuum", "pressure"]), four=st.booleans())
def test_heating_within_the_dwell_that_is_left_never_slows_a_rotary(heat, cool, process, four):
    rotary = machine(stations=FOUR if four else THREE)
    fastest = turn(rotary, Job(0.0, cool, process)).index
    dwell = dwell_available(rotary, cool, process)

    assert turn(rotary, Job(min(heat, dwell), cool, process)).index == pytest.approx(fastest)
    assert turn(rotary, Job(dwell + heat, cool, process)).index > fastest


@given(heat=times, cool=times, four=st.booleans())
def test_heating_within_the_dwell_that_is_left_never_slows_a_twin_sheet_press(heat, cool, four):
    press = twin_machine(stations=FOUR if four else THREE)
    fastest = turn(press, Job(0.0, cool, "twin_sheet")).index
    dwell = dwell_available(press, cool, "twin_sheet")

    assert turn(press, Job(min(heat, dwell), cool, "twin_sheet")).index == pytest.approx(fastest)
    assert turn(press, Job(dwell + heat, cool, "twin_sheet")).index > fastest


@given(heat=times, cool=times, more=times, process=st.sampled_from(["vacuum", "pressure", "twin_sheet"]))
def test_longer_cooling_never_makes_a_machine_faster(heat, cool, more, process):
    for press in (machine(), twin_machine(), shuttle()):
        short, long = (turn(press, Job(heat, time, process)).index for time in (cool, cool + more))
        assert long >= short


PREHEAT_FIRST = Job(heating_time=158.2, cooling_time=96.7, process="vacuum", oven_time=90.0)


def test_the_oven_has_its_own_time_and_the_preheat_the_rest():
    found = turn(machine(kind="four_station_rotary", stations=FOUR, index_time=6.0), PREHEAT_FIRST)

    # by hand: 158.2 - 90
    assert [round(dwell.time, 1) for dwell in found.stations] == [45.0, 68.2, 90.0, 126.7]
    assert found.index == pytest.approx(132.7)


def test_two_preheats_share_what_the_oven_leaves():
    two = (FOUR[0], Station("preheat 1", ("preheat",)), *FOUR[1:])
    found = turn(machine(stations=two), PREHEAT_FIRST)

    # by hand: (158.2 - 90)/2 twice
    assert [round(dwell.time, 1) for dwell in found.stations] == [45.0, 34.1, 34.1, 90.0, 126.7]


def test_a_single_heating_station_has_all_of_the_heat_whatever_the_oven_is_said_to_have():
    found = turn(machine(index_time=6.0), PREHEAT_FIRST)
    assert found.stations[1].time == pytest.approx(158.2)


def test_a_twin_sheet_press_shows_preheat_and_oven_apart_and_turns_by_their_sum():
    press = twin_machine(close_time=12.0, vacuum_time=0.0, open_time=10.0, load_time=20.0, unload_time=15.0)
    even, apart = (twin_sheet_turn(press, Job(228.0, 145.0, "twin_sheet", share)) for share in (None, 130.0))

    assert [dwell.time for dwell in apart.stations[1:3]] == pytest.approx([98.0, 130.0])
    assert apart.index == even.index


@given(heat=times, share=st.floats(0.0, 1.0), cool=times, four=st.booleans())
def test_the_stations_that_heat_add_up_to_the_heating_time(heat, share, cool, four):
    press = machine(stations=FOUR if four else THREE)
    found = turn(press, Job(heat, cool, "vacuum", share * heat))
    heating = [dwell.time for dwell in found.stations if dwell.name in ("preheat", "oven")]
    assert sum(heating) == pytest.approx(heat)
    assert all(time >= -1e-9 for time in heating)


@given(heat=times, share=st.floats(0.0, 1.0), cool=times)
def test_an_uneven_share_never_turns_a_rotary_faster_than_an_even_one(heat, share, cool):
    press = machine(stations=FOUR)
    even, uneven = (turn(press, Job(heat, cool, "vacuum", time)).index for time in (None, share * heat))
    assert uneven >= even - 1e-9
