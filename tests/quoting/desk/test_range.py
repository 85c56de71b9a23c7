"""The range of error on the estimator's page, and on nobody else's."""

from html import unescape
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from .conftest import INCOMPLETE, NOT_A_FIT

TELLTALE = ("Range of error", "share of the variance", "seed 2026", "Margin left")


def seen(client, person, name, inquiry) -> str:
    client.force_login(person)
    return unescape(client.get(reverse(name, args=[inquiry.number])).content.decode())


@pytest.fixture
def page(client, people, kept):
    inquiry = kept()
    return seen(client, people["estimator"], "work", inquiry), inquiry.snapshot["range"]


def test_the_estimator_sees_a_strip_with_its_words_and_a_table_of_every_release(page):
    text, found = page
    assert text.count("<title>Range of the landed unit price</title>") == 1
    assert len(found["releases"]) == 3
    for one in found["releases"]:
        for band in (one["landed"], one["cost"]):
            for amount in band.values():
                assert f">{amount}<" in text or f"<strong>{amount}</strong>" in text
    assert 'href="#range"' in text


def test_each_release_names_three_inputs_and_opens_to_all_with_their_sources(page):
    text, found = page
    for given in found["inputs"]:
        assert text.count(f">{given['label'].capitalize()}</th>") == len(found["releases"])
        assert given["source"] in text
    assert text.count("(swing $") == 3 * len(found["releases"])


def test_what_is_left_out_is_said(page):
    text, found = page
    for neglected in found["neglected"]:
        assert neglected[1:] in text


@pytest.mark.parametrize("before", [{}, {"range": None}])
def test_an_answer_without_a_range_says_so(client, people, kept, before):
    inquiry = kept()
    inquiry.snapshot = {key: one for key, one in inquiry.snapshot.items() if key != "range"} | before
    inquiry.save()
    text = seen(client, people["estimator"], "work", inquiry)
    assert "This answer holds no range" in text
    assert "<title>Range of the landed unit price</title>" not in text


@pytest.mark.parametrize("name", [NOT_A_FIT, INCOMPLETE])
def test_without_a_quote_there_is_no_range(client, people, kept, name):
    text = seen(client, people["estimator"], "work", kept(name))
    assert not any(word in text for word in TELLTALE)


@pytest.mark.parametrize("who", ["rep", "estimator"])
def test_the_page_of_the_inquiry_shows_no_range_to_anybody(client, people, kept, who):
    inquiry = kept()
    text = seen(client, people[who], "inquiry", inquiry)
    assert not any(word in text for word in TELLTALE)
    lows = {one[key]["low"] for one in inquiry.snapshot["range"]["releases"] for key in ("landed", "cost")}
    assert not any(low in text for low in lows)


def test_the_customer_sees_no_range_on_the_page_or_in_the_pdf(client, sent):
    quote, token = sent
    client.get(reverse("customer-link", args=[token]))
    text = client.get(reverse("customer-quote", args=[quote.number, quote.revision])).content.decode()
    printed = " ".join(sheet.extract_text() for sheet in PdfReader(BytesIO(bytes(quote.pdf))).pages)
    lows = {one[key]["low"] for one in quote.snapshot["range"]["releases"] for key in ("landed", "cost")}
    for told in (text, printed):
        assert not any(word in told for word in TELLTALE)
        assert not any(low in told for low in lows)
