"""How much room machines and routers have."""

import pytest

from machines.envelope import (
    Room,
    draw_depth,
    room_in_heated_area,
    room_in_largest_opening,
    room_on_table,
    room_over_smallest_opening,
    routers,
    tool_height,
)
from materials.sheet import INCH
from tests.quoting.routing.routing_catalog import bank, bench, machine, oven, router


def test_the_tighter_direction_of_the_clamp_frame_counts():
    found = room_in_largest_opening(machine(), 90 * INCH, 70 * INCH)

    assert found == Room(70 * INCH, 72 * INCH)
    assert found.spare == pytest.approx(2 * INCH)


def test_a_blank_smaller_than_the_closed_frame_lacks_room():
    assert room_over_smallest_opening(machine(), 30 * INCH, 18 * INCH).spare == pytest.approx(-2 * INCH)


def test_the_smaller_bank_of_heaters_counts():
    uneven = machine(oven=oven(upper=bank(heated_length=80 * INCH)))

    assert room_in_heated_area(uneven, 90 * INCH, 40 * INCH).spare == pytest.approx(-10 * INCH)


def test_two_tools_that_meet_have_the_room_of_the_smaller_side():
    press = machine(draw_depth_above=0.5, draw_depth_below=0.7, tool_height_above=0.6, tool_height_below=0.9)

    assert (draw_depth(press, both_sides=False), draw_depth(press, both_sides=True)) == (0.7, 0.5)
    assert (tool_height(press, both_sides=False), tool_height(press, both_sides=True)) == (0.9, 0.6)


def test_a_part_goes_on_the_table_the_better_way_round():
    table = router(table_length=60 * INCH, table_width=30 * INCH)

    assert room_on_table(28 * INCH, 58 * INCH, 8 * INCH, table).spare == pytest.approx(2 * INCH)
    assert room_on_table(28 * INCH, 58 * INCH, 40 * INCH, table).spare == pytest.approx(-4 * INCH)


def test_a_hand_bench_is_no_router():
    assert [trimmer.code for trimmer in routers((bench(), router()))] == ["5X"]
