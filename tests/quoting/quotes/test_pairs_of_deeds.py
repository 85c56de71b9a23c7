"""Two deeds that meet on one quote, both let go at the same moment: one wins, the other is told who and when.

The number of meetings is small here; ``MEETINGS=200`` in the environment runs as many as an acceptance test asks.
"""

import os
from datetime import timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.db import OperationalError

from machines.models import Booking
from quoting.planning import models as plans
from quoting.planning.models import GONE, Job
from quoting.quotes import expiry, replies, selectors, services, steps
from quoting.quotes.models import (
    ACCEPTED,
    ANSWERED,
    APPROVED,
    CHANGE,
    DECLINED_BY_CUSTOMER,
    LOST,
    RECEIVED,
    SENT,
    WON,
    CustomerReply,
    Inquiry,
    Quote,
)
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.conftest import ON, PRICE, TYPED, answered, sent, stored_answer
from tests.quoting.quotes.test_races import at_once, on_postgresql

MEETINGS = int(os.environ.get("MEETINGS", "3"))
pytestmark = [on_postgresql, pytest.mark.django_db(transaction=True)]


def meet(*deeds):
    """What each of the deeds came to: what it returned, or the refusal."""

    def one(place):
        try:
            return deeds[place]()
        except (Quote.DoesNotExist, OperationalError) as error:
            return error

    found = at_once(len(deeds), one)
    assert [one for one in found if isinstance(one, OperationalError)] == []
    return found


def refused(results):
    return [one for one in results if isinstance(one, Exception)]


def is_told_who_and_when(refusal, *names):
    text = " ".join(refusal.messages)
    return any(f"{name} at " in text for name in names) and f"{ON.year}" in text


def stands(inquiry):
    return Inquiry.objects.get(pk=inquiry.pk)


def approve(office, inquiry):
    return services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)


def accept(token, release=100):
    return replies.customer_reply(token=token, kind=ACCEPTED, release=release, key=f"accept {release}")


def revise(office, inquiry):
    typed = TYPED | {"reference": "T-2"}
    return services.inquiry_change(inquiry=inquiry, typed=typed, by=office.estimator, version=inquiry.version)


def test_approve_and_approve(office):
    for _ in range(MEETINGS):
        inquiry = answered(office)
        results = meet(*(lambda: approve(office, stands(inquiry)) for _ in range(3)))  # noqa: B023
        assert sum(isinstance(one, Quote) for one in results) == inquiry.quotes.count() == 1
        assert all(is_told_who_and_when(one, "estimator") for one in refused(results))


def test_approve_and_edit(office):
    for _ in range(MEETINGS):
        inquiry = answered(office)
        approved, edited = meet(
            lambda: approve(office, inquiry),  # noqa: B023
            lambda: services.inquiry_change(inquiry=inquiry, typed=TYPED, by=office.rep, version=inquiry.version),  # noqa: B023
        )
        (loser,) = refused([approved, edited])
        assert is_told_who_and_when(loser, "estimator", "rep")
        assert stands(inquiry).state == (APPROVED if loser is edited else RECEIVED)
        assert inquiry.quotes.count() == (1 if loser is edited else 0)


def test_approve_and_reject_by_the_second_person(office, monkeypatch):
    office.core.snapshot = stored_answer()
    low = SimpleNamespace(**vars(PRICE) | {"manager_limit": Decimal(1)})
    monkeypatch.setattr(selectors, "rates", lambda on: SimpleNamespace(price=low))
    for _ in range(MEETINGS):
        inquiry = answered(office)
        assert approve(office, inquiry) is None
        waiting = stands(inquiry)
        approved, rejected = meet(
            lambda: services.quote_second(inquiry=waiting, by=office.manager, on=ON),  # noqa: B023
            lambda: services.quote_send_back(inquiry=waiting, by=office.manager, note="thin", version=waiting.version),  # noqa: B023
        )
        (loser,) = refused([approved, rejected])
        assert is_told_who_and_when(loser, "manager")
        assert stands(inquiry).state == (APPROVED if loser is rejected else ANSWERED)
        assert inquiry.quotes.count() == (1 if loser is rejected else 0)


def test_revise_and_accept(office):
    for _ in range(MEETINGS):
        quote, token = sent(office)
        inquiry = stands(quote.inquiry)
        accepted, revised = meet(lambda: accept(token), lambda: revise(office, inquiry))  # noqa: B023
        (loser,) = refused([accepted, revised])
        assert stands(inquiry).state == (SENT if loser is revised else RECEIVED)
        assert quote.replies.filter(kind=ACCEPTED).count() == (1 if loser is revised else 0)
        assert loser is accepted or is_told_who_and_when(loser, "the customer")


def test_record_and_accept(office):
    for deed, state in ((services.quote_won, WON), (services.quote_lost, LOST)):
        more = {"release": 500, "on": ON} if state == WON else {"reason": "no answer"}
        for _ in range(MEETINGS):
            quote, token = sent(office)
            version = stands(quote.inquiry).version
            accepted, recorded = meet(
                lambda: accept(token),  # noqa: B023
                lambda: deed(quote=quote, by=office.rep, version=version, **more),  # noqa: B023
            )
            (loser,) = refused([accepted, recorded])
            assert stands(quote.inquiry).state == (SENT if loser is recorded else state)
            Booking.objects.all().delete()  # or the machine is full after some hundred orders
            assert loser is accepted or is_told_who_and_when(loser, "the customer")


