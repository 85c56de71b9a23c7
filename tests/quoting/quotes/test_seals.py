"""A chain of digests over the record of deeds: whoever has the owner's rights can change a row, but not unseen."""

import json
import random
import struct
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from io import StringIO
from threading import Event, Thread

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from quoting.quotes import sealing, workers
from quoting.quotes.models import AuditEntry, AuditSeal, FrozenError
from quoting.quotes.plain_rows import plain, row_text
from quoting.quotes.records import audit
from quoting.quotes.seals_verifying import seals_checked
from tests.quoting.quotes.test_races import on_postgresql


def written(count: int) -> list[int]:
    return [audit("catalog_load", by=None, place=place, share=place / 8).pk for place in range(count)]


def as_owner(*statements: str) -> None:
    """What somebody with the rights of the tables' owner can do: take the triggers away, then change what they like."""
    with connection.cursor() as cursor:
        for table in ("quotes_auditentry", "quotes_auditseal"):
            for event in ("update", "delete"):
                there = "" if connection.vendor == "sqlite" else f" ON {table}"
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{event}{there}")
        for statement in statements:
            cursor.execute(statement)


def verify(*more: str) -> str:
    told = StringIO()
    call_command("audit", "verify", *more, stdout=told)
    return told.getvalue()


@pytest.fixture
def sealed(db, monkeypatch):
    """Twelve entries under three seals, and their keys."""
    monkeypatch.setattr(sealing, "MOST_ROWS", 4)
    keys = written(12)
    assert sealing.seals_make() == 12
    return keys


def test_each_seal_holds_its_range_and_the_digest_of_the_one_before(sealed):
    seals = list(AuditSeal.objects.all())

    assert [(one.number, one.first, one.last, one.count) for one in seals] == [
        (1, sealed[0], sealed[3], 4), (2, sealed[4], sealed[7], 4), (3, sealed[8], sealed[11], 4)
    ]  # fmt: skip
    assert [one.before for one in seals] == ["", seals[0].digest, seals[1].digest]
    assert sealing.seals_make() == 0
    assert AuditSeal.objects.count() == 3


def test_the_digest_comes_out_again_from_the_rows_by_other_code(sealed):
    # hashlib and json of the standard library, written anew from what is said to be covered
    seal = AuditSeal.objects.get(number=2)
    lines = b""
    for one in AuditEntry.objects.filter(pk__gte=seal.first, pk__lte=seal.last).order_by("pk"):
        detail = {name: int(value) if value == int(value) else value for name, value in one.detail.items()}
        row = [one.pk, one.at.astimezone(UTC).isoformat(timespec="microseconds"), None, one.action, None, None, detail]
        lines += json.dumps(row, sort_keys=True, separators=(",", ":")).encode() + b"\n"
    at = seal.at.astimezone(UTC).isoformat(timespec="microseconds")
    told = [1, 2, seal.before, seal.first, seal.last, 4, at, sha256(lines).hexdigest()]

    assert sha256(json.dumps(told, separators=(",", ":")).encode()).hexdigest() == seal.digest


def test_a_whole_record_is_told_with_the_last_digest_and_what_is_not_sealed(sealed):
    written(2)

    told = verify()

    assert AuditSeal.objects.get(number=3).digest in told
    assert f"2 entries are not sealed yet, from entry {sealed[-1] + 1}" in told
    assert "12 entries under 3 seals checked; all are as they were sealed." in told


CHANGES = {
    "altered": "UPDATE quotes_auditentry SET action = 'nothing' WHERE id = {key}",
    "removed": "DELETE FROM quotes_auditentry WHERE id = {key}",
}
CHANGED_COLUMN = "UPDATE quotes_auditentry SET {column} = {value} WHERE id = {key}"
COLUMNS = {
    "at": "'2020-01-01 00:00:00+00'", "by_id": "(SELECT id FROM auth_user)", "detail": "'{\"place\": 7}'",
}  # fmt: skip


@pytest.mark.parametrize("what", CHANGES)
@pytest.mark.parametrize("place", range(12))
def test_whichever_entry_is_altered_or_removed_is_named(sealed, what, place):
    as_owner(CHANGES[what].format(key=sealed[place]))

    found = seals_checked()

    assert found.faults == [f"entry {sealed[place]} was {what} since seal {place // 4 + 1} was made"]
    with pytest.raises(CommandError, match="is not what was sealed"):
        verify()


@pytest.mark.parametrize("column", COLUMNS)
def test_every_column_is_covered(sealed, column, django_user_model):
    django_user_model.objects.create(username="somebody")
    as_owner(CHANGED_COLUMN.format(column=column, value=COLUMNS[column], key=sealed[5]))

    assert seals_checked().faults == [f"entry {sealed[5]} was altered since seal 2 was made"]


