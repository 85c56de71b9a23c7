"""What a wall meets on its tool."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from materials.ranges import OutsideRangeError
from materials.tool_contact import (
    CONTROLLED_ALUMINIUM,
    EPOXY,
    LOSS_FILM,
    TOOL_KINDS,
    UNCONTROLLED_ALUMINIUM,
    contact_with,
    drifted_tool_temperature,
    shortest_cycle,
    tool_film,
)

AIR = 298.0


def test_an_epoxy_shell_insulates_as_its_resistances_in_series():
    # 1/500 + 0.02/1.0 + 1/500 = 0.024 m2 K/W, so 41.667 W/(m2 K), by hand
    assert tool_film(EPOXY, 500.0, 0.02, 1.0, 500.0) == pytest.approx(41.6667, rel=1e-5)


def test_a_usual_epoxy_tool_lies_in_the_range_named_for_such_tools():
    # 30 to 150 W/(m2 K): from memory, unverified
    assert 30 < tool_film(EPOXY) < 150


@given(st.floats(50, 2000), st.floats(0.005, 0.05), st.floats(0.5, 3.0), st.floats(50, 2000))
def test_epoxy_never_takes_more_heat_than_aluminium_or_than_any_one_of_its_layers(
    contact, thickness, conductivity, back
):
    film = tool_film(EPOXY, contact, thickness, conductivity, back)
    assert film < min(contact, conductivity / thickness, back)
    assert film < tool_film(CONTROLLED_ALUMINIUM, contact) == tool_film(UNCONTROLLED_ALUMINIUM, contact) == contact


def test_a_tool_that_is_heated_by_each_part_and_cooled_by_air_settles_where_the_formula_says():
    capacity, cycle, heat, film = 2700 * 900 * 0.015, 200.0, 250e3, 30.0  # 15 mm of aluminium

    def cooling(_, tool):
        return -film * (tool - AIR) / capacity

    tool, means = AIR, []
    for _ in range(60):  # 60 parts, each leaving its heat at once: scipy.integrate.solve_ivp in between
        after = solve_ivp(cooling, (0, cycle), [tool + heat / capacity], dense_output=True, rtol=1e-8)
        means.append(after.sol(np.linspace(0, cycle, 201))[0].mean())
        tool = after.y[0, -1]

    assert drifted_tool_temperature(heat, cycle, film, AIR) == pytest.approx(means[-1], abs=0.05)


@given(st.floats(0, 1e6), st.floats(20, 1000), st.floats(5, 100), st.floats(1.01, 3))
def test_a_tool_drifts_up_never_below_the_air_and_less_with_a_longer_cycle(heat, cycle, film, factor):
    short, long = (drifted_tool_temperature(heat, time, film, AIR) for time in (cycle, cycle * factor))
    assert AIR <= long <= short


@given(st.floats(1e3, 1e6), st.floats(5, 100), st.floats(1, 100))
def test_at_its_shortest_cycle_a_tool_settles_just_at_the_temperature_allowed(heat, film, rise):
    cycle = shortest_cycle(heat, AIR + rise, film, AIR)
    assert drifted_tool_temperature(heat, cycle, film, AIR) == pytest.approx(AIR + rise, rel=1e-9)


def test_only_an_uncooled_tool_leaves_its_set_temperature():
    met = {kind: contact_with(kind, 400.0, 338.0, 300e3, 240.0, AIR) for kind in TOOL_KINDS}

    assert met[CONTROLLED_ALUMINIUM].temperature == met[EPOXY].temperature == 338.0
    assert met[UNCONTROLLED_ALUMINIUM].temperature == AIR + 300e3 / (LOSS_FILM * 240.0)
    assert met[EPOXY].film < met[CONTROLLED_ALUMINIUM].film == met[UNCONTROLLED_ALUMINIUM].film


def test_many_tools_at_once_are_each_alone():
    cycles = np.array([[100.0], [200.0]])
    films = np.array([10.0, 30.0, 60.0])

    together = drifted_tool_temperature(250e3, cycles, films, AIR)

    assert together.shape == (2, 3)
    assert together[1, 2] == pytest.approx(drifted_tool_temperature(250e3, 200.0, 60.0, AIR), rel=1e-14)
    assert tool_film(EPOXY, np.array([200.0, 400.0]))[1] == pytest.approx(tool_film(EPOXY, 400.0), rel=1e-14)
    assert shortest_cycle(250e3, 340.0, films, AIR)[0] == pytest.approx(shortest_cycle(250e3, 340.0, 10.0, AIR))


@pytest.mark.parametrize(
    "ask",
    [
        lambda: tool_film("plaster"),
        lambda: tool_film(CONTROLLED_ALUMINIUM, 0.0),
        lambda: tool_film(EPOXY, 400.0, thickness=0.0),
        lambda: drifted_tool_temperature(-1.0, 100.0, 25.0, AIR),
        lambda: drifted_tool_temperature(1e5, 0.0, 25.0, AIR),
        lambda: shortest_cycle(1e5, AIR, 25.0, AIR),
    ],
)
def test_tools_that_are_none_are_refused(ask):
    with pytest.raises(OutsideRangeError):
        ask()
