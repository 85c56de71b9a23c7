from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.quotes.bookings import laid_out, monday

DAYS = st.dates(date(2026, 1, 1), date(2030, 12, 31))


@settings(derandomize=True, deadline=None, max_examples=200)
@given(st.floats(0.01, 3000), DAYS, st.floats(0, 30), st.floats(20, 120))
def test_no_hour_is_lost_no_week_is_overfull_and_none_lies_in_the_past(hours, on, lead, weekly):
    taken = laid_out(hours, on, lead, weekly)
    assert abs(sum(one.hours for one in taken) - hours) < 1e-6
    assert all(0 < one.hours <= weekly for one in taken)
    assert all(one.week >= monday(on) and one.week.weekday() == 0 for one in taken)
    assert len({one.week for one in taken}) == len(taken)


def test_the_promised_week_is_filled_first():
    on = date(2026, 11, 25)
    (only,) = laid_out(5.0, on, 2, 40.0)
    assert only.week == monday(on + timedelta(weeks=2))
