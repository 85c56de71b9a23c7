"""What the files say is what the tables give back, in a fixed number of queries."""

import json
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command

from machines.models import Booking, HourRate, Machine, Plant
from materials.models import Polymer, PolymerProperty, SheetOffer
from quoting.intake.catalog_file import read_materials, read_plants, read_rates
from quoting.quotes import selectors, services, stock
from quoting.quotes.answers import catalog_digest
from quoting.quotes.models import RateRow
from tests.quoting.quotes.conftest import make_machine

ON = date(2026, 11, 25)


@pytest.fixture
def loaded(db):
    assert services.catalog_ensure()
    return selectors.catalog(ON)


def parsed(path):
    return json.loads(path.read_text(encoding="utf-8"))


def test_the_tables_give_back_what_the_files_said(loaded):
    plants, machines = read_plants(parsed(stock.DEMO / "plants.json"))
    polymers, offers = read_materials(parsed(stock.DEMO / "materials.json"))
    assert loaded.plants == plants
    assert loaded.machines == machines
    assert loaded.polymers == polymers
    assert loaded.offers == tuple(
        offer for offer in offers if offer.valid_from <= ON and (offer.valid_to is None or offer.valid_to >= ON)
    )
    assert loaded.rates == read_rates(parsed(stock.REFERENCE / "rates.json"), ON)


def test_the_catalog_takes_nineteen_queries_however_much_there_is(loaded, django_assert_num_queries):
    with django_assert_num_queries(19):
        selectors.catalog(ON)
    make_machine()
    Booking.objects.create(machine=Machine.objects.first(), week=date(2026, 11, 30), hours=5, firm=True)
    with django_assert_num_queries(19):
        assert len(selectors.catalog(ON).machines) == len(loaded.machines) + 1


def test_loading_a_second_time_changes_nothing(loaded):
    assert not services.catalog_ensure()
    call_command("load_catalog")
    assert selectors.catalog(ON) == loaded


def test_the_newest_rate_that_has_begun_is_in_force(loaded):
    RateRow.objects.create(key="price.margin", value="30 %", valid_from=date(2026, 11, 25), source="test")
    RateRow.objects.create(key="price.margin", value="99 %", valid_from=date(2026, 11, 26), source="test")
    assert str(selectors.rates(ON).price.margin) in ("0.3", "0.30")


def test_an_offer_counts_on_its_first_and_last_day_only(loaded):
    offer = SheetOffer.objects.first()
    SheetOffer.objects.filter(pk=offer.pk).update(valid_from=ON, valid_to=ON)
    day = {"before": date(2026, 11, 24), "on": ON, "after": date(2026, 11, 26)}
    found = {when: offer.name in {one.name for one in selectors.catalog(on).offers} for when, on in day.items()}
    assert found == {"before": False, "on": True, "after": False}


def test_an_incomplete_polymer_a_machine_without_stations_and_an_offer_without_price_are_not_used(loaded):
    PolymerProperty.objects.filter(polymer=Polymer.objects.get(name=loaded.polymers[0].name)).first().delete()
    Machine.objects.get(code=loaded.machines[0].code).stations.all().delete()
    SheetOffer.objects.get(name=loaded.offers[0].name).tiers.all().delete()

    now = selectors.catalog(ON)

    assert now.polymers == loaded.polymers[1:]
    assert now.machines == loaded.machines[1:]
    assert now.offers == loaded.offers[1:]


def test_bookings_of_past_weeks_are_left_out(loaded):
    machine = Machine.objects.first()
    for week in (date(2026, 11, 16), date(2026, 11, 23)):
        Booking.objects.create(machine=machine, week=week, hours=5, firm=True)
    assert [one.week for one in selectors.catalog(ON).workload] == [date(2026, 11, 23)]


def test_a_bad_file_loads_nothing(db):
    rates = parsed(stock.REFERENCE / "rates.json")
    plants = parsed(stock.DEMO / "plants.json")
    materials = parsed(stock.DEMO / "materials.json")
    materials["offers"][0]["polymer"] = "unobtainium"
    with pytest.raises(ValueError, match="unobtainium"):
        services.catalog_load(plants=plants, materials=materials, rates=rates, on=ON)
    assert not selectors.has_catalog()


def test_changed_catalog_data_has_another_digest_but_quoted_work_has_not(loaded):
    from quoting.quotes.answers import catalog_digest

    machine = Machine.objects.first()
    Booking.objects.create(machine=machine, week=date(2026, 11, 30), hours=5, firm=False)
    assert catalog_digest(selectors.catalog(ON)) == catalog_digest(loaded)
    Booking.objects.create(machine=machine, week=date(2026, 11, 30), hours=5, firm=True)
    assert catalog_digest(selectors.catalog(ON)) != catalog_digest(loaded)
    assert catalog_digest(replace(loaded, polymers=loaded.polymers[1:])) != catalog_digest(loaded)


def test_the_catalog_of_a_day_holds_the_hour_rates_of_that_day(loaded):
    plant, machine = Plant.objects.get(code="ALDER"), Machine.objects.get(code="ALDER-S2")
    begins = ON + timedelta(days=10)
    HourRate.objects.create(plant=plant, kind="labour", rate="39.50", valid_from=begins, source="test")
    HourRate.objects.create(plant=plant, kind="machine", code=machine.code, rate="80", valid_from=begins, source="test")

    before, after = selectors.catalog(begins - timedelta(days=1)), selectors.catalog(begins)

    assert before.plants == loaded.plants
    assert {one.code: str(one.labour_rate) for one in after.plants}["ALDER"] == "39.50"
    assert {one.code: str(one.hour_rate) for one in after.machines}["ALDER-S2"] == "80.00"
    # An answer from before is found out of date by this digest alone.
    assert catalog_digest(replace(before, workload=())) == catalog_digest(replace(loaded, workload=()))
    assert catalog_digest(after) != catalog_digest(loaded)


@pytest.mark.parametrize(("kind", "code"), [("labour", "ALDER-S2"), ("machine", ""), ("trimmer", "ALDER-S2")])
def test_an_hour_rate_of_nothing_is_refused(loaded, kind, code):
    row = HourRate(plant=Plant.objects.get(code="ALDER"), kind=kind, code=code, rate="1", valid_from=ON, source="test")
    with pytest.raises(ValidationError, match="accepted is"):
        row.full_clean()


@pytest.mark.parametrize(
    ("first", "last"), [(date(2026, 1, 2), None), (date(2025, 1, 1), ON), (date(2027, 1, 1), None)]
)
def test_two_prices_of_one_sheet_on_the_same_day_are_refused(loaded, first, last):
    offer = SheetOffer.objects.filter(valid_to=None).first()
    offer.pk, offer.valid_from, offer.valid_to = None, first, last
    with pytest.raises(ValidationError, match="already"):
        offer.full_clean()
