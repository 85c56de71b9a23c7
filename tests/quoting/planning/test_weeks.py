"""Hours laid out into free weeks."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.planning.weeks import WEEK, Hours, NoRoomError, laid_out, monday, shared

DAYS = st.dates(date(2026, 1, 1), date(2030, 12, 31))
FREE = st.lists(st.floats(0, 120), min_size=1, max_size=40)
FIRST = date(2026, 11, 23)


@settings(derandomize=True, deadline=None, max_examples=200)
@given(st.floats(0.01, 3000), DAYS, st.integers(-30, 300), FREE)
def test_no_hour_is_lost_no_week_takes_more_than_is_free_and_none_lies_before_the_first(hours, ready, ahead, free):
    first = monday(ready)
    if sum(free) < hours:
        with pytest.raises(NoRoomError):
            laid_out(hours, first, ready + timedelta(days=ahead), free)
        return
    taken = laid_out(hours, first, ready + timedelta(days=ahead), free)
    assert abs(sum(one.hours for one in taken) - hours) < 1e-6
    assert all(0 < one.hours <= free[(one.week - first) // WEEK] for one in taken)
    assert len({one.week for one in taken}) == len(taken)


def test_the_week_of_the_promise_is_filled_first_then_those_before_it_then_those_after():
    free = [10.0, 10.0, 10.0, 10.0]
    due = FIRST + 2 * WEEK + timedelta(days=3)
    assert laid_out(5.0, FIRST, due, free) == (Hours(FIRST + 2 * WEEK, 5.0),)
    assert [one.hours for one in laid_out(25.0, FIRST, due, free)] == [5.0, 10.0, 10.0]
    assert [one.hours for one in laid_out(34.0, FIRST, due, free)] == [10.0, 10.0, 10.0, 4.0]


def test_what_was_due_before_it_can_begin_is_taken_as_early_as_it_can_be():
    assert laid_out(12.0, FIRST, FIRST - timedelta(days=20), [8.0, 8.0]) == (
        Hours(FIRST, 8.0),
        Hours(FIRST + WEEK, 4.0),
    )


@pytest.mark.parametrize(("hours", "first"), [(-1.0, FIRST), (float("nan"), FIRST), (5.0, date(2026, 11, 24))])
def test_negative_hours_and_weeks_that_begin_on_a_tuesday_are_refused(hours, first):
    with pytest.raises(ValueError, match="from a Monday on"):
        laid_out(hours, first, FIRST, [100.0])


def test_hours_beside_the_former_follow_its_run():
    run = (Hours(FIRST, 6.0), Hours(FIRST + WEEK, 2.0))
    assert [one.hours for one in shared(4.0, run)] == [3.0, 1.0]
    assert shared(0.0, run) == ()
