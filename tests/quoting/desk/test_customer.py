"""The customer's private page: one document by its secret, nothing else, and no deed by a mere visit."""

from string import ascii_letters, digits

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from quoting.desk import customer_answer
from quoting.quotes import links, models, selectors, services

from .conftest import NOT_A_FIT


@pytest.fixture
def visit(client, sent):
    quote, token = sent
    client.get(reverse("customer-link", args=[token]))
    return quote


def page(client, quote, name="customer-quote"):
    return client.get(reverse(name, args=[quote.number, quote.revision]))


def test_the_link_swaps_its_secret_for_a_cookie_of_this_page_only(client, sent):
    quote, token = sent

    response = client.get(reverse("customer-link", args=[token]))

    assert response.url == reverse("customer-quote", args=[quote.number, quote.revision])
    cookie = response.cookies["quote_key"]
    assert cookie["path"] == response.url
    assert cookie["httponly"]
    assert token not in response.url


def test_the_customer_sees_prices_validity_contact_and_no_cost(client, visit):
    text = page(client, visit).content.decode()

    assert f"${visit.snapshot['chosen']['cost']['breaks'][0]['landed_unit_price']}" in text
    assert "Valid until" in text
    assert "estimator@desk.example" in text
    assert "margin" not in text
    assert "overhead" not in text


def test_the_customer_sees_weeks_by_stage_and_neither_machine_nor_hours(client, visit):
    text = page(client, visit).content.decode()
    section = text[text.index("When you would have it") : text.index("Ask a question")]

    assert section.count("<svg") == len(visit.snapshot["chosen"]["cost"]["breaks"])
    assert "Forming to packing, as booked" in section
    assert visit.snapshot["chosen"]["judged"]["planned"]["candidate"]["machine"]["code"] not in text
    assert "Waiting for" not in section


def test_the_customer_gets_the_bytes_that_were_issued(client, visit):
    assert page(client, visit, "customer-pdf").content == bytes(visit.pdf)


def test_unknown_withdrawn_and_expired_links_get_one_and_the_same_page(client, sent, people):
    quote, token = sent
    unknown = client.get(reverse("customer-link", args=["x" * 43]))
    services.link_revoke(quote=quote, by=people["estimator"])
    withdrawn = client.get(reverse("customer-link", args=[token]))

    assert unknown.status_code == withdrawn.status_code == 404
    assert unknown.content == withdrawn.content


