"""A rate table from before gets the rates that came later, and keeps its own."""

from datetime import date
from importlib import import_module

import pytest
from django.apps import apps

from quoting.intake.rates_file import TOOL_ROOM_KEYS
from quoting.intake.reading_result import InputErrors
from quoting.quotes import models, selectors, services

added = import_module("quoting.quotes.migrations.0006_rates_that_were_added")
later = import_module("quoting.quotes.migrations.0007_rates_of_margin_and_advice")
coats = import_module("quoting.quotes.migrations.0015_rates_of_coats")
transit = import_module("quoting.quotes.migrations.0017_rates_of_transit")
planning = import_module("quoting.quotes.migrations.0020_rates_of_planning")
tool_rooms = import_module("quoting.quotes.migrations.0019_rates_of_tool_rooms")

pytestmark = pytest.mark.django_db


def test_missing_rows_are_added_and_the_houses_own_are_left():
    services.catalog_ensure()
    models.RateRow.objects.filter(key__startswith="tool_work.").delete()
    models.RateRow.objects.filter(key="tooling.pressure_tool.price").update(value="41000.00")

    added.add(apps, None)

    assert models.RateRow.objects.get(key="tool_work.slide_price").valid_from == date(2026, 1, 1)
    assert models.RateRow.objects.get(key="tooling.pressure_tool.price").value == "41000.00"


def test_margin_by_risk_and_advice_come_to_a_table_that_has_none_of_them():
    services.catalog_ensure()
    models.RateRow.objects.filter(key__startswith="margin.").delete()
    models.RateRow.objects.filter(key="advice.stock_carrying").update(value="18 %")

    later.add(apps, None)

    assert models.RateRow.objects.get(key="margin.most").value == "20 %"
    assert models.RateRow.objects.get(key="advice.stock_carrying").value == "18 %"
    assert models.RateRow.objects.filter(key="price.margin").count() == 1


def test_coats_come_by_area_and_the_shipped_standards_give_way_to_handling_alone():
    services.catalog_ensure()
    models.RateRow.objects.filter(key__startswith="coating.").delete()
    models.RateRow.objects.filter(valid_from=date(2026, 1, 2)).delete()
    models.RateRow.objects.filter(key="operations.emi_coat.seconds").update(value="200 s")

    coats.add(apps, None)

    assert models.RateRow.objects.get(key="coating.paint.transfer").value == "65 %"
    paint = models.RateRow.objects.filter(key="operations.paint.seconds").order_by("valid_from")
    assert [row.value for row in paint] == ["240 s", "45 s"]
    assert models.RateRow.objects.get(key="operations.emi_coat.seconds").value == "200 s"


def test_transit_comes_whole_to_a_table_without_it_and_a_table_with_one_of_its_own_is_left():
    services.catalog_ensure()
    models.RateRow.objects.filter(key__startswith="transit.").delete()

    transit.add(apps, None)

    assert models.RateRow.objects.filter(key__startswith="transit.").count() == 3
    models.RateRow.objects.filter(key="transit.ltl_per_day").delete()
    transit.add(apps, None)
    assert models.RateRow.objects.filter(key__startswith="transit.").count() == 2


def test_rates_of_planning_come_section_by_section_to_a_table_that_has_none_of_it():
    services.catalog_ensure()
    models.RateRow.objects.filter(key__startswith="winning.").delete()
    models.RateRow.objects.filter(key="overtime.hours").delete()

    planning.add(apps, None)

    assert models.RateRow.objects.filter(key__startswith="winning.").count() == 6
    assert not models.RateRow.objects.filter(key="overtime.hours").exists()  # overtime.premium is the house's own


def test_hours_in_the_tool_room_come_whole_and_without_them_no_tool_takes_any():
    services.catalog_ensure()
    models.RateRow.objects.filter(key__startswith="tool_room.").delete()
    assert selectors.rates(date(2026, 11, 25)).tool_room is None

    tool_rooms.add(apps, None)

    assert models.RateRow.objects.filter(key__startswith="tool_room.").count() == len(TOOL_ROOM_KEYS)
    assert selectors.rates(date(2026, 11, 25)).tool_room.moving_section == 10.0
    models.RateRow.objects.filter(key="tool_room.plug.fitting").delete()
    with pytest.raises(InputErrors, match="tool_room.plug.fitting"):
        selectors.rates(date(2026, 11, 25))


@pytest.mark.parametrize("which", [added, later, coats, transit, tool_rooms, planning])
def test_an_empty_table_stays_empty(which):
    which.add(apps, None)

    assert not models.RateRow.objects.exists()
