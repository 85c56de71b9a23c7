"""What is issued or recorded cannot be changed: not by the models, not by a query, not by plain SQL."""

from datetime import date

import pytest
from django.db import DatabaseError, connection, transaction

from quoting.quotes import services
from quoting.quotes.models import AuditEntry, CustomerReply, FrozenError, Quote
from tests.quoting.quotes.conftest import approved, sent

CHANGES = {
    "number": "Q-1999-0001", "revision": 9, "kind": "letter", "snapshot": {"decision": "forged"}, "digest": "0" * 64,
    "pdf": b"%PDF forged", "pdf_digest": "0" * 64, "valid_until": date(2030, 1, 1),
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_a_frozen_field_cannot_be_saved(office, name):
    quote = approved(office)
    setattr(quote, name, CHANGES[name])
    with pytest.raises(FrozenError, match=name):
        quote.save()
    with pytest.raises(FrozenError, match=name):
        quote.save(update_fields=[name])


@pytest.mark.parametrize("name", CHANGES)
def test_a_frozen_field_cannot_be_updated_by_a_query(office, name):
    quote = approved(office)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        Quote.objects.filter(pk=quote.pk).update(**{name: CHANGES[name]})
    assert Quote.objects.get().is_intact()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE quotes_quote SET digest = 'forged'",
        "UPDATE quotes_quote SET snapshot = '{}'",
        "UPDATE quotes_quote SET revision = revision + 1",
        "DELETE FROM quotes_quote",
        "UPDATE quotes_auditentry SET action = 'nothing'",
        "UPDATE quotes_auditentry SET by_id = NULL",
        "DELETE FROM quotes_auditentry",
        "UPDATE quotes_customerreply SET release = 1",
        "DELETE FROM quotes_customerreply",
    ],
)
def test_plain_sql_is_refused_by_the_database(office, statement):
    _, token = sent(office)
    services.customer_reply(token=token, kind="accepted", release=100)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


def test_an_issued_quote_cannot_be_deleted_by_model_or_query(office):
    quote = approved(office)
    with pytest.raises(FrozenError):
        quote.delete()
    with pytest.raises(DatabaseError), transaction.atomic():
        AuditEntry.objects.all().delete()
    assert Quote.objects.filter(pk=quote.pk).exists()


def test_a_record_cannot_be_saved_again_or_deleted(office):
    _, token = sent(office)
    reply = services.customer_reply(token=token, kind="change", text="wider")
    for row in (reply, AuditEntry.objects.first()):
        with pytest.raises(FrozenError):
            row.save()
        with pytest.raises(FrozenError):
            row.delete()
    assert CustomerReply.objects.get().text == "wider"


def test_the_link_of_an_issued_quote_can_change(office):
    quote = approved(office)
    services.quote_send(quote=quote, by=office.rep)
    services.link_revoke(quote=quote, by=office.rep)
    assert Quote.objects.get().link_revoked_at is not None


def test_a_number_and_revision_can_exist_once(office):
    quote = approved(office)
    quote.pk = None
    quote.link_hash = None
    with pytest.raises(DatabaseError), transaction.atomic():
        quote.save(force_insert=True)


def test_a_forged_snapshot_would_be_noticed(office):
    quote = approved(office)
    assert quote.is_intact()
    quote.snapshot = {**quote.snapshot, "decision": "not_a_fit"}
    assert not quote.is_intact()
