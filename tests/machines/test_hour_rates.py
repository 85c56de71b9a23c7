"""Hour rates by date: the newest that has begun goes before the rate of the plant, machine or trimmer itself."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from machines.hour_rates import HourRate, in_force, machine_with_rate, with_rates
from tests.quoting.routing import routing_catalog

PLANT, MACHINE = routing_catalog.plant(), routing_catalog.machine()
FIRST = date(2026, 1, 1)


def rate(kind: str, plant: str, code: str, amount: str, day: date) -> HourRate:
    return HourRate(kind, plant, code, Decimal(amount), day, "test")


def test_before_its_first_day_a_rate_does_not_count_and_the_plants_own_stands():
    now = in_force([rate("labour", PLANT.code, "", "99", date(2026, 12, 1))], date(2026, 11, 30))
    assert with_rates(PLANT, now) == PLANT


def test_on_its_first_day_a_rate_goes_before_the_plants_own():
    now = in_force([rate("labour", PLANT.code, "", "99", date(2026, 12, 1))], date(2026, 12, 1))
    assert with_rates(PLANT, now) == replace(PLANT, labour_rate=Decimal(99))


def test_machine_and_trimmer_are_found_by_plant_and_code():
    trimmer = PLANT.trimmers[0]
    rows = [
        rate("machine", MACHINE.plant, MACHINE.code, "77", FIRST),
        rate("machine", MACHINE.plant, "another", "1", FIRST),
        rate("machine", "another", MACHINE.code, "1", FIRST),
        rate("trimmer", PLANT.code, trimmer.code, "66", FIRST),
    ]
    now = in_force(rows, FIRST)
    assert machine_with_rate(MACHINE, now).hour_rate == Decimal(77)
    assert with_rates(PLANT, now).trimmers[0] == replace(trimmer, hour_rate=Decimal(66))
    assert with_rates(PLANT, now).trimmers[1:] == PLANT.trimmers[1:]


@given(st.dictionaries(st.integers(0, 400), st.integers(1, 999), min_size=1), st.integers(0, 400))
def test_the_newest_rate_that_has_begun_is_in_force_whatever_the_order(amounts, day):
    rows = [rate("labour", "P", "", str(amount), FIRST + timedelta(days=begun)) for begun, amount in amounts.items()]
    expected = [Decimal(amounts[one]) for one in sorted(amounts) if one <= day][-1:]
    found = in_force(rows[::-1], FIRST + timedelta(days=day))
    assert found == in_force(rows, FIRST + timedelta(days=day))
    assert [one.rate for one in found.values()] == expected
