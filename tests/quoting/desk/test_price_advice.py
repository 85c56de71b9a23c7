"""Advice on the price by role: all of it for the house, prices for the rep, a curve for the customer."""

from html import unescape
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from quoting.documents.price_shown import ROUNDING

from .conftest import NOT_A_FIT

TOLD = (
    "Release size, cheapest in a year", "Target price", "Margin by risk", "If resin moves",
    "The same part at every plant", "From each plant to the customer", "A full pallet, to scale", ROUNDING,
    "Freight opened: formula, fuel and rates with their day",
)  # fmt: skip
FOR_THE_HOUSE = ("Margin by risk", "If resin moves", "The same part at every plant", "waterfall")


def page(client, name, inquiry) -> str:
    return unescape(client.get(reverse(name, args=[inquiry.number])).content.decode())


@pytest.mark.parametrize("role", ["estimator", "manager"])
def test_estimator_and_manager_see_all_of_the_advice(client, people, kept, role):
    client.force_login(people[role])
    shown = page(client, "work", kept())
    assert [text for text in TOLD if text not in shown] == []
    assert shown.count("From cost lines to the landed price") >= 3  # one for each release
    assert "US weekly average" in shown or "rate freight.diesel_per_gallon, valid from" in shown


def test_the_rep_sees_prices_by_size_and_the_target_but_nothing_of_cost(client, people, kept):
    client.force_login(people["rep"])
    shown = page(client, "inquiry", kept())
    assert "Release size, cheapest in a year" in shown
    assert "The target of $58.00 is met" in shown
    assert [text for text in FOR_THE_HOUSE if text in shown] == []


def test_an_answer_from_before_shows_its_costs_without_advice(client, people, kept):
    client.force_login(people["estimator"])
    inquiry = kept()
    inquiry.snapshot = {key: one for key, one in inquiry.snapshot.items() if key != "advice"}
    inquiry.save()
    shown = page(client, "work", inquiry)
    assert "Cost lines, $ per part by release" in shown
    assert [text for text in FOR_THE_HOUSE if text in shown] == []


def test_a_refused_part_shows_no_advice(client, people, kept):
    client.force_login(people["estimator"])
    assert "Margin by risk" not in page(client, "work", kept(NOT_A_FIT))


def test_the_customer_gets_the_curve_and_no_line_of_cost(sent):
    quote, _ = sent
    advice = quote.snapshot["advice"]
    assert advice["target"]["met"]
    printed = " ".join(" ".join(one.extract_text() for one in PdfReader(BytesIO(quote.pdf)).pages).split())
    assert "The target of $58.00 is met" in printed
    assert "cheapest in a year" in printed
    assert "subject to contract" in printed
    assert not [word for word in ("margin", "overhead", "regrind credit", "waterfall") if word in printed.lower()]