@pytest.mark.parametrize("place", [0, 5, 11])
def test_an_entry_put_among_sealed_ones_is_named(sealed, place):
    key = sealed[place]
    as_owner(CHANGES["removed"].format(key=key), "DELETE FROM quotes_auditseal")
    assert sealing.seals_make() == 11

    AuditEntry(pk=key, at=datetime(2026, 1, 1, tzinfo=UTC), action="quote_won").save_base(force_insert=True)

    # the last one lies above every seal and so is only not sealed yet
    seal = {0: 1, 5: 2}.get(place)
    assert seals_checked().faults == ([f"entry {key} was added since seal {seal} was made"] if seal else [])
    assert seals_checked().state.unsealed == (0 if seal else 1)


def test_the_first_of_several_breaks_is_told_first_and_the_list_ends(sealed):
    as_owner(CHANGES["removed"].format(key=sealed[3]), *(CHANGES["altered"].format(key=sealed[one]) for one in (9, 1)))
    assert [one.partition(" since")[0] for one in seals_checked().faults] == [
        f"entry {sealed[1]} was altered", f"entry {sealed[3]} was removed", f"entry {sealed[9]} was altered",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE quotes_auditseal SET digest = '0' WHERE number = 2", "seal 2 itself"),
        ("UPDATE quotes_auditseal SET count = 5 WHERE number = 2", "seal 2 itself"),
        ("UPDATE quotes_auditseal SET first = first - 1 WHERE number = 2", "seal 2 itself"),
        ("UPDATE quotes_auditseal SET at = '2020-01-01 00:00:00+00' WHERE number = 2", "seal 2 itself"),
        ("UPDATE quotes_auditseal SET before = '0' WHERE number = 3", "seal 3 does not stand upon"),
        ("UPDATE quotes_auditseal SET last = last + 1 WHERE number = 1", "was added since seal 1"),
        ("DELETE FROM quotes_auditseal WHERE number = 1", "seal 1 is missing; 4 entries"),
        ("DELETE FROM quotes_auditseal WHERE number = 2", "seal 2 is missing; 4 entries"),
        ("DELETE FROM quotes_auditseal WHERE number < 3", "seals 1 to 2 are missing; 8 entries"),
    ],
)
def test_a_seal_that_was_changed_or_removed_is_told(sealed, statement, told):
    as_owner(statement)
    assert told in seals_checked().faults[0]


def test_marks_that_were_made_anew_do_not_hide_a_change(sealed):
    """Somebody alters an entry and its mark with it: the digest still does not come out."""
    as_owner(CHANGES["altered"].format(key=sealed[5]))
    seal = AuditSeal.objects.get(number=2)
    body = sealing.Body()
    for row in (
        AuditEntry.objects.filter(pk__gte=seal.first, pk__lte=seal.last).order_by("pk").values_list(*sealing.ROW)
    ):
        body.add(row)
    AuditSeal.objects.filter(number=2).update(marks=body.marks)

    (fault,) = seals_checked().faults

    assert f"seal 2 itself (entries {sealed[4]} to {sealed[7]})" in fault


def test_a_chain_made_anew_as_a_whole_is_known_by_the_digest_that_was_written_down(sealed):
    noted = AuditSeal.objects.get(number=3).digest
    assert seals_checked(noted[:20]).good
    as_owner(CHANGES["altered"].format(key=sealed[5]), "DELETE FROM quotes_auditseal")
    assert sealing.seals_make() == 12

    assert seals_checked().good  # nothing inside the database tells
    assert "made anew" in seals_checked(noted[:20]).faults[0]
    with pytest.raises(CommandError, match="--noted: got abc"):
        verify("--noted", "abc")


@pytest.mark.parametrize("statement", ["UPDATE quotes_auditseal SET digest = ''", "DELETE FROM quotes_auditseal"])
def test_seals_are_frozen_by_model_and_database(sealed, statement):
    with pytest.raises(FrozenError):
        AuditSeal.objects.first().save()
    with pytest.raises(FrozenError):
        AuditSeal.objects.first().delete()
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


@pytest.mark.parametrize("who", ["manager", "administrator"])
def test_the_last_digest_can_be_read_off_where_the_record_is_exported(office, client, who):
    client.force_login(getattr(office, who))
    assert "Nothing is sealed yet" in client.get(reverse("audit-period")).content.decode()
    written(3)
    sealing.seals_make()
    written(1)

    page = client.get(reverse("audit-period")).content.decode()

    assert AuditSeal.objects.get().digest in page
    assert "1 entry, the oldest of" in page


