"""Blanks: the worked ones of the trade, and laws that hold for any part."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.sheet import INCH
from quoting.routing.nesting import MOST_CAVITIES, clamp_width, layouts
from tests.quoting.routing.routing_catalog import machine


def nest(length, width, depth, gauge=0.187, twin_sheet=False, frame=None):
    sizes = (side * INCH for side in (length, width, depth))
    return layouts(*sizes, gauge=gauge * INCH, twin_sheet=twin_sheet, machine=frame or machine())


def size(layout):
    return round(layout.blank_length / INCH, 6), round(layout.blank_width / INCH, 6)


def test_the_cover_of_40_by_28_takes_a_blank_of_45_by_33():
    # by hand: 40 + 2 (1.5 + 1.0), 28 + 5
    assert size(nest(40, 28, 8)[0]) == (45, 33)


def test_two_parts_of_18_by_12_take_a_blank_of_22_and_a_half_by_30_and_a_half():
    # by hand, .125 gauge, 4 in deep: gap max(1.5, 2.0), 18 + 2 (1.5 + .75), 2 x 12 + 2.0 + 4.5
    two = nest(18, 12, 4, gauge=0.125)[1]

    assert two.cavities == 2
    assert sorted(size(two)) == [22.5, 30.5]
    assert two.gap == pytest.approx(2 * INCH)


@pytest.mark.parametrize(
    ("gauge", "twin_sheet", "side", "clamp"),
    [
        (0.125, False, 40, 0.75),
        (0.126, False, 40, 1.0),
        (0.250, False, 40, 1.0),
        (0.251, False, 40, 1.5),
        (0.125, True, 40, 1.5),
        (0.125, False, 60, 0.75),
        (0.125, False, 60.1, 1.5),
    ],
)
def test_the_clamp_grows_with_gauge_size_and_a_second_sheet(gauge, twin_sheet, side, clamp):
    assert clamp_width(gauge * INCH, twin_sheet, side * INCH) == pytest.approx(clamp * INCH)


def test_a_deep_part_keeps_two_inches_to_the_clamp():
    assert size(nest(40, 28, 12)[0]) == (45, 33)
    assert size(nest(40, 28, 12.1)[0]) == (46, 34)


def test_each_sheet_of_a_twin_sheet_part_is_drawn_half_the_depth():
    # depth 20, so 10 for each sheet: trim 1.5, clamp 1.5
    assert size(nest(40, 28, 20, twin_sheet=True)[0]) == (46, 34)


def test_a_blank_is_rounded_up_to_a_quarter_inch():
    assert size(nest(40.1, 28.25, 8)[0]) == (45.25, 33.25)


def test_a_part_too_large_for_the_frame_is_shown_the_way_round_that_lacks_least():
    (only,) = nest(60, 100, 8)

    # frame 96 x 72: 100 in along the 96 in lacks less than 60 in along it and 100 in across 72
    assert only.cavities == 1
    assert only.turned


def test_the_way_round_that_the_frame_can_close_on_is_preferred():
    frame = machine(smallest_opening_length=20 * INCH, smallest_opening_width=44 * INCH)

    assert nest(40, 28, 8, frame=frame)[0].turned


def test_the_way_round_that_the_mill_makes_is_preferred():
    # two 40 x 28 in parts, 8 in deep: side by side 45 x 65 in, end to end 89 x 33 in; a web of 40 in yields the second
    frame = machine(largest_opening_length=120 * INCH, largest_opening_width=120 * INCH)
    sizes = {"gauge": 0.187 * INCH, "twin_sheet": False, "machine": frame}
    free, narrow = (
        layouts(40 * INCH, 28 * INCH, 8 * INCH, web=web, **sizes)[1] for web in (None, (40 * INCH, 168 * INCH))
    )

    assert sorted(size(free)) == [45, 65]
    assert sorted(size(narrow)) == [33, 89]


def test_parts_are_spaced_wider_where_the_frame_closes_no_further():
    # by hand: 12 x 12 in, 4 in deep, 0.125 in: one takes 16.5 in, two take 30.5 x 16.5; the frame closes to 20 x 20
    frame = machine(smallest_opening_length=20 * INCH, smallest_opening_width=20 * INCH)
    one, two = nest(12, 12, 4, gauge=0.125, frame=frame)[:2]

    assert size(one) == (20, 20)
    assert one.wider_along == one.wider_across == pytest.approx((20 - 16.5) / 2 * INCH)
    assert sorted(size(two)) == [20, 30.5]
    assert sorted((two.wider_along, two.wider_across)) == [0, pytest.approx(1.75 * INCH)]


def test_parts_are_not_spaced_beyond_what_still_forms_well():
    # by hand: from 16.5 in to 22.5 in is 3 in on each side, to 22.75 in is more
    for opening, blank in ((22.5, 22.5), (22.75, 16.5)):
        frame = machine(smallest_opening_length=opening * INCH, smallest_opening_width=10 * INCH)
        assert nest(12, 12, 4, gauge=0.125, frame=frame)[0].blank_length == pytest.approx(blank * INCH)


sides = st.floats(min_value=3, max_value=120)


@given(
    length=sides, width=sides, depth=st.floats(min_value=1, max_value=30), gauge=st.sampled_from([0.1, 0.187, 0.375])
)
def test_layouts_hold_their_parts_and_differ_in_cavities(length, width, depth, gauge):
    found = nest(length, width, depth, gauge)

    counts = [layout.cavities for layout in found]
    assert counts == sorted(set(counts)) and counts[-1] <= MOST_CAVITIES
    for layout in found:
        along, across = (width, length) if layout.turned else (length, width)
        gaps = (layout.along - 1) * layout.gap + 2 * layout.margin + (layout.along + 1) * layout.wider_along
        needed = layout.along * along + gaps / INCH
        assert layout.part_across == pytest.approx(across * INCH)
        assert needed - 1e-6 <= layout.blank_length / INCH < needed + 0.25
    if len(found) > 1:
        assert all(layout.blank_length <= 96 * INCH + 1e-9 for layout in found)
