"""What a polymer holds: the integral of its specific heat, there and back."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.heat_content import (
    enthalpy,
    heat_content_of,
    linearised,
    specific_heat,
    temperature_holding,
)
from tests.material_samples import CELSIUS, amorphous, semicrystalline
from tests.reference.cells import heat_between, heat_capacity

few = settings(max_examples=20, deadline=None)
levels = st.floats(0.0, 250.0).map(lambda celsius: celsius + CELSIUS)
polymers = st.one_of(
    st.builds(lambda hot, step: amorphous(specific_heat_hot=hot, step_temperature=step + CELSIUS),
              st.floats(1400.0, 2600.0), st.floats(60.0, 150.0)),
    st.builds(lambda latent, width, peak: semicrystalline(latent_heat=latent, melting_width=width,
                                                          melting_temperature=peak + CELSIUS),
              st.floats(1e3, 250e3), st.floats(1.0, 15.0), st.floats(100.0, 170.0)),
)  # fmt: skip


@given(polymers, levels, levels)
@few
def test_heat_held_is_the_integral_of_the_specific_heat(polymer, one, other):
    cold, hot = sorted((one, other))
    heat = heat_content_of((polymer,))
    gained = enthalpy(heat, np.array([hot])) - enthalpy(heat, np.array([cold]))
    # scipy quad
    assert gained[0] == pytest.approx(heat_between(polymer, cold, hot), rel=1e-6, abs=1e-3)


@given(polymers, levels)
@few
def test_the_specific_heat_is_that_of_the_polymer_data(polymer, level):
    # step and Gaussian written out apart
    found = specific_heat(heat_content_of((polymer,)), np.array([level]))[0]
    assert found == pytest.approx(float(heat_capacity(polymer, level)), rel=1e-12)


@given(polymers, levels)
@few
def test_a_temperature_is_found_again_from_what_it_holds(polymer, level):
    heat = heat_content_of((polymer,))
    assert temperature_holding(heat, enthalpy(heat, np.array([level])))[0] == pytest.approx(level, abs=1e-6)


@given(st.lists(polymers, min_size=2, max_size=7), st.data())
@few
def test_melting_and_other_polymers_stand_side_by_side_in_any_order(many, data):
    order = data.draw(st.permutations(range(len(many))))
    temperatures = np.array([data.draw(st.lists(levels, min_size=3, max_size=3)) for _ in many]).T
    heat = heat_content_of(tuple(many))
    shuffled = heat_content_of(tuple(many[place] for place in order))
    alone = [enthalpy(heat_content_of((p,)), temperatures[:, [place]])[:, 0] for place, p in enumerate(many)]

    assert np.array_equal(enthalpy(heat, temperatures), np.array(alone).T)
    assert np.array_equal(enthalpy(shuffled, temperatures[:, order]), np.array(alone).T[:, order])
    back = temperature_holding(shuffled, enthalpy(shuffled, temperatures[:, order]))
    assert back == pytest.approx(temperatures[:, order], abs=1e-6)


@given(st.lists(polymers, min_size=1, max_size=5), levels)
@few
def test_the_tangent_touches_the_heat_held_and_leaves_what_it_was_given(many, level):
    heat = heat_content_of(tuple(many))
    temperatures = np.full((4, len(many)), level)
    offset, capacity = linearised(heat, temperatures)

    assert offset + capacity * temperatures == pytest.approx(enthalpy(heat, temperatures), rel=1e-12)
    assert np.array_equal(capacity, specific_heat(heat, temperatures))
    assert (temperatures == level).all()


@given(st.lists(polymers, min_size=3, max_size=3), st.permutations(range(3)))
@few
def test_some_taken_out_are_those_polymers(many, order):
    taken = heat_content_of(tuple(many)).taken(np.array(order))
    expected = heat_content_of(tuple(many[place] for place in order))
    for name in vars(expected):
        assert np.array_equal(getattr(taken, name), getattr(expected, name))


def test_all_of_the_latent_heat_is_held_well_above_the_peak():
    polymer = semicrystalline()
    heat = heat_content_of((polymer,))
    gained = enthalpy(heat, np.array([170 + CELSIUS])) - enthalpy(heat, np.array([80 + CELSIUS]))
    # by hand: 2300 x 90 + 190 kJ/kg
    assert gained[0] == pytest.approx(2300 * 90 + 190e3, rel=1e-9)