def test_a_document_with_one_bit_turned_is_given_to_nobody_and_the_log_names_it(client, visit, monkeypatch, caplog):
    damaged = bytearray(visit.pdf)
    damaged[len(damaged) // 2] ^= 1
    found = selectors.quote_by_token

    def from_a_failing_disk(token):
        quote = found(token)
        quote.pdf = bytes(damaged)  # the database itself would refuse to change it
        return quote

    monkeypatch.setattr(selectors, "quote_by_token", from_a_failing_disk)
    client.raise_request_exception = False
    response = page(client, visit, "customer-pdf")
    assert response.status_code == 500
    assert bytes(damaged[:200]) not in response.content
    assert f"the PDF of {visit} is not what was issued" in caplog.text


def test_a_secret_with_any_letter_changed_opens_nothing(client, sent, settings):
    settings.MISSES_A_MINUTE = 10**6
    token = sent[1]
    changed = [
        token[:place] + ("A" if letter != "A" else "B") + token[place + 1 :] for place, letter in enumerate(token)
    ]
    changed += [token[:-1], token[1:], token * 2, token.swapcase(), f"{token}=", sent[0].link_hash]
    for one in changed:
        assert client.get(reverse("customer-link", args=[one])).status_code == 404, one
    assert page(client, sent[0]).status_code == 404
    assert client.get(reverse("customer-link", args=[token])).status_code == 302


def test_a_link_opened_twice_and_from_two_places_is_one_and_the_same_quote(sent):
    quote, token = sent
    for browser in (Client(), Client()):
        for _ in range(2):
            assert browser.get(reverse("customer-link", args=[token])).status_code == 302
        assert page(browser, quote, "customer-pdf").content == bytes(quote.pdf)
    assert not quote.replies.exists()


def test_secrets_have_128_random_bits_at_least_and_never_repeat():
    # OWASP ASVS 5.0 asks for 128 bits; four letters of this alphabet carry 3 bytes
    made = {links.fresh_token() for _ in range(10_000)}
    assert len(made) == 10_000
    assert min(len(one) for one in made) * 6 >= 128
    assert set("".join(made)) == set(ascii_letters + digits + "-_")


def test_withdrawing_ends_an_open_visit_too(client, visit, people):
    services.link_revoke(quote=visit, by=people["estimator"])

    assert page(client, visit).status_code == 404
    assert page(client, visit, "customer-pdf").status_code == 404


def test_without_the_cookie_the_address_opens_nothing(client, sent):
    assert page(client, sent[0]).status_code == 404


def test_visiting_changes_nothing(client, visit):
    before = models.AuditEntry.objects.count()
    page(client, visit)
    page(client, visit, "customer-accept")

    assert models.AuditEntry.objects.count() == before
    assert not models.CustomerReply.objects.exists()


def test_accepting_names_a_release_and_is_kept_once(client, visit):
    release = visit.snapshot["chosen"]["cost"]["breaks"][1]["quantity"]
    address = reverse("customer-accept", args=[visit.number, visit.revision])

    assert client.post(address, {}).status_code == 422
    client.post(address, {"release": release})
    client.post(address, {"release": release})

    assert models.CustomerReply.objects.get().release == release
    assert "Accepted" in page(client, visit).content.decode()


def test_a_change_is_asked_for_in_own_words(client, visit):
    client.post(reverse("customer-change", args=[visit.number, visit.revision]), {"text": "150 <b>too</b>, please"})

    text = page(client, visit).content.decode()
    assert models.CustomerReply.objects.get().kind == models.CHANGE
    assert "150 &lt;b&gt;too" in text


def test_the_staff_see_what_the_customer_answered(client, visit, people):
    client.post(reverse("customer-change", args=[visit.number, visit.revision]), {"text": "150 too, please"})
    client.force_login(people["rep"])

    text = client.get(reverse("inquiry", args=[visit.inquiry.number])).content.decode()
    assert "asked for a change" in text
    assert "150 too, please" in text


def test_a_letter_opens_by_its_link_and_offers_nothing_to_accept(client, kept, people):
    letter = services.inquiry_decline(inquiry=kept(NOT_A_FIT), by=people["estimator"])
    token = services.quote_send(quote=letter, by=people["estimator"])

    response = client.get(reverse("customer-link", args=[token]), follow=True)

    text = response.content.decode()
    assert response.status_code == 200
    assert "What stands in the way" in text
    assert "Accept" not in text


def test_the_pages_are_not_cached(client, visit):
    assert "no-store" in page(client, visit)["Cache-Control"]


def test_the_administrator_withdraws_a_link_without_seeing_the_inquiry(client, sent):
    quote, token = sent
    client.force_login(get_user_model().objects.create_superuser("ada"))
    chosen = {"action": "withdraw", "_selected_action": [quote.pk]}

    page = client.post(reverse("admin:quotes_quote_changelist"), chosen, follow=True).content.decode()

    assert "Withdrawn: 1" in page
    assert quote.snapshot["chosen"]["cost"]["breaks"][0]["landed_unit_price"] not in page
    assert client.get(reverse("inquiry", args=[quote.inquiry.number])).status_code == 403
    assert Client().get(reverse("customer-link", args=[token])).status_code == 404


def test_the_whole_answer_and_the_bytes_are_read_once_and_not_for_each_page(client, visit):
    customer_answer._taken.cache_clear()
    read = []
    for name in ("customer-quote", "customer-accept", "customer-decline", "customer-quote"):
        with CaptureQueriesContext(connection) as queries:
            assert page(client, visit, name).status_code == 200
        read.append(sum('"snapshot"' in one["sql"] or '"pdf"' in one["sql"] for one in queries))

    assert read == [1, 0, 0, 0]


def test_what_is_remembered_of_one_document_is_not_shown_for_another(client, visit):
    shown = customer_answer.customer_answer(visit)
    assert (
        shown.answer["breaks"][0]["landed_unit_price"]
        == (visit.snapshot["chosen"]["cost"]["breaks"][0]["landed_unit_price"])
    )
    with pytest.raises(models.Quote.DoesNotExist):
        customer_answer._taken(visit.pk, "another digest")
