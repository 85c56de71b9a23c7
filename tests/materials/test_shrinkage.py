"""How much larger the tool is cut."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.ranges import OutsideRangeError
from materials.shrinkage import needs_cooling_fixture, shrink_allowance
from tests.material_samples import amorphous, semicrystalline


def test_two_and_a_half_percent_of_forty_inches_are_one_inch():
    # 0.025 x 40 in = 1 in, by hand
    assert shrink_allowance(0.025, 40 * 0.0254) == pytest.approx(0.0254)


@given(st.floats(0.0, 0.06), st.floats(0.1, 3.0))
def test_a_tool_cut_so_much_larger_gives_the_part_within_a_share_of_the_shrinkage(shrinkage, side):
    tool = side + shrink_allowance(shrinkage, side)
    assert tool * (1 - shrinkage) == pytest.approx(side, rel=shrinkage**2 + 1e-12)


def test_a_polyolefin_is_held_while_it_cools_and_an_amorphous_part_is_not():
    assert needs_cooling_fixture(semicrystalline())
    assert not needs_cooling_fixture(amorphous())


def test_many_sides_at_once_are_each_alone():
    assert shrink_allowance(np.array([0.005, 0.02]), 1.5)[1] == shrink_allowance(0.02, 1.5)


@pytest.mark.parametrize("wrong", [(-0.01, 1.0), (1.0, 1.0), (0.01, 0.0), (float("nan"), 1.0)])
def test_a_part_that_grows_or_vanishes_is_refused(wrong):
    with pytest.raises(OutsideRangeError):
        shrink_allowance(*wrong)
