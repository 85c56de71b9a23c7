"""Stored energy of compressed air."""

import pytest

from materials.compressed_air import stored_air_energy
from materials.ranges import OutsideRangeError


def test_air_at_rest_stores_nothing():
    energy = stored_air_energy(0.0, 1.0)
    assert (energy.isothermal, energy.brode) == (0.0, 0.0)


def test_a_box_filled_halfway_stores_half():
    full, half = stored_air_energy(5e5, 0.5), stored_air_energy(5e5, 0.25)
    assert (half.isothermal, half.brode) == pytest.approx((full.isothermal / 2, full.brode / 2))


@pytest.mark.parametrize("wrong", [(-1.0, 1.0), (1.0, -1.0)])
def test_less_than_nothing_is_refused(wrong):
    with pytest.raises(OutsideRangeError):
        stored_air_energy(*wrong)
