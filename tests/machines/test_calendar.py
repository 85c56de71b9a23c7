"""Working hours by day and week: changes of the clock, closed days, maintenance, overtime, bad input."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import easter, rrule, tz

from machines.calendar import (
    EVERYTHING,
    CalendarError,
    Shift,
    Window,
    WorkCalendar,
    default_calendar,
    hours_by_day,
    hours_by_week,
)
from machines.holiday_dates import public_holidays
from tests.quoting.costing.shop import some_plant

CHICAGO, BERLIN = ZoneInfo("America/Chicago"), ZoneInfo("Europe/Berlin")
MONDAY = date(2026, 6, 1)
WEEKDAYS = (0, 1, 2, 3, 4)
EARLY = Shift(WEEKDAYS, time(6), 8.0, breaks=0.5)
NIGHT = Shift((0, 1, 2, 3, 4, 5, 6), time(22), 8.0)


def at(day: date, hour: int, minute: int = 0, zone: object = CHICAGO) -> datetime:
    return datetime.combine(day, time(hour, minute), zone)


def one_shift(**changes: object) -> WorkCalendar:
    return replace(WorkCalendar(CHICAGO, (EARLY,)), **changes)


def counted_by_the_minute(zone: str, shift: Shift, monday: date) -> list[float]:
    """Hours of a week by day of the shift's start: each minute of real time is asked for its time on the wall."""
    local, hours = tz.gettz(zone), [0.0] * 7
    length = timedelta(hours=shift.length)
    instant = datetime.combine(monday, time(), UTC) - timedelta(days=1)
    for _ in range(60 * 24 * 9):
        wall = instant.astimezone(local).replace(tzinfo=None)
        for number in range(7):
            start = datetime.combine(monday + timedelta(days=number), shift.start)
            if start.weekday() in shift.days and start <= wall < start + length:
                hours[number] += 1 / 60
        instant += timedelta(minutes=1)
    return hours


@pytest.mark.parametrize(
    ("zone", "monday", "saturday_night"),
    [
        ("America/Chicago", date(2026, 3, 2), 7), ("America/Chicago", date(2026, 10, 26), 9),
        ("Europe/Berlin", date(2026, 3, 23), 7), ("Europe/Berlin", date(2026, 10, 19), 9),
        ("America/Phoenix", date(2026, 3, 2), 8),
    ],
)  # fmt: skip
def test_a_night_over_a_change_of_the_clock_has_the_hours_that_another_library_counts(zone, monday, saturday_night):
    # python-dateutil's own time zones, asked minute by minute
    found = hours_by_day(WorkCalendar(ZoneInfo(zone), (NIGHT,)), "F1", monday, 7)

    assert found.tolist() == pytest.approx(counted_by_the_minute(zone, NIGHT, monday))
    assert found[5] == saturday_night


def test_a_plant_with_hours_only_has_the_hours_it_had():
    for shifts, hours, days in ((3, 8.0, 5), (1, 8.0, 5), (2, 10.0, 6), (3, 8.0, 7), (2, 7.5, 4)):
        plant = replace(some_plant(), shifts_per_day=shifts, hours_per_shift=hours, days_per_week=days)

        found = hours_by_week(default_calendar(plant), "M1", MONDAY, 52)

        assert found.tolist() == pytest.approx([shifts * hours * days] * 52)


def test_a_plant_that_works_nothing_has_no_hours():
    idle = default_calendar(replace(some_plant(), shifts_per_day=0))

    assert hours_by_week(idle, "M1", MONDAY, 2).tolist() == [0, 0]


def test_a_day_of_more_than_24_hours_is_refused():
    with pytest.raises(CalendarError, match="shifts_per_day x hours_per_shift: got 36.0; accepted is at most 24"):
        default_calendar(replace(some_plant(), shifts_per_day=3, hours_per_shift=12.0))


def test_breaks_are_not_worked_and_the_weekend_is_free():
    assert hours_by_day(one_shift(), "F1", MONDAY, 7).tolist() == [7.5] * 5 + [0, 0]


def test_a_shift_pattern_may_end_on_a_day_and_another_begin():
    before, after = replace(EARLY, last=date(2026, 6, 3)), Shift(WEEKDAYS, time(7), 10.0, first=date(2026, 6, 4))

    found = hours_by_day(WorkCalendar(CHICAGO, (before, after)), "F1", MONDAY, 7)

    assert found.tolist() == [7.5, 7.5, 7.5, 10, 10, 0, 0]


def test_a_closed_day_has_no_hours():
    closed = one_shift(closed=(MONDAY + timedelta(days=2),))

    assert hours_by_week(closed, "F1", MONDAY, 2).tolist() == [30, 37.5]


