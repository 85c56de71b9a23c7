"""A deed that the database ends because it crossed another one is done again; every other fault leaves nothing."""

import ast
import re
from pathlib import Path
from threading import Barrier, Thread

import psycopg
import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import OperationalError, connection, transaction

from quoting.quotes import replies, services, trying_again
from quoting.quotes.models import ACCEPTED, AuditEntry, Counter, CustomerReply, Inquiry, Override, Quote, Review
from quoting.quotes.once import inquiry_log_once
from quoting.quotes.reviewing import KEYS
from quoting.quotes.trying_again import CROSSED, MOST_REPEATS, tried_again

from .conftest import ON, TYPED, answered, approved, sent
from .faults import fault_of, statements
from .test_races import on_postgresql

LOST = "57P01"  # the connection is ended by the administrator


@pytest.fixture(autouse=True)
def no_waits(monkeypatch):
    monkeypatch.setattr(trying_again, "LONGEST_WAIT", 0)


def test_the_codes_are_those_of_the_driver():
    # psycopg 3.2, psycopg.errors: one class for each code of PostgreSQL's table.
    named = {code: psycopg.errors.lookup(code).__name__ for code in (*CROSSED, LOST)}
    assert named == {"40001": "SerializationFailure", "40P01": "DeadlockDetected", LOST: "AdminShutdown"}


def _issued(office):
    inquiry = answered(office)
    return lambda: services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)


def _replied(office):
    _, token = sent(office)
    return lambda: replies.customer_reply(token=token, kind=ACCEPTED, release=100, key="k")


def _logged(office):
    return lambda: inquiry_log_once(typed=TYPED, by=office.rep, form="f")


def _mailed_link(office):
    quote = approved(office)
    return lambda: services.quote_send(quote=quote, by=office.rep)


def _withdrawn(office):
    inquiry = answered(office)
    services.override_add(inquiry=inquiry, field="part.name", value="Lid", reason="said so", by=office.estimator, on=ON)
    override = Override.objects.get()
    override.inquiry = Inquiry.objects.get(pk=inquiry.pk)
    return lambda: services.override_withdraw(override=override, by=office.estimator, on=ON)


DEEDS = {"issue": _issued, "reply": _replied, "log": _logged, "send": _mailed_link, "withdraw": _withdrawn}
KEPT = (Inquiry, Quote, Review, CustomerReply, AuditEntry, Override)


def rows() -> dict[str, int]:
    states = [(one.state, one.version) for one in Inquiry.objects.order_by("pk")]
    withdrawn = Override.objects.filter(withdrawn_at__isnull=False).count()
    numbers = list(Counter.objects.order_by("pk").values_list("series", "last"))
    return {model.__name__: model.objects.count() for model in KEPT} | {
        "states": states, "withdrawn": withdrawn, "numbers": numbers,
    }  # fmt: skip


def undone(work, sqlstate="", failing=lambda number: False):
    """What the work changed, taken back; and its statements, of which some may fail."""
    point = transaction.savepoint()
    try:
        with statements(sqlstate, failing) as seen:
            work()
        return rows(), seen.texts
    finally:
        transaction.savepoint_rollback(point)


def that_can_cross(texts: list[str]) -> list[int]:
    """Numbers of the statements that wait for others: those that read or write tables."""
    own = ("SAVEPOINT", "RELEASE", "ROLLBACK")
    return [number for number, text in enumerate(texts, 1) if not text.startswith(own) and '"_check"' not in text]


@pytest.mark.parametrize("deed", DEEDS)
def test_a_deed_comes_out_whole_whichever_of_its_statements_crosses_another_one(office, deed):
    do = DEEDS[deed](office)
    before = rows()
    undone(do)  # fills what is kept in the process
    done, texts = undone(do)
    assert done != before
    failing = that_can_cross(texts)
    assert len(failing) > 8
    for number in failing:
        again, longer = undone(do, CROSSED[number % 2], lambda at, number=number: at == number)
        assert again == done, texts[number - 1]
        assert len(longer) > number
        assert rows() == before


