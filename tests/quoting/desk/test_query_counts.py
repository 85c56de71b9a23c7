"""Each page of each role asks the database a bounded number of questions, however much there is."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from machines.models import Booking, Machine
from quoting.quotes import kept_figures, models, records, selectors
from quoting.quotes.bookings import monday

# Of a page that was opened before in the process, of an inquiry on which little hangs: session, person, and what it
# shows. A list also asks whether its counts still hold.
FEWEST = {"inquiries": 4, "inquiries?search=cover": 4, "inquiry": 4, "review": 4, "review?search=cover": 4, "work": 4}
MOST = 30  # our choice: at some 1 ms a query a page stays far below what a person notices
OFFICE = ("review", "review?search=cover", "work", "candidates", "loading")
PAGES = {
    "rep": ("inquiries", "inquiries?search=cover", "inquiry-log", "inquiry"),
    "estimator": ("inquiries", "inquiry", *OFFICE),
    "manager": ("inquiry", *OFFICE),
}


def address(page: str, number: str) -> str:
    name, _, query = page.partition("?")
    of_one = name not in ("inquiries", "inquiry-log", "review", "loading")
    return reverse(name, args=[number] if of_one else []) + (f"?{query}" if query else "")


def counted(person: object, pages: tuple[str, ...], number: str) -> dict[str, int]:
    client, counts = Client(), {}
    client.force_login(person)
    for page in pages:
        kept_figures.kept.values.clear()  # all is worked out anew, so that the most is counted
        selectors.counts_kept.values.clear()
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address(page, number)).status_code == 200, page
        counts[page] = len(queries)
    return counts


def grow(inquiry: models.Inquiry, quote: models.Quote, places: range) -> None:
    """So many more inquiries, and of the one that is opened so many more of everything that hangs on it."""
    for place in places:
        models.Inquiry.objects.create(
            number=f"I-2020-{place:04d}", customer=inquiry.customer, typed=inquiry.typed, state=models.ANSWERED,
            created_by=inquiry.created_by, created_at=timezone.now(), decision="quote", answered_at=timezone.now(),
            answered_on=records.today(),
        )  # fmt: skip
        records.audit("override_add", by=inquiry.created_by, inquiry=inquiry, quote=quote, field="part.depth")
        models.OutgoingMail.objects.create(
            key=f"mail {place}", to="lee@carts.example", subject="Quote", inquiry=inquiry, quote=quote, state="failed",
            written_at=timezone.now(), next_try=timezone.now(),
        )  # fmt: skip
        models.CustomerReply.objects.create(quote=quote, kind=models.CHANGE, text=f"{place}", at=timezone.now())
        models.Override.objects.create(
            inquiry=inquiry, field="part.depth", old="8 in", new="7 in", reason="measured", by=inquiry.created_by,
            at=timezone.now(), withdrawn_by=inquiry.created_by, withdrawn_at=timezone.now(),
        )  # fmt: skip
        Booking.objects.create(
            machine=Machine.objects.first(), week=monday(records.today()), hours=1.0, firm=True, label=f"job {place}"
        )


@pytest.mark.parametrize("role", PAGES)
def test_a_page_opened_again_asks_for_what_it_shows_alone(kept, people, role):
    inquiry, client = kept(), Client()
    client.force_login(people[role])
    for page in set(PAGES[role]) & set(FEWEST):
        client.get(address(page, inquiry.number))
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address(page, inquiry.number)).status_code == 200
        assert len(queries) <= FEWEST[page], (page, [one["sql"][:90] for one in queries])


def test_an_inquiry_with_quote_mail_override_and_reply_asks_for_each_once(sent, people):
    quote, _ = sent
    grow(quote.inquiry, quote, range(3))
    for role, page, most in (("rep", "inquiry", 8), ("estimator", "work", 9)):  # the office reads the job too
        counted(people[role], (page,), quote.inquiry.number)
        assert counted(people[role], (page,), quote.inquiry.number)[page] <= most


@pytest.mark.parametrize("role", PAGES)
def test_the_number_of_queries_does_not_grow_with_the_data(sent, people, role):
    quote, _ = sent
    inquiry = models.Inquiry.objects.get()
    grow(inquiry, quote, range(2))
    counted(people[role], PAGES[role], inquiry.number)  # what is asked once for each process
    before = counted(people[role], PAGES[role], inquiry.number)

    grow(inquiry, quote, range(2, 40))

    assert counted(people[role], PAGES[role], inquiry.number) == before
    assert max(before.values()) <= MOST, before


def test_the_administrator_reads_outbox_and_audit_in_few_queries(sent, db, django_user_model):
    quote, _ = sent
    administrator = django_user_model.objects.create_superuser("ada")
    pages = ("admin:quotes_outgoingmail_changelist", "admin:quotes_auditentry_changelist")
    client, counts = Client(), {}
    client.force_login(administrator)
    for places in (range(2), range(2, 40)):
        grow(quote.inquiry, quote, places)
        for page in pages:
            client.get(reverse(page))
            with CaptureQueriesContext(connection) as queries:
                assert client.get(reverse(page)).status_code == 200
            counts.setdefault(page, []).append(len(queries))

    assert all(few == much <= MOST for few, much in counts.values()), counts


def test_a_page_reads_neither_whole_answers_nor_documents(sent, people):
    _, _ = sent
    number = models.Inquiry.objects.get().number
    client = Client()
    for role, pages in {"rep": ("inquiries", "inquiry"), "estimator": ("review", "work")}.items():
        client.force_login(people[role])
        for page in pages:
            with CaptureQueriesContext(connection) as queries:
                client.get(address(page, number))
            read = [one["sql"] for one in queries if '"snapshot"' in one["sql"] or '"pdf"' in one["sql"]]
            assert read == [], page
