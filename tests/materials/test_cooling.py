"""Cooling on the tool."""

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials import cooling
from materials.cooling import LONGEST_COOLING, CoolingCase, cooled, cooling_time, cooling_times, resting_temperature
from materials.ranges import OutsideRangeError
from tests.material_samples import CELSIUS, amorphous, semicrystalline

CASE = CoolingCase(amorphous(), 0.003, 150 + CELSIUS, 500.0, 30.0, 25 + CELSIUS)


def time_of(case: CoolingCase) -> float:
    return cooling_times((case,))[0]


def test_one_wall_and_many_give_the_same_times():
    cases = tuple(
        replace(CASE, wall=wall, polymer=p) for wall in (0.001, 0.002, 0.005) for p in (amorphous(), semicrystalline())
    )
    together = cooling_times(cases)
    cooling._known.clear()

    alone = tuple(cooling_time(c.polymer, c.wall, c.start, c.tool_film, c.free_film, c.air_temperature) for c in cases)

    assert alone == together


def test_a_tool_and_demould_temperature_given_replace_those_of_the_polymer():
    same = replace(CASE, tool_temperature=60 + CELSIUS, demould_temperature=85 + CELSIUS)
    colder, later = replace(CASE, tool_temperature=40 + CELSIUS), replace(CASE, demould_temperature=70 + CELSIUS)

    assert time_of(same) == time_of(CASE)
    assert time_of(colder) < time_of(CASE) < time_of(later)


def test_a_wall_that_is_cool_enough_needs_no_time():
    assert time_of(replace(CASE, start=80 + CELSIUS)) == 0.0


def test_the_heat_that_leaves_is_the_heat_that_the_wall_lost():
    marched = cooled((CASE, replace(CASE, polymer=semicrystalline(), wall=0.006)))

    # conservation of energy; 0.5 % is asked of the march
    assert marched.absorbed == pytest.approx(marched.energy, rel=0.005)


def test_crystallising_takes_longer_than_the_same_polymer_without():
    melting = semicrystalline()
    assert time_of(replace(CASE, polymer=melting)) > 1.2 * time_of(
        replace(CASE, polymer=replace(melting, latent_heat=0.0))
    )


def test_cooling_from_one_side_takes_four_times_as_long_as_from_both():
    # time goes with the square of the way that heat must travel; with films that hold nothing back
    both = replace(CASE, tool_film=1e6, free_film=1e6, air_temperature=60 + CELSIUS)
    assert time_of(replace(both, free_film=0.0)) == pytest.approx(4 * time_of(both), rel=0.005)


@pytest.mark.parametrize(
    "change",
    [
        {"tool_temperature": 85 + CELSIUS, "free_film": 0.0},
        {"tool_temperature": 95 + CELSIUS},
        {"air_temperature": 140 + CELSIUS, "free_film": 100.0},
    ],
    ids=["tool at the limit", "tool too hot", "air too hot"],
)
def test_a_demould_temperature_out_of_reach_takes_for_ever_and_is_refused_when_asked_alone(change):
    case = replace(CASE, **change)

    assert time_of(case) == inf
    with pytest.raises(OutsideRangeError, match="demould_temperature"):
        cooling_time(
            case.polymer, case.wall, case.start, case.tool_film, case.free_film, case.air_temperature,
            case.tool_temperature, case.demould_temperature,
        )  # fmt: skip


@pytest.mark.parametrize("wall", [0.0005, 0.001])
def test_a_thin_wall_on_a_tool_hotter_than_it_may_leave_at_takes_for_ever_too(wall):
    # its own time is a second or two, and four hours of that are more steps than a march may take
    case = replace(CASE, wall=wall, tool_film=1000.0, tool_temperature=120 + CELSIUS)
    assert cooling_times((case, CASE)) == (inf, time_of(CASE))

    left = cooled((case,))
    assert left.time[0] == LONGEST_COOLING
    assert left.profile.max() == pytest.approx(resting_temperature(case), abs=0.01)


def test_no_walls_take_no_times():
    assert cooling_times(()) == ()
    assert cooled(()).time.shape == (0,)


@pytest.mark.parametrize("change", [{"wall": 0.0}, {"tool_film": 0.0}, {"free_film": -1.0}])
def test_an_impossible_wall_is_refused(change):
    with pytest.raises(OutsideRangeError):
        time_of(replace(CASE, **change))


def test_a_wall_at_rest_is_hottest_at_the_face_that_is_near_the_hotter_side():
    # conductances in series, by hand: q = (100 - 60)/(1/500 + 0.003/0.19 + 1/30)
    flux = 40 / (1 / 500 + 0.003 / 0.19 + 1 / 30)
    assert resting_temperature(replace(CASE, air_temperature=100 + CELSIUS)) == pytest.approx(373.15 - flux / 30)
    assert resting_temperature(CASE) < 60 + CELSIUS
    assert resting_temperature(replace(CASE, free_film=0.0)) == 60 + CELSIUS


@given(st.floats(0.0005, 0.010), st.floats(1.01, 2.0), st.floats(0.0, 100.0))
@settings(max_examples=25, deadline=None)
def test_a_thicker_wall_never_cools_faster(wall, factor, free_film):
    thin, thick = cooling_times(tuple(replace(CASE, wall=w, free_film=free_film) for w in (wall, wall * factor)))
    assert thick > thin


@given(st.floats(20.0, 1000.0), st.floats(1.01, 3.0))
@settings(max_examples=25, deadline=None)
def test_a_better_contact_never_cools_slower(film, factor):
    poor, good = cooling_times(tuple(replace(CASE, tool_film=f) for f in (film, film * factor)))
    assert good < poor