def test_maintenance_takes_what_it_overlaps_of_its_own_machine():
    stands = Window("F1", at(MONDAY, 12), at(MONDAY + timedelta(days=1), 10), "bearings")

    found = hours_by_day(one_shift(maintenance=(stands,)), "F1", MONDAY, 2)

    # 6 of the 8 hours of Monday's shift are left, 4 of Tuesday's; a sixteenth of each is break
    assert found.tolist() == pytest.approx([6 * 7.5 / 8, 4 * 7.5 / 8])
    assert hours_by_day(one_shift(maintenance=(stands,)), "F2", MONDAY, 2).tolist() == [7.5, 7.5]


def test_maintenance_windows_that_overlap_count_once_and_one_for_everything_counts_for_all():
    first = Window("F1", at(MONDAY, 6), at(MONDAY, 10))
    second = Window(EVERYTHING, at(MONDAY, 8), at(MONDAY, 14))
    calendar = one_shift(maintenance=(first, second))

    assert hours_by_day(calendar, "F1", MONDAY, 1).tolist() == [0]
    assert hours_by_day(calendar, "F2", MONDAY, 1).tolist() == pytest.approx([2 * 7.5 / 8])


def test_overtime_adds_only_what_no_shift_holds():
    saturday = MONDAY + timedelta(days=5)
    longer = Window("F1", at(MONDAY, 12), at(MONDAY, 18))  # 2 of its 6 h lie in the shift
    extra = Window("F1", at(saturday, 6), at(saturday, 12))

    found = hours_by_day(one_shift(overtime=(longer, extra)), "F1", MONDAY, 7)

    assert found.tolist() == pytest.approx([7.5 + 4] + [7.5] * 4 + [6, 0])


def test_overtime_over_midnight_belongs_to_both_days_and_may_stand_for_maintenance():
    over = Window("F1", at(MONDAY, 22), at(MONDAY + timedelta(days=1), 2))
    stands = Window("F1", at(MONDAY, 23), at(MONDAY + timedelta(days=1), 1))

    assert hours_by_day(one_shift(overtime=(over,)), "F1", MONDAY, 2).tolist() == [9.5, 9.5]
    both = one_shift(overtime=(over,), maintenance=(stands,))
    assert hours_by_day(both, "F1", MONDAY, 2).tolist() == [8.5, 8.5]


def test_overtime_in_the_night_of_the_day_before_is_not_counted_again():
    early = Window("F1", at(MONDAY, 2), at(MONDAY, 8))  # Sunday's night shift runs until 6

    found = hours_by_day(WorkCalendar(CHICAGO, (NIGHT,), overtime=(early,)), "F1", MONDAY, 1)

    assert found.tolist() == [8 + 2]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Shift((7,), time(6), 8), "days"),
        (lambda: Shift((), time(6), 8), "days"),
        (lambda: Shift((0,), time(6), -8), "length"),
        (lambda: Shift((0,), time(6), 8, breaks=-1), "breaks"),
        (lambda: Shift((0,), time(6), 8, breaks=8), "breaks"),
        (lambda: WorkCalendar(CHICAGO, (EARLY, Shift((0,), time(13), 8))), "shifts"),
        (lambda: WorkCalendar(CHICAGO, (NIGHT, Shift((0,), time(5), 3))), "shifts"),
        (lambda: replace(EARLY, first=date(2026, 6, 2), last=date(2026, 6, 1)), "last"),
        (lambda: Window("F1", datetime(2026, 6, 1, 6), at(MONDAY, 8)), "window"),  # noqa: DTZ001 - that is the fault
        (lambda: Window("F1", at(MONDAY, 8), at(MONDAY, 8)), "window"),
        (lambda: hours_by_week(one_shift(), "F1", MONDAY + timedelta(days=1), 1), "monday"),
        (lambda: hours_by_day(one_shift(), "F1", MONDAY, -1), "days"),
    ],
)
def test_a_calendar_that_cannot_be_is_refused_by_field(make, field):
    with pytest.raises(CalendarError) as refused:
        make()
    assert refused.value.field == field
    assert str(refused.value.accepted)


def test_public_holidays_agree_with_their_rules():
    # 5 U.S.C. 6103(a), from memory, unverified: last Monday of May, first Monday of September, fourth Thursday of
    # November; found by python-dateutil's rules of recurrence, which know nothing of holidays.
    for year in range(2024, 2032):
        found = public_holidays("US", None, (year,))
        for month, weekday in ((5, rrule.MO(-1)), (9, rrule.MO(1)), (11, rrule.TH(4))):
            (day,) = rrule.rrule(rrule.MONTHLY, datetime(year, 1, 1), bymonth=month, byweekday=weekday, count=1)  # noqa: DTZ001
            assert day.date() in found


def test_good_friday_is_two_days_before_the_easter_of_another_library():
    # python-dateutil's Easter (Gregorian); Good Friday is a holiday in Ontario, from memory, unverified
    for year in range(2024, 2032):
        assert easter.easter(year) - timedelta(days=2) in public_holidays("CA", "ON", (year,))


def test_a_country_that_the_library_does_not_know_is_named():
    with pytest.raises(NotImplementedError, match="XX"):
        public_holidays("XX", None, (2026,))
