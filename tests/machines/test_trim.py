"""Trim times by kind of trimmer."""

from dataclasses import replace

import pytest

from machines.trim import TrimPace, TrimWork, pieces_per_hour, trim_time
from tests.quoting.costing.shop import INCH, some_bench, some_router

PACE = TrimPace(4, 6, 2, 10, 20, 45, 6, 15, 0.250 * INCH, 1.25 / 60, 20)
WORK = TrimWork(168 * INCH, 0, 12, 0.187 * INCH)


def test_twin_table_hides_loading_behind_the_cut():
    # Worked cover: 51.2 + 48 + 20 + 20 = 139.2 s at the cutter, swap 6 s.
    assert trim_time(WORK, PACE, some_router()).cycle == pytest.approx(145.2, abs=0.05)


def test_single_table_adds_loading_to_the_cut():
    # Worked cover: 139.2 + 45 = 184.2 s.
    single = replace(some_router(), twin_table=False)

    assert trim_time(WORK, PACE, single).cycle == pytest.approx(184.2, abs=0.05)


def test_twin_table_waits_for_a_slow_operator():
    slow = replace(PACE, load_time=200)

    assert trim_time(WORK, slow, some_router()).cycle == pytest.approx(200 + 168 * INCH * 15 + 6)


def test_heavy_gauge_takes_the_path_twice_and_the_limit_itself_once():
    once, twice = (trim_time(replace(WORK, gauge=inches * INCH), PACE, some_router()).path for inches in (0.250, 0.312))

    assert twice == pytest.approx(2 * once)


def test_each_opening_adds_its_own_time():
    more = trim_time(replace(WORK, openings=3), PACE, some_router())

    assert more.cutting - trim_time(WORK, PACE, some_router()).cutting == pytest.approx(18)


def test_hand_bench_works_at_hand_feed_and_adds_everything_up():
    time = trim_time(WORK, PACE, some_bench())

    path = 168 * INCH / (1.25 / 60)
    assert time.tool_changes == time.rapid == 0
    assert time.cycle == pytest.approx(path + 12 * 20 + 45 + 168 * INCH * 15)


def test_a_feed_of_zero_is_refused():
    with pytest.raises(ValueError, match="feed must be above 0"):
        trim_time(WORK, PACE, replace(some_router(), feed=0.0))


@pytest.mark.parametrize(("cycle", "efficiency"), [(0, 0.85), (100, 0), (100, 1.1)])
def test_pieces_per_hour_refuses_what_is_out_of_range(cycle, efficiency):
    with pytest.raises(ValueError, match="cycle must be above 0"):
        pieces_per_hour(cycle, efficiency)
