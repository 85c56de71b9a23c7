"""The tables refuse what is no machine, in Python and in the database."""

from datetime import UTC, date, datetime, time

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from machines.models import (
    MACHINE_ASCENDING,
    MACHINE_RANGES,
    PLANT_RANGES,
    Booking,
    Machine,
    Plant,
    Shift,
    Station,
    TimeWindow,
)
from tests.quoting.quotes.conftest import make_machine


@pytest.fixture
def machine(db):
    return make_machine()


def refused(row, column, value):
    setattr(row, column, value)
    with pytest.raises(ValidationError):
        row.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


@pytest.mark.parametrize("column", MACHINE_RANGES)
def test_a_machine_outside_a_range_is_refused_by_form_and_database(machine, column):
    lowest, highest = MACHINE_RANGES[column]
    refused(machine, column, lowest - 0.5)
    refused(machine, column, highest * 1.5)


@pytest.mark.parametrize("column", PLANT_RANGES)
def test_a_plant_outside_a_range_is_refused_by_form_and_database(machine, column):
    plant = Plant.objects.get()
    refused(plant, column, int(PLANT_RANGES[column][1] * 2))


@pytest.mark.parametrize(("low", "high"), MACHINE_ASCENDING)
def test_the_largest_may_not_be_below_the_smallest(machine, low, high):
    setattr(machine, low, MACHINE_RANGES[low][1])
    refused(machine, high, MACHINE_RANGES[high][0])


def test_a_machine_becomes_the_value_that_was_stored_bit_for_bit(machine):
    Machine.objects.update(platen_length=0.1 + 0.2, hour_rate="90.5")

    value = Machine.objects.get().to_domain()

    assert value.platen_length == 0.1 + 0.2
    assert str(value.hour_rate) == "90.50"
    assert value.plant == "P-1"
    assert [station.name for station in value.stations] == ["load", "oven", "form"]
    assert value.stations[0].work == ("load", "unload")
    assert (value.oven.upper.highest_temperature, value.oven.clearance_below) == (900.0, 0.3)


def test_a_booking_begins_on_a_monday_and_has_no_more_hours_than_a_week(machine):
    Booking(machine=machine, week=date(2026, 11, 23), hours=168.0).full_clean()
    refused(Booking(machine=machine, week=date(2026, 11, 24)), "hours", 10.0)
    refused(Booking(machine=machine, week=date(2026, 11, 23)), "hours", 169.0)


@pytest.mark.parametrize("work", ["oven", ["fly"], [3], {"oven": 1}])
def test_a_station_does_only_known_work(machine, work):
    with pytest.raises(ValidationError, match="accepted is a list"):
        Station(machine=machine, position=9, name="x", work=work).full_clean()


def shift(machine, **changes):
    given = {"days": [0, 1], "start": time(6), "length_hours": 8.0, "first_day": date(2026, 1, 1)}
    return Shift(plant=machine.plant, **given | changes)


@pytest.mark.parametrize(
    "changes",
    [
        {"days": [7]}, {"days": "Monday"}, {"days": []}, {"days": [True]}, {"break_hours": 8.0},
        {"last_day": date(2025, 1, 1)}, {"start": time(13)},
    ],
)  # fmt: skip
def test_a_shift_that_no_calendar_can_hold_is_refused(machine, changes):
    shift(machine).save()
    first = Shift.objects.get()
    tried = shift(machine, **changes)
    if "start" not in changes:
        tried.pk = first.pk  # a change of the shift itself; the last case is a second one that overlaps
    with pytest.raises(ValidationError):
        tried.full_clean()


def test_a_shift_has_a_length_in_the_database_too(machine):
    refused(shift(machine), "length_hours", 25.0)
    refused(shift(machine), "break_hours", -1.0)


def test_a_window_ends_after_its_start_and_is_of_one_machine_of_its_plant(machine):
    begin, end = datetime(2026, 6, 1, 6, tzinfo=UTC), datetime(2026, 6, 1, 8, tzinfo=UTC)
    TimeWindow(plant=machine.plant, machine=machine, kind="overtime", start=begin, end=end).full_clean()
    refused(TimeWindow(plant=machine.plant, kind="overtime", start=begin), "end", begin)
    refused(TimeWindow(plant=machine.plant, start=begin, end=end), "kind", "holiday")
    other = Plant.objects.get()
    other.pk, other.code = None, "P-2"
    other.save()
    with pytest.raises(ValidationError, match="accepted is one of plant P-2"):
        TimeWindow(plant=other, machine=machine, kind="overtime", start=begin, end=end).full_clean()