@pytest.mark.parametrize("deed", DEEDS)
def test_a_lost_connection_leaves_nothing_of_a_deed(office, deed):
    do = DEEDS[deed](office)
    before = rows()
    undone(do)
    _, texts = undone(do)
    for number in range(1, len(texts) + 1):
        with pytest.raises(
            (OperationalError, ValidationError)
        ):  # Django takes a check that cannot be made for a breach
            undone(do, LOST, lambda at, number=number: at >= number)
        assert rows() == before, texts[number - 1]


@pytest.mark.django_db
def test_it_is_tried_three_times_more_and_then_told():
    tries = []

    @tried_again
    def deed():
        tries.append(1)
        raise fault_of("40P01")

    with pytest.raises(OperationalError):
        deed()
    assert len(tries) == 1 + MOST_REPEATS == 4


@pytest.mark.django_db
def test_only_the_outermost_deed_is_tried_again():
    tries = []

    @tried_again
    @transaction.atomic
    def inner():
        tries.append("inner")
        raise fault_of("40001")

    @tried_again
    @transaction.atomic
    def outer():
        tries.append("outer")
        inner()

    with pytest.raises(OperationalError):
        outer()
    assert tries == ["outer", "inner"] * 4


@pytest.mark.django_db
@pytest.mark.parametrize("fault", ["23505", "57P01", "53300", "55P03", "57014"])
def test_nothing_else_is_tried_again(fault):
    tries = []

    @tried_again
    def deed():
        tries.append(1)
        raise fault_of(fault)

    with pytest.raises(OperationalError):
        deed()
    assert tries == [1]


# Deeds of a demonstration or of one command at a time, and a half whose other half counts once.
APART = {"floor_ensure", "ensure_past_runs", "catalog_load", "factor_remove"}
SHELL = Path(settings.BASE_DIR) / "quoting" / "quotes"


def test_every_deed_with_a_transaction_is_tried_again():
    left = []
    for path in sorted(SHELL.rglob("*.py")):
        for one in ast.parse(path.read_text()).body:
            if not isinstance(one, ast.FunctionDef) or one.name.startswith("_") or one.name in APART:
                continue
            if "transaction.atomic" in ast.unparse(one):
                told = [ast.unparse(decorator) for decorator in one.decorator_list]
                if told[:1] != ["tried_again"]:
                    left.append(f"{path.name}: {one.name}")
    assert left == []


def test_what_begins_at_the_commit_cannot_fail_as_the_deed_would():
    for path in sorted(SHELL.rglob("*.py")):
        for call in re.findall(r"on_commit\(.*", path.read_text()):
            assert "robust=True" in call, f"{path.name}: {call}"


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_of_two_deeds_that_lock_each_other_out_both_are_done(office, monkeypatch):
    monkeypatch.setattr(trying_again, "LONGEST_WAIT", 0.05)
    one, two = (services.inquiry_log(typed=TYPED, by=office.rep) for _ in range(2))
    both_hold, tries, wrong = Barrier(2), [], []

    @tried_again
    @transaction.atomic
    def deed(first, second):
        tries.append(1)
        Inquiry.objects.select_for_update().get(pk=first.pk)
        if len(tries) <= 2:
            both_hold.wait(timeout=20)
        kept = Inquiry.objects.select_for_update().get(pk=second.pk)
        kept.version += 1
        kept.save(update_fields=["version"])

    def run(*pair):
        try:
            deed(*pair)
        except OperationalError as error:
            wrong.append(error)
        finally:
            connection.close()

    threads = [Thread(target=run, args=pair) for pair in ((one, two), (two, one))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)

    assert wrong == []
    assert len(tries) == 3  # PostgreSQL ended one of the two, which was done again
    assert sorted(Inquiry.objects.values_list("version", flat=True)) == [2, 2]