# --- one text on every database ---------------------------------------------------------------------------------------


def test_json_numbers_have_one_text_as_both_databases_give_them_back():
    # PostgreSQL's numeric writes digits out: 1e22 comes back as 10000000000000000000000, -0.0 as 0.0 (documentation,
    # "8.14 JSON Types": numbers are printed as the underlying numeric type has them)
    for kept, given_back in ((1e22, 10**22), (1e23, 10**23), (1.0, 1), (-0.0, 0), (1e-7, 0.0000001), (2.5, 2.50)):
        assert row_text([kept]) == row_text([given_back])
    assert row_text([2.5]) != row_text([2.25])
    assert row_text([True]) != row_text([1])


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**30), 10**30) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=5), inner, max_size=3
    ),
    max_leaves=8,
)  # fmt: skip


@pytest.mark.django_db
def test_what_comes_back_from_the_database_has_the_text_of_what_was_written():
    """On either engine the text is that of the value before it was stored, so it is the same on both."""

    @given(detail=st.dictionaries(st.sampled_from("abc"), json_values, max_size=3))
    def comes_back(detail: dict) -> None:
        with transaction.atomic():
            entry = AuditEntry(at=datetime(2026, 3, 2, 8, 0, 0, 123456, tzinfo=UTC), action="any", detail=detail)
            entry.save()
            (row,) = AuditEntry.objects.filter(pk=entry.pk).values_list("at", "detail")
            assert row_text(row) == row_text([entry.at, detail])
            transaction.set_rollback(True)

    comes_back()


def test_a_kind_of_value_without_a_known_text_is_refused():
    assert plain(Decimal("1.50")) == "1.50"
    assert plain(timedelta(hours=1)) == "3600000000 us"
    assert plain(b"\x00") == plain(memoryview(b"\x00"))
    with pytest.raises(TypeError, match="Struct"):
        plain(struct.Struct("B"))


# --- several at once --------------------------------------------------------------------------------------------------


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_an_entry_that_appears_late_with_a_lower_key_is_not_missed_and_nobody_waits():
    took_a_key, may_commit = Event(), Event()
    keys = {}

    def slow() -> None:
        try:
            with transaction.atomic():
                keys["late"] = audit("slow", by=None).pk
                took_a_key.set()
                may_commit.wait(20)
        finally:
            connection.close()

    thread = Thread(target=slow)
    thread.start()
    assert took_a_key.wait(20)
    keys["early"] = audit("quick", by=None).pk  # committed while the other is still open: nobody waits
    assert keys["late"] < keys["early"]

    assert sealing.seals_make(patience=0.2) == 0
    keys["meanwhile"] = audit("quick", by=None).pk
    may_commit.set()
    assert sealing.seals_make() == 3
    thread.join()

    assert seals_checked().good
    assert (seals_checked().rows, seals_checked().state.unsealed) == (3, 0)


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_many_writers_and_sealers_at_once_leave_one_whole_chain(monkeypatch):
    monkeypatch.setattr(sealing, "MOST_ROWS", 7)
    over = Event()

    def write(place: int) -> None:
        chance = random.Random(place)
        try:
            for _ in range(30):
                with transaction.atomic():
                    audit("one", by=None, place=place)
                    over.wait(chance.random() / 100)
                    if chance.random() < 0.2:
                        transaction.set_rollback(True)
        finally:
            connection.close()

    def seal() -> None:
        try:
            while not over.wait(0.02):
                sealing.seals_make()
        finally:
            connection.close()

    writers = [Thread(target=write, args=(place,)) for place in range(8)]
    sealers = [Thread(target=seal) for _ in range(3)]
    for one in (*writers, *sealers):
        one.start()
    for one in writers:
        one.join()
    over.set()
    for one in sealers:
        one.join()
    sealing.seals_make()

    found = seals_checked()
    assert found.good, found.faults
    assert (found.rows, found.state.unsealed) == (AuditEntry.objects.count(), 0)
    assert [one.number for one in AuditSeal.objects.all()] == list(range(1, found.seals + 1))


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_a_worker_seals_beside_its_work(monkeypatch):
    monkeypatch.setattr(sealing, "EVERY", 0.05)
    keys = written(3)
    with sealing.sealing_meanwhile():
        pause = Event()
        for _ in range(200):
            if AuditSeal.objects.exists():
                break
            pause.wait(0.05)
    assert AuditSeal.objects.get().last == keys[-1]
    assert workers.sealing_meanwhile is sealing.sealing_meanwhile
