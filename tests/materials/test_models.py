"""The tables refuse what is no material, in Python and in the database."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from materials.models import (
    OPTIONAL_PROPERTIES,
    PROPERTIES,
    PROPERTY_RANGES,
    Polymer,
    PolymerNeed,
    PolymerProperty,
    PriceTier,
    SheetOffer,
)
from materials.sheet import INCH


@pytest.fixture
def polymer(db):
    return Polymer.objects.create(name="ABS")


def offer(polymer, **changed):
    columns = {
        "name": "ABS stock", "colour": "stock", "thinnest_gauge": 0.06 * INCH, "thickest_gauge": 0.5 * INCH,
        "widest": 1.5, "longest": 3.0, "minimum_order": 100.0, "colour_charge": "0", "regrind_value_per_pound": "0.25",
        "gauge_tolerance": 0.05, "lead_time_weeks": 3.0, "valid_from": date(2026, 1, 1),
    }  # fmt: skip
    return SheetOffer(polymer=polymer, **columns | changed)


def test_every_property_of_a_polymer_has_a_range():
    assert set(PROPERTY_RANGES) == {*PROPERTIES, *OPTIONAL_PROPERTIES}
    assert len(PROPERTIES) == 19


@pytest.mark.parametrize("name", [*PROPERTIES, *OPTIONAL_PROPERTIES])
def test_a_property_outside_its_range_is_refused_by_form_and_database(polymer, name):
    lowest, highest = PROPERTY_RANGES[name]
    for value in (lowest - 1, highest * 1.01 + 1, float("inf")):
        row = PolymerProperty(polymer=polymer, name=name, value=value, source="test")
        with pytest.raises(ValidationError, match=name):
            row.full_clean()
        with pytest.raises(IntegrityError), transaction.atomic():
            row.save()
    for value in (lowest, highest):
        PolymerProperty(polymer=polymer, name=name, value=value, source="test").full_clean()


def test_not_a_number_is_refused_by_the_database(polymer):
    with pytest.raises(IntegrityError), transaction.atomic():
        PolymerProperty(polymer=polymer, name="density", value=float("nan"), source="test").save()


def test_a_property_stands_once_and_has_a_source(polymer):
    PolymerProperty.objects.create(polymer=polymer, name="density", value=1050, source="data sheet")
    with pytest.raises(IntegrityError), transaction.atomic():
        PolymerProperty.objects.create(polymer=polymer, name="density", value=1060, source="data sheet")
    with pytest.raises(ValidationError, match="source"):
        PolymerProperty(polymer=polymer, name="emissivity", value=0.9, source="").full_clean()


@pytest.mark.parametrize(
    "wrong",
    [
        {"thickest_gauge": 0.001},  # below the thinnest
        {"valid_to": date(2025, 12, 31)},  # before the first day
        {"colour": "plaid"},
        {"minimum_order": -1.0},
        {"colour_charge": "-5"},
        {"gauge_tolerance": 0.9},
    ],
)
def test_a_wrong_offer_is_refused_by_form_and_database(polymer, wrong):
    with pytest.raises(ValidationError):
        offer(polymer, **wrong).full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        offer(polymer, **wrong).save()


def test_an_offer_becomes_a_value_with_its_tiers_from_the_smallest_mass_up(polymer):
    row = offer(polymer)
    row.save()
    for mass, price in ((900.0, "2.10"), (0.0, "2.5500")):
        PriceTier.objects.create(offer=row, from_mass=mass, price_per_pound=price)

    value = SheetOffer.objects.get().to_domain()

    assert [(tier.from_mass, str(tier.price_per_pound)) for tier in value.tiers] == [(0.0, "2.55"), (900.0, "2.10")]
    assert value.polymer == "ABS"
    assert value.thinnest_gauge == 0.06 * INCH  # bit for bit


def test_an_unknown_need_is_refused(polymer):
    with pytest.raises(IntegrityError), transaction.atomic():
        PolymerNeed.objects.create(polymer=polymer, need="magnetic")
