"""Deeds in any order by anybody: none leads where the table does not, and nothing is issued without its review.

The number of sequences is small here; ``SEQUENCES=2000`` in the environment runs as many as an acceptance test asks.
"""

import os
from functools import partial

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.quotes import services
from quoting.quotes.models import APPROVED, SENT, WON, AuditEntry, CustomerReply, Inquiry, Quote
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.conftest import ON, TYPED, stored_answer
from tests.quoting.quotes.test_policies import GRANTS, MOVES, ROLES

SEQUENCES = int(os.environ.get("SEQUENCES", "8"))
LONGEST = 25
ALLOWED = {
    action: {pair.partition(">")[0]: pair.partition(">")[2].split(",") for pair in text.split()}
    for action, text in MOVES.items()
}
STAFF = ("change", "answer", "override", "approve", "second", "send_back", "decline", "send", "win", "lose")
CUSTOMER = ("accepted", "change", "declined")
step = st.one_of(
    st.tuples(st.sampled_from(STAFF), st.sampled_from(ROLES)),
    st.tuples(st.sampled_from(CUSTOMER), st.just("customer")),
    st.tuples(st.sampled_from(("make it dear", "make it no fit", "make it plain")), st.just("fate")),
    st.tuples(st.just("approve"), st.just("estimator")),  # twice as likely, so that sequences get far
    st.tuples(st.sampled_from(("answer", "send")), st.just("rep")),
)


class World:
    """One inquiry and what may be done to it."""

    def __init__(self, office):
        self.office, self.token = office, ""
        office.core.snapshot = stored_answer()
        self.inquiry = services.inquiry_log(typed=TYPED, by=office.rep)

    def do(self, action: str, who: str) -> None:
        if who == "fate":
            dear = {"make it dear": "1000.01", "make it plain": "50.00"}.get(action)
            self.office.core.snapshot = stored_answer(landed=dear) if dear else stored_answer("not_a_fit")
        elif who == "customer":
            release = 100 if action == "accepted" else None
            services.customer_reply(token=self.token, kind=action, text="" if release else "why", release=release)
        else:
            self._deed(action, getattr(self.office, who))()

    def _deed(self, action: str, by: object):
        inquiry = Inquiry.objects.get(pk=self.inquiry.pk)
        quote = Quote.objects.filter(inquiry=inquiry).last()
        if action in ("send", "win", "lose"):
            if quote is None:
                raise ValidationError("there is nothing to send")
            deeds = {
                "send": partial(self._send, quote, by),
                "win": partial(services.quote_won, quote=quote, release=100, by=by, on=ON),
                "lose": partial(services.quote_lost, quote=quote, reason="price", by=by),
            }
        else:
            deeds = {
                "change": partial(services.inquiry_change, typed=TYPED, version=inquiry.version),
                "answer": partial(services.inquiry_answer, on=ON),
                "override": partial(services.override_add, field="part.length", value="41 in", reason="x", on=ON),
                "approve": partial(services.quote_approve, confirmed=KEYS, on=ON),
                "second": partial(services.quote_second, on=ON),
                "send_back": partial(services.quote_send_back, note="too thin"),
                "decline": partial(services.inquiry_decline, on=ON),
            }
            return partial(deeds[action], inquiry=inquiry, by=by)
        return deeds[action]

    def _send(self, quote: Quote, by: object) -> None:
        self.token = services.quote_send(quote=quote, by=by)


def check(world: World, action: str, who: str, before: tuple) -> None:
    """What changed must be in the tables; what was refused must have changed nothing."""
    inquiry = Inquiry.objects.get(pk=world.inquiry.pk)
    if who in ROLES:
        name = "revise" if action == "change" and before[0] not in ALLOWED["change"] else action
        grant = GRANTS[name][ROLES.index(who)]
        assert grant in "oy", (action, who)
        assert inquiry.state in ALLOWED[name].get(before[0], ()), (action, before[0], inquiry.state)
    else:
        assert inquiry.state == before[0]


def standing(world: World) -> tuple:
    inquiry = Inquiry.objects.get(pk=world.inquiry.pk)
    return (
        inquiry.state,
        inquiry.version,
        Quote.objects.count(),
        CustomerReply.objects.count(),
        AuditEntry.objects.count(),
    )


def sound(world: World) -> None:
    """Whatever happened: each quote has its record and review, revisions count on, and a dear one had two people."""
    inquiry = Inquiry.objects.get(pk=world.inquiry.pk)
    quotes = list(Quote.objects.filter(inquiry=inquiry).order_by("pk"))
    for kind in ("quote", "letter"):
        ours = [one for one in quotes if one.kind == kind]
        assert [one.revision for one in ours] == list(range(1, len(ours) + 1))
        assert [one.supersedes_id for one in ours] == [None, *(one.pk for one in ours)][: len(ours)]
    for quote in quotes:
        assert quote.is_intact()
        assert quote.replies.filter(kind="accepted").count() <= 1
        reviews = quote.record["reviews"]
        if quote.kind == "quote":
            assert reviews
            dear = any(one["reasons"] for one in reviews)
            assert len({one["by"] for one in reviews}) == (2 if dear else 1)
    assert inquiry.state not in (APPROVED, SENT, WON) or quotes


@settings(
    max_examples=SEQUENCES, derandomize=True, database=None, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
@given(order=st.lists(step, min_size=8, max_size=LONGEST))
def test_no_order_of_deeds_leads_where_the_table_does_not(office, order):
    with transaction.atomic():
        world = World(office)
        for action, who in order:
            before = standing(world)
            try:
                with transaction.atomic():
                    world.do(action, who)
            except (PermissionDenied, ValidationError, Quote.DoesNotExist):
                assert standing(world) == before
            else:
                if who != "fate":
                    check(world, action, who, before)
        sound(world)
        transaction.set_rollback(True)