def test_withdraw_and_accept(office):
    for _ in range(MEETINGS):
        quote, token = sent(office)
        version = stands(quote.inquiry).version
        accepted, withdrawn = meet(
            lambda: accept(token),  # noqa: B023
            lambda: services.link_revoke(quote=quote, by=office.rep, version=version),  # noqa: B023
        )
        (loser,) = refused([accepted, withdrawn])
        kept = Quote.objects.get(pk=quote.pk)
        assert (kept.link_revoked_at is None) == (loser is withdrawn)
        assert quote.replies.count() == (1 if loser is withdrawn else 0)
        assert loser is accepted or is_told_who_and_when(loser, "the customer")


def test_expire_and_accept(office, monkeypatch):
    """The last day ends while the customer accepts: what counts is the day on which the reply is kept."""
    for number in range(2 * MEETINGS):
        quote, token = sent(office)
        last = quote.valid_until + timedelta(days=number % 2)
        for module in (steps, replies):
            monkeypatch.setattr(module, "today", lambda last=last: last)
        accepted, gone = meet(
            lambda: accept(token),  # noqa: B023
            lambda: expiry.quotes_expire(on=quote.valid_until + timedelta(days=1), by=None),  # noqa: B023
        )
        assert isinstance(accepted, CustomerReply) == (number % 2 == 0)
        assert number % 2 == 0 or "was valid until" in accepted.messages[0]
        assert quote.number in gone
        assert Job.objects.get(quote=quote.number).state == GONE
        for module in (steps, replies, services):
            monkeypatch.setattr(module, "today", lambda: ON)
    assert quote.audit.filter(action="quote_expire").count() == 1


def test_expire_and_win(office):
    """Won while its last day ends: its hours are firm on the board, whichever came first."""
    for _ in range(MEETINGS):
        quote, _ = sent(office)
        won, _ = meet(
            lambda: services.quote_won(quote=quote, release=100, by=office.rep, on=ON),  # noqa: B023
            lambda: expiry.quotes_expire(on=quote.valid_until + timedelta(days=1), by=None),  # noqa: B023
        )
        assert isinstance(won, Inquiry)
        assert Job.objects.get(quote=quote.number).state == plans.WON
        assert {one.firm for one in Booking.objects.filter(quote=quote.number)} == {True}


@pytest.mark.parametrize(
    ("other", "both"), [(("accepted", 500), False), (("declined", None), False), (("change", None), True)]
)
def test_two_replies_at_once(office, other, both):
    kind = {"accepted": ACCEPTED, "declined": DECLINED_BY_CUSTOMER, "change": CHANGE}[other[0]]
    for _ in range(MEETINGS):
        quote, token = sent(office)
        results = meet(
            lambda: accept(token),  # noqa: B023
            lambda: replies.customer_reply(token=token, kind=kind, text="why", release=other[1], key="other"),  # noqa: B023
        )
        kept = list(quote.replies.values_list("kind", flat=True))
        assert len(kept) == 2 - len(refused(results))
        assert sum(one in (ACCEPTED, DECLINED_BY_CUSTOMER) for one in kept) == 1
        assert both or len(kept) == 1
        assert all("already" in one.messages[0] for one in refused(results))


def test_supersede_and_accept(office):
    """A new revision is sent while the customer accepts the one before: it is never the older that is accepted."""
    for _ in range(MEETINGS):
        quote, token = sent(office)
        changed = revise(office, stands(quote.inquiry))
        again = services.inquiry_answer(inquiry=changed, on=ON, by=office.estimator)
        second = approve(office, again)
        accepted, new_token = meet(
            lambda: accept(token),  # noqa: B023
            lambda: services.quote_send(quote=second, by=office.rep),  # noqa: B023
        )
        assert isinstance(accepted, Exception)
        assert not quote.replies.exists()
        assert accept(new_token).quote == second


def test_the_revision_that_is_accepted_is_the_one_displayed(office):
    """Revised, answered, approved and sent again, all while the customer accepts again and again."""
    for _ in range(MEETINGS):
        quote, token = sent(office)

        def renewed(quote=quote):
            changed = revise(office, stands(quote.inquiry))
            second = approve(office, services.inquiry_answer(inquiry=changed, on=ON, by=office.estimator))
            return services.quote_send(quote=second, by=office.rep)

        accepted, new_token = meet(lambda: accept(token), renewed)  # noqa: B023
        taken = CustomerReply.objects.filter(quote__number=quote.number)
        if isinstance(accepted, Exception):
            assert isinstance(new_token, str)
            assert not taken.exists()
        else:
            assert is_told_who_and_when(new_token, "the customer")
            assert taken.get().quote == quote
            assert not Quote.objects.get(pk=quote.pk).is_superseded
