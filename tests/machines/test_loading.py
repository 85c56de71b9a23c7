"""Loading, queue and lead time."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from machines.loading import (
    free_hours_by_week,
    hours_available,
    lead_time,
    monday_on_or_after,
    queue_weeks,
    weeks_until_through,
)
from machines.machine import Booking
from tests.quoting.costing.shop import TODAY, some_machine, some_plant

MONDAY = date(2026, 3, 9)


def booking(hours: float, week: int = 0, firm: bool = True, machine: str = "M1") -> Booking:
    return Booking(machine, MONDAY + timedelta(weeks=week), hours, firm)


def free(*bookings: Booking, weeks: int = 3) -> tuple[float, ...]:
    return free_hours_by_week(some_plant(), some_machine(), bookings, MONDAY, weeks)


def test_three_shifts_of_eight_hours_five_days_give_120_clock_hours():
    # Worked loading example: 3 x 8 x 5 = 120 h. It goes on to 102 h at .85, which would count efficiency twice,
    # since a job's hours come from good parts an hour at that efficiency.
    assert hours_available(some_plant(), some_machine()) == pytest.approx(120)


def test_a_job_and_the_week_it_fills_count_efficiency_once():
    machine = some_machine()
    pieces_at_full_pace = 30.0  # an hour
    pieces_a_week = hours_available(some_plant(), machine) * pieces_at_full_pace * machine.efficiency

    job_hours = pieces_a_week / (pieces_at_full_pace * machine.efficiency)

    assert weeks_until_through(some_plant(), machine, (), TODAY, job_hours) == 1
    assert weeks_until_through(some_plant(), machine, (), TODAY, job_hours * 1.01) == 2


def test_a_job_of_21_hours_is_through_in_the_second_week():
    # Worked loading example: free 8, 14, 22, 40 h; the job takes 20.95 h; 22 h reached in week 2.
    assert queue_weeks((8, 14, 22, 40), 20.95) == 2


def test_hours_that_just_suffice_suffice():
    assert queue_weeks((0.7, 0.1), 0.8) == 2  # 0.7 + 0.1 is a hair below 0.8 in floats
    assert queue_weeks((20.95,), 20.95) == 1


def test_a_job_that_the_weeks_do_not_hold_is_refused():
    with pytest.raises(ValueError, match="the job takes 50"):
        queue_weeks((8, 14), 50)


def test_firm_hours_are_taken_whole_and_quoted_hours_do_not_block():
    assert free(booking(78), booking(40, firm=False), weeks=1) == pytest.approx((42,))


def test_hours_of_another_machine_do_not_block():
    assert free(booking(78, machine="M2"), weeks=1) == pytest.approx((120,))


def test_what_overflows_a_week_is_carried_into_the_next():
    assert free(booking(150), booking(10, week=1)) == pytest.approx((0, 120 - 30 - 10, 120))


def test_a_booking_of_any_day_belongs_to_its_week():
    midweek = replace(booking(10), week=MONDAY + timedelta(days=3))

    assert free(midweek, weeks=2) == pytest.approx((110, 120))


@pytest.mark.parametrize("days", range(7))
def test_the_first_whole_week_begins_on_the_next_monday(days):
    found = monday_on_or_after(MONDAY - timedelta(days=days))

    assert found == MONDAY


def test_an_unbooked_machine_is_through_in_the_first_week():
    assert weeks_until_through(some_plant(), some_machine(), (), TODAY, 20.95) == 1


def test_a_full_book_is_looked_through_to_its_end():
    full = tuple(booking(120, week) for week in range(12))

    assert weeks_until_through(some_plant(), some_machine(), full, TODAY, 20.95) == 13


def test_one_overbooked_week_far_beyond_its_hours_delays_accordingly():
    assert weeks_until_through(some_plant(), some_machine(), (booking(1200),), TODAY, 20.95) == 11


def test_work_of_past_weeks_no_longer_blocks():
    assert weeks_until_through(some_plant(), some_machine(), (booking(500, week=-3),), TODAY, 20.95) == 1


def test_a_job_longer_than_a_week_takes_its_weeks():
    assert weeks_until_through(some_plant(), some_machine(), (), TODAY, 250) == 3


def test_a_plant_that_works_no_hours_is_refused():
    with pytest.raises(ValueError, match="works no hours"):
        weeks_until_through(replace(some_plant(), shifts_per_day=0), some_machine(), (), TODAY, 1)


def test_lead_time_waits_for_the_later_of_sheet_and_tool():
    assert lead_time(2, 9, 2, 0.6).weeks == pytest.approx(11.6)
    assert lead_time(12, 9, 2, 0.6).weeks == pytest.approx(14.6)
