"""From a typed inquiry to an issued PDF with the real core, the real renderer and the demo catalog."""

import json
from datetime import date

import pytest

from quoting.contract import digest
from quoting.quotes import services, stock
from quoting.quotes.models import Inquiry, Quote, RateRow
from quoting.quotes.reviewing import KEYS

ON = date(2026, 11, 25)


@pytest.fixture
def inquiry(people):
    services.catalog_ensure()
    typed = json.loads((stock.DEMO / "inquiries" / "01-equipment-cover.json").read_text(encoding="utf-8"))
    logged = services.inquiry_log(typed=typed, by=people.rep)
    return services.inquiry_answer(inquiry=logged, on=ON, by=people.rep)


def test_what_was_answered_is_what_is_issued_and_what_comes_back_from_the_database(inquiry, people):
    assert inquiry.state == "answered"
    assert digest(Inquiry.objects.get().snapshot) == inquiry.data_digest

    services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=people.estimator, on=ON)

    quote = Quote.objects.get()
    assert quote.is_intact()
    assert quote.snapshot == inquiry.snapshot
    assert bytes(quote.pdf).startswith(b"%PDF")
    assert quote.digest == inquiry.data_digest


def test_answering_again_on_the_same_data_gives_the_same_digest(inquiry, people):
    again = services.inquiry_answer(inquiry=inquiry, on=ON, by=people.estimator)
    assert (again.data_digest, again.catalog_digest) == (inquiry.data_digest, inquiry.catalog_digest)


def test_a_dearer_rate_stops_the_approval_of_an_old_answer(inquiry, people):
    RateRow.objects.create(key="price.overhead", value="40 %", valid_from=ON, source="test")
    with pytest.raises(services.ConflictError, match="answer it again"):
        services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=people.estimator, on=ON)
    fresh = services.inquiry_answer(inquiry=inquiry, on=ON, by=people.estimator)
    assert fresh.data_digest != inquiry.data_digest
    assert services.quote_approve(inquiry=fresh, confirmed=KEYS, by=people.estimator, on=ON).revision == 1


def test_an_override_reaches_the_price(inquiry, people):
    changed = services.override_add(
        inquiry=inquiry, field="part.holes", value="60", reason="drawing rev D", by=people.estimator, on=ON
    )

    def landed(one):
        return [float(one["landed_unit_price"]) for one in one.snapshot["chosen"]["cost"]["breaks"]]

    assert all(after > before for before, after in zip(landed(inquiry), landed(changed), strict=True))
