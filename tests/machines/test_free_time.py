"""Free hours of a place, looked up at once: the same as searching day by day."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from machines.calendar import Window, WorkCalendar, calendar_of_hours, hours_by_week
from machines.free_time import FreeTime, free_by_day
from machines.machine import Booking
from machines.promise import PromiseError, first_fit

MONDAY = date(2026, 6, 1)
WEEKS = 60
booked = st.lists(st.tuples(st.integers(-2, 12), st.floats(0.5, 200), st.booleans()), max_size=10)


def bookings(drawn) -> tuple[Booking, ...]:
    return tuple(Booking("F1", MONDAY + timedelta(weeks=week), hours, firm) for week, hours, firm in drawn)


@given(booked, st.floats(0, 60), st.floats(0.1, 300), st.sampled_from([(8.0, 5), (16.0, 6), (24.0, 7)]))
def test_the_look_up_finds_what_a_search_through_the_days_finds(drawn, ready, hours, week):
    calendar = calendar_of_hours(*week)
    free = free_by_day(calendar, "F1", bookings(drawn), MONDAY, WEEKS)

    found = FreeTime(calendar, "F1", bookings(drawn), MONDAY).fit(ready, hours)

    assert found == pytest.approx(first_fit(free, ready, hours), abs=1e-6)


def test_firm_hours_are_taken_from_the_week_and_what_it_cannot_hold_from_the_next():
    # a week of 40 h with 60 h booked has nothing left, the next one 40 - 20 = 20 h; quoted work takes nothing
    both = (Booking("F1", MONDAY, 60.0, True), Booking("F1", MONDAY, 30.0, False), Booking("F2", MONDAY, 9.0, True))

    free = free_by_day(calendar_of_hours(8.0, 5), "F1", both, MONDAY, 3)

    assert free.reshape(3, 7).sum(axis=1).tolist() == [0.0, 20.0, 40.0]
    assert free[7:12].tolist() == [4.0] * 5


def test_without_bookings_the_weeks_have_the_hours_of_the_calendar():
    zone = calendar_of_hours(8.0, 5).zone
    calendar = WorkCalendar(zone, calendar_of_hours(8.0, 5).shifts, closed=(MONDAY + timedelta(days=9),))

    free = free_by_day(calendar, "F1", (), MONDAY, 3).reshape(3, 7).sum(axis=1)

    assert free.tolist() == hours_by_week(calendar, "F1", MONDAY, 3).tolist() == [40.0, 32.0, 40.0]


def test_work_beyond_the_first_look_is_found_and_a_place_that_never_works_is_named():
    calendar = calendar_of_hours(8.0, 5)
    closed = WorkCalendar(calendar.zone, ())

    start, finish = FreeTime(calendar, "F1", (), MONDAY).fit(1000.0, 80.0)

    assert start >= 1000.0
    assert finish - start == pytest.approx(14, abs=4)
    with pytest.raises(PromiseError, match="1040 weeks"):
        FreeTime(closed, "F1", (), MONDAY).fit(0.0, 1.0)


def test_a_week_of_maintenance_puts_work_off_by_a_week():
    calendar = calendar_of_hours(8.0, 5)
    begins = datetime(2026, 6, 1, tzinfo=calendar.zone)
    standing = WorkCalendar(
        calendar.zone, calendar.shifts, maintenance=(Window("F1", begins, begins + timedelta(weeks=1)),)
    )

    usual, later = (FreeTime(one, "F1", (), MONDAY).fit(0.0, 16.0) for one in (calendar, standing))

    assert np.subtract(later, usual).tolist() == pytest.approx([7.0, 7.0])


def test_of_three_at_the_bench_one_is_free_until_the_others_hours_fill_all_three():
    # three of 40 h are 120 h a week: 60 h booked leave one of them free, 100 h leave 20 h, 130 h nothing and 10 h more
    booked = tuple(
        Booking("P1/assembly", MONDAY + timedelta(weeks=week), hours, True)
        for week, hours in enumerate((60.0, 100.0, 130.0))
    )

    free = free_by_day(calendar_of_hours(8.0, 5), "bench", booked, MONDAY, 5, places=3, booked_as="P1/assembly")

    assert free.reshape(5, 7).sum(axis=1).tolist() == pytest.approx([40.0, 20.0, 0.0, 40.0, 40.0])


@given(booked, st.floats(0, 90), st.floats(0.1, 200), st.sampled_from([(8.0, 5), (24.0, 7)]))
def test_the_latest_start_is_done_in_time_and_a_moment_with_less_work_before_it_is_not(drawn, done, hours, week):
    place = FreeTime(calendar_of_hours(*week), "F1", bookings(drawn), MONDAY)

    start = place.latest_start(done, hours)

    if start > 0:
        assert place.fit(start, hours)[1] <= done + 1e-6
        assert place.fit(start, hours + 0.1)[1] > done - 1e-6
    else:
        assert place.fit(0.0, hours)[1] >= done - 1e-6
