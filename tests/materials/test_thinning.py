"""Walls, areas and gauges."""

from math import radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.cavity import FormedShape
from materials.progressive import wall_shares
from materials.ranges import OutsideRangeError
from materials.shapes import cap_areal_draw_ratio, cylinder_areal_draw_ratio, frustum_areal_draw_ratio
from materials.sheet import INCH, STOCKED_GAUGES
from materials.stretching import (
    cone_wall_share,
    cylinder_corner_share,
    cylinder_wall_share,
    trough_corner_share,
    trough_wall_share,
    wedge_wall_share,
)
from materials.thinning import (
    areal_draw_ratio,
    mean_wall,
    required_gauge,
    stocked_gauge,
    tapered_box_area,
)


def test_the_worked_part_has_its_worked_walls():
    # hand calculation: 40 x 28 x 8 in box, straight walls, 0.187 in: A 1.971, mean 0.095, thinnest 0.057 in
    areal = areal_draw_ratio(tapered_box_area(40, 28, 8, 0.0), 40 * 28)

    assert (areal, mean_wall(0.187, areal)) == pytest.approx((1.971, 0.095), abs=0.0005)
    tray = FormedShape("box", 40, 28, 8, radians(2), 0.187, web=2)
    assert 0.187 * wall_shares(tray).thinnest == pytest.approx(0.057, abs=0.002)


def test_the_required_gauge_leaves_the_wall_that_the_print_asks_for():
    share = wall_shares(FormedShape("box", 0.6, 0.4, 0.2, 0.05, 0.005, web=0.05)).thinnest
    thin_running = required_gauge(0.0015, share, 0.10) * 0.90  # the low end of plus or minus 10 %
    assert share * thin_running == pytest.approx(0.0015)


@pytest.mark.parametrize(
    ("inches", "stocked"), [(0.197, 0.200), (0.2167, 0.220), (0.200, 0.200), (0.2000001, 0.200), (0.01, 0.060)]
)
def test_the_next_stocked_gauge_is_taken(inches, stocked):
    assert stocked_gauge(inches * INCH, STOCKED_GAUGES) == pytest.approx(stocked * INCH)


def test_beyond_the_last_stocked_gauge_the_required_one_stands():
    assert stocked_gauge(0.02, STOCKED_GAUGES) == 0.02


def test_walls_that_meet_before_the_base_are_refused():
    with pytest.raises(OutsideRangeError, match="depth"):
        tapered_box_area(0.3, 0.2, 0.6, radians(10))


@pytest.mark.parametrize(
    "call",
    [
        lambda: tapered_box_area(0.0, 0.2, 0.1, 0.0),
        lambda: tapered_box_area(0.3, 0.2, -0.1, 0.0),
        lambda: tapered_box_area(0.3, 0.2, 0.1, -0.1),
        lambda: areal_draw_ratio(0.9, 1.0),
        lambda: mean_wall(0.004, 0.9),
        lambda: required_gauge(0.001, float("nan"), 0.0),
        lambda: required_gauge(0.001, 1.97, 0.0),
        lambda: required_gauge(0.001, 0.0, 0.0),
        lambda: required_gauge(0.001, 0.3, 1.0),
        lambda: cone_wall_share(2.0, 0.5),
        lambda: cone_wall_share(1.0, 1.5),
        lambda: cylinder_corner_share(0.3, 0.2, 0.4),
        lambda: cylinder_corner_share(0.1, 0.2, 0.1),
        lambda: trough_corner_share(0.0),
    ],
)
def test_an_argument_out_of_range_is_refused(call):
    with pytest.raises(OutsideRangeError):
        call()


@given(st.floats(0.001, 0.0127), st.floats(1.0, 5.0), st.floats(1.0, 2.0))
def test_more_draw_never_gives_a_thicker_wall(gauge, areal, factor):
    assert mean_wall(gauge, areal * factor) <= mean_wall(gauge, areal)


@given(st.floats(0.3, 2.0), st.floats(0.3, 2.0), st.floats(0.0, 0.3), st.floats(0.0, 0.3), st.floats(0.0, 0.2))
def test_a_deeper_box_never_has_less_area(length, width, depth, deeper, draft):
    assert (
        tapered_box_area(length, width, depth + deeper, draft) >= tapered_box_area(length, width, depth, draft) - 1e-12
    )


@given(st.floats(0.0005, 0.01), st.floats(0.1, 1.0), st.floats(0.0, 0.2))
def test_a_stocked_gauge_is_never_too_thin(minimum, share, tolerance):
    required = required_gauge(minimum, share, tolerance)
    assert stocked_gauge(required, STOCKED_GAUGES) >= required * (1 - 1e-5)


@pytest.mark.parametrize(
    ("formula", "arguments"),
    [
        (tapered_box_area, ([1.2, 0.8], 0.9, [0.3, 0.0], [0.05, 0.0])),
        (areal_draw_ratio, ([1.5, 1.0], 1.0)),
        (mean_wall, ([0.004, 0.006], [1.5, 2.0])),
        (required_gauge, (0.0015, [0.3, 1.0], 0.05)),
        (lambda required: stocked_gauge(required, STOCKED_GAUGES), ([0.00501, 0.02],)),
        (cylinder_areal_draw_ratio, ([0.2, 0.4], 0.4)),
        (frustum_areal_draw_ratio, ([0.2, 0.3], 0.1, [0.3, 0.2])),
        (cap_areal_draw_ratio, ([0.1, 0.2], 0.3)),
        (cone_wall_share, ([0.5, 1.0], [0.3, 1.0])),
        (wedge_wall_share, ([0.5, 1.0], [0.3, 1.0])),
        (cylinder_wall_share, ([0.0, 0.3], 0.2)),
        (cylinder_corner_share, ([0.01, 0.2], 0.2, [0.2, 0.5])),
        (trough_wall_share, ([0.0, 0.3], 0.2)),
        (trough_corner_share, ([0.1, 1.0],)),
    ],
)
def test_many_values_side_by_side_give_what_each_gives_alone(formula, arguments):
    together = formula(*(np.array(value) if isinstance(value, list) else value for value in arguments))
    for place in (0, 1):
        alone = formula(*(value[place] if isinstance(value, list) else value for value in arguments))
        assert type(alone) is float
        assert together[place] == pytest.approx(alone, rel=1e-14)


@pytest.mark.parametrize(
    "call",
    [
        lambda: tapered_box_area(np.array([0.3, 0.3]), 0.2, np.array([0.1, -0.1]), 0.0),
        lambda: areal_draw_ratio(np.array([1.5, 0.9]), 1.0),
        lambda: cone_wall_share(1.0, np.array([0.5, 1.5])),
        lambda: cylinder_corner_share(np.array([0.1, 0.3]), 0.2, 0.4),
    ],
)
def test_one_value_out_of_range_among_many_is_refused(call):
    with pytest.raises(OutsideRangeError):
        call()
