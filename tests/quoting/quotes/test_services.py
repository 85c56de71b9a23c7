from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from machines.models import Booking
from quoting.quotes import replies, selectors, services, steps
from quoting.quotes.models import AuditEntry, Counter, Inquiry, Quote
from quoting.quotes.reviewing import KEYS
from quoting.quotes.services import ConflictError, StateError
from tests.quoting.quotes.conftest import ON, TYPED, answered, approved, sent, stored_answer


def actions() -> list[str]:
    return list(AuditEntry.objects.order_by("pk").values_list("action", flat=True))


def test_a_logged_inquiry_is_kept_as_typed_with_number_customer_and_record(office):
    inquiry = services.inquiry_log(typed=TYPED, by=office.rep)

    kept = Inquiry.objects.get()
    assert kept.typed == TYPED
    assert kept.number == f"I-{ON.year}-0001"
    assert kept.customer.company == "Example Carts"
    assert (kept.state, kept.part_name, kept.created_by) == ("received", "Cover", office.rep)
    assert actions() == ["inquiry_log"]
    assert inquiry.pk == kept.pk


def test_an_inquiry_with_nothing_right_in_it_is_kept_too(office):
    inquiry = services.inquiry_log(typed={"customer": [], "part": 4}, by=office.rep)
    office.core.errors = ({"field": "part", "given": "4", "accepted": "an object", "message": "part: ..."},)

    inquiry = services.inquiry_answer(inquiry=inquiry, on=ON, by=office.rep)

    assert (inquiry.state, inquiry.decision, inquiry.snapshot) == ("needs_information", "bad_input", None)
    assert inquiry.errors[0]["field"] == "part"
    assert inquiry.customer is None


@pytest.mark.parametrize("typed", [["a list"], {"a": float("nan")}, {"a": "\x00"}, {"a": "x" * 300_000}, {"a": {1, 2}}])
def test_what_a_database_may_refuse_is_refused_before_it(office, typed):
    with pytest.raises(ValidationError):
        services.inquiry_log(typed=typed, by=office.rep)


@pytest.mark.parametrize(
    ("decision", "state"),
    [("quote", "answered"), ("not_a_fit", "answered"), ("needs_information", "needs_information")],
)
def test_the_answer_decides_the_state(office, decision, state):
    office.core.snapshot = stored_answer(decision)

    inquiry = answered(office)

    assert (inquiry.state, inquiry.decision, inquiry.answered_on) == (state, decision, ON)
    assert actions() == ["inquiry_log", "inquiry_answer"]


def test_a_change_forgets_the_answer_and_counts_the_version(office):
    inquiry = answered(office)

    changed = services.inquiry_change(inquiry=inquiry, typed={**TYPED, "reference": "T-2"}, by=office.rep, version=2)

    assert (changed.state, changed.snapshot, changed.reference, changed.version) == ("received", None, "T-2", 3)
    assert AuditEntry.objects.filter(action="inquiry_change").get().detail["old"] == TYPED


def test_the_second_of_two_changes_to_one_version_is_refused_and_names_the_first_person(office):
    inquiry = services.inquiry_log(typed=TYPED, by=office.rep)
    services.inquiry_change(inquiry=inquiry, typed={"part": {}}, by=office.estimator, version=1)

    with pytest.raises(ConflictError, match="changed by estimator"):
        services.inquiry_change(inquiry=inquiry, typed={"reference": "lost"}, by=office.rep, version=1)

    assert Inquiry.objects.get().typed == {"part": {}}
    assert actions() == ["inquiry_log", "inquiry_change"]


def test_an_answer_computed_from_an_older_version_is_not_kept(office):
    inquiry = services.inquiry_log(typed=TYPED, by=office.rep)
    services.inquiry_change(inquiry=inquiry, typed={"part": {}}, by=office.rep, version=1)

    with pytest.raises(ConflictError):
        services.inquiry_answer(inquiry=inquiry, on=ON, by=office.rep)


def test_an_override_takes_the_place_of_the_typed_value_and_keeps_both(office):
    inquiry = answered(office)

    services.override_add(
        inquiry=inquiry, field="part.length", value="41 in", reason="drawing B", by=office.estimator, on=ON
    )

    override = Inquiry.objects.get().overrides.get()
    assert (override.old, override.new, override.reason) == ("40 in", "41 in", "drawing B")
    assert office.core.asked[-1]["part"]["length"] == "41 in"
    assert Inquiry.objects.get().typed == TYPED
    assert actions()[-1] == "override_add"


def test_a_withdrawn_override_leaves_the_typed_value_in_force(office):
    inquiry = services.override_add(
        inquiry=answered(office), field="part.length", value="41 in", reason="drawing B", by=office.estimator, on=ON
    )

    services.override_withdraw(override=inquiry.overrides.get(), by=office.estimator, on=ON)

    assert office.core.asked[-1] == TYPED
    assert services.effective(Inquiry.objects.get()) == TYPED
    assert actions()[-1] == "override_withdraw"


def test_an_override_may_fill_what_was_not_typed_or_take_away_what_was(office):
    inquiry = answered(office)
    for field, value, old in (("part.width", "28 in", None), ("part.length", "", "40 in")):
        inquiry = services.override_add(
            inquiry=inquiry, field=field, value=value, reason="drawing B", by=office.estimator, on=ON
        )
        assert inquiry.overrides.last().old == old
    assert office.core.asked[-1]["part"] == {"name": "Cover", "width": "28 in"}


def test_an_override_needs_a_reason(office):
    with pytest.raises(ValidationError, match="say why"):
        services.override_add(
            inquiry=answered(office), field="part.length", value="41 in", reason="  ", by=office.estimator
        )


def test_an_override_of_a_field_that_an_inquiry_has_not_is_refused(office):
    with pytest.raises(ValidationError, match=r"part\.lenght"):
        services.override_add(
            inquiry=answered(office), field="part.lenght", value="41 in", reason="slip", by=office.estimator
        )


def test_an_override_with_a_wrong_value_is_not_kept(office):
    inquiry = answered(office)
    office.core.errors = (
        {"field": "part.length", "given": "41", "accepted": "a length", "message": "part.length: 41"},
    )

    with pytest.raises(ValidationError, match=r"part\.length: 41"):
        services.override_add(inquiry=inquiry, field="part.length", value="41", reason="slip", by=office.estimator)

    assert not Inquiry.objects.get().overrides.exists()
    assert Inquiry.objects.get().decision == "quote"


def test_approval_issues_the_quote_with_digests_and_puts_its_hours_on_the_board(office):
    quote = approved(office)

    kept = Quote.objects.get()
    assert (kept.number, kept.revision, kept.kind) == (f"Q-{ON.year}-0001", 1, "quote")
    assert kept.valid_until == ON + timedelta(days=30)
    assert kept.is_intact()
    assert kept.inquiry.state == "approved"
    booking = Booking.objects.get()
    # smallest release: 10 h, promised 3 weeks from Wednesday 25 November 2026, so in the week of Monday 14 December
    assert (booking.hours, booking.week, booking.firm, booking.quote) == (10.0, date(2026, 12, 14), False, quote.number)
    assert actions()[-1] == "quote_approve"


def test_approval_is_refused_when_the_data_behind_the_answer_changed(office):
    inquiry = answered(office)
    office.core.data, office.core.snapshot = "catalog of tomorrow", stored_answer(landed="51.00")

    with pytest.raises(ConflictError, match="answer it again"):
        services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)

    assert not Quote.objects.exists()


def test_a_letter_too_is_refused_when_the_data_behind_it_changed_and_the_answer_with_it(office):
    office.core.snapshot = stored_answer("not_a_fit")
    inquiry = answered(office)
    office.core.data = "catalog of tomorrow"
    office.core.snapshot = stored_answer("not_a_fit") | {"summary": {"text": "another limit", "figures": []}}
    with pytest.raises(services.DataChangedError, match="answer it again"):
        services.inquiry_decline(inquiry=inquiry, by=office.estimator, on=ON)
    assert not Quote.objects.exists()

    office.core.snapshot = inquiry.snapshot
    letter = services.inquiry_decline(inquiry=inquiry, by=office.estimator, on=ON)
    assert letter.record["catalog_digest"] == "catalog of tomorrow"


def test_a_change_of_data_that_leaves_the_answer_alone_does_not_hinder_approval(office):
    inquiry = answered(office)
    office.core.data = "catalog with another phone number"

    assert services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON).revision == 1


def test_only_a_quote_can_be_approved_and_only_a_misfit_declined(office):
    with pytest.raises(StateError, match="a quote"):
        services.inquiry_decline(inquiry=answered(office), by=office.estimator, on=ON)
    office.core.snapshot = stored_answer("not_a_fit")
    with pytest.raises(StateError, match="not a fit"):
        services.quote_approve(inquiry=answered(office), confirmed=KEYS, by=office.estimator, on=ON)


def test_declining_issues_a_letter_with_a_number_of_its_own(office):
    office.core.snapshot = stored_answer("not_a_fit")

    letter = services.inquiry_decline(inquiry=answered(office), by=office.estimator, on=ON, reason="too deep")

    assert (letter.number, letter.kind, letter.inquiry.state) == (f"L-{ON.year}-0001", "letter", "declined")
    assert services.quote_send(quote=letter, by=office.rep)
    assert Inquiry.objects.get().state == "declined"


def test_above_the_limit_nobody_approves_what_they_logged_themselves(office):
    office.core.snapshot = stored_answer(landed="500.01")  # times 1000 a year: just above 500,000
    with pytest.raises(ValidationError, match="another estimator"):
        services.quote_approve(
            inquiry=answered(office, by=office.estimator), confirmed=KEYS, by=office.estimator, on=ON
        )

    office.core.snapshot = stored_answer(landed="500.00")
    assert services.quote_approve(
        inquiry=answered(office, by=office.estimator), confirmed=KEYS, by=office.estimator, on=ON
    )


def test_the_private_link_is_shown_once_and_only_its_hash_is_kept(office):
    quote, token = sent(office)

    kept = Quote.objects.get()
    assert len(token) >= 43  # 256 bits in base 64
    assert token not in str(list(Quote.objects.values("link_hash", "snapshot"))) + str(
        list(AuditEntry.objects.values())
    )
    assert selectors.quote_by_token(token) == kept
    assert kept.inquiry.state == "sent"


def test_a_revoked_link_an_older_link_and_an_expired_link_find_nothing(office, monkeypatch):
    quote, first = sent(office)
    second = services.quote_send(quote=quote, by=office.rep)
    with pytest.raises(Quote.DoesNotExist):
        selectors.quote_by_token(first)
    expires = Quote.objects.get().link_expires
    monkeypatch.setattr(selectors, "now", lambda: expires)
    with pytest.raises(Quote.DoesNotExist):
        selectors.quote_by_token(second)
    monkeypatch.setattr(selectors, "now", lambda: expires - timedelta(seconds=1))
    assert selectors.quote_by_token(second)

    services.link_revoke(quote=quote, by=office.administrator)

    with pytest.raises(Quote.DoesNotExist):
        selectors.quote_by_token(second)
    services.link_revoke(quote=quote, by=office.administrator)
    assert actions().count("link_revoke") == 1


def test_a_won_release_replaces_the_quoted_hours_by_firm_ones(office):
    quote, _ = sent(office)

    services.quote_won(quote=quote, release=500, by=office.rep, on=ON, evidence="order 4711")

    bookings = list(Booking.objects.order_by("week").values_list("week", "hours", "firm"))
    # 100 h at 8 h x 5 days = 40 h a week, the last in the promised week of Monday 21 December
    assert bookings == [
        (date(2026, 12, 7), pytest.approx(20.0), True),
        (date(2026, 12, 14), 40.0, True),
        (date(2026, 12, 21), 40.0, True),
    ]
    assert Inquiry.objects.get().state == "won"
    assert AuditEntry.objects.get(action="quote_won").detail == {"release": 500, "evidence": "order 4711"}


def test_only_a_quoted_release_can_be_won(office):
    quote, _ = sent(office)
    with pytest.raises(ValidationError, match="100, 500"):
        services.quote_won(quote=quote, release=250, by=office.rep)


def test_a_lost_quote_gives_its_hours_back_and_says_why(office):
    quote, _ = sent(office)
    with pytest.raises(ValidationError, match="why"):
        services.quote_lost(quote=quote, reason=" ", by=office.rep)

    services.quote_lost(quote=quote, reason="price", by=office.rep)

    assert not Booking.objects.exists()
    assert Inquiry.objects.get().state == "lost"
    assert AuditEntry.objects.get(action="quote_lost").detail == {"reason": "price"}


def test_a_revision_keeps_the_number_and_the_old_link_can_no_longer_be_accepted(office):
    quote, token = sent(office)
    inquiry = Inquiry.objects.get()
    with pytest.raises(PermissionDenied):
        services.inquiry_change(inquiry=inquiry, typed=TYPED, by=office.rep, version=inquiry.version)

    inquiry = services.inquiry_change(inquiry=inquiry, typed=TYPED, by=office.estimator, version=inquiry.version)
    assert not Booking.objects.exists()
    with pytest.raises(StateError):
        services.customer_reply(token=token, kind="accepted", release=100)
    inquiry = services.inquiry_answer(inquiry=inquiry, on=ON, by=office.estimator)
    second = services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)

    assert (second.number, second.revision) == (quote.number, 2)
    assert quote.is_superseded
    assert Booking.objects.get().quote == quote.number
    with pytest.raises(StateError, match="replaced"):
        services.customer_reply(token=token, kind="accepted", release=100)
    with pytest.raises(StateError, match="later revision"):
        services.quote_send(quote=quote, by=office.rep)


def test_an_acceptance_is_kept_once_and_not_for_a_second_quantity(office):
    _, token = sent(office)

    first = services.customer_reply(token=token, kind="accepted", release=100)
    again = services.customer_reply(token=token, kind="accepted", release=100)

    assert first == again
    with pytest.raises(StateError, match="already"):
        services.customer_reply(token=token, kind="accepted", release=500)
    assert actions().count("customer_accepted") == 1
    assert AuditEntry.objects.get(action="customer_accepted").by is None
    assert Inquiry.objects.get().state == "sent"  # a person confirms the order


def test_an_acceptance_after_the_last_day_is_refused(office, monkeypatch):
    quote, token = sent(office)
    monkeypatch.setattr(replies, "today", lambda: quote.valid_until + timedelta(days=1))
    with pytest.raises(StateError, match="valid until"):
        services.customer_reply(token=token, kind="accepted", release=100)
    monkeypatch.setattr(replies, "today", lambda: quote.valid_until)
    assert services.customer_reply(token=token, kind="accepted", release=100)


def test_a_wish_for_a_change_needs_words(office):
    _, token = sent(office)
    with pytest.raises(ValidationError, match="what should change"):
        services.customer_reply(token=token, kind="change", text=" ")


@pytest.mark.parametrize("kind", ["paid", ""])
def test_a_reply_of_no_known_kind_is_refused(office, kind):
    _, token = sent(office)
    with pytest.raises(ValidationError):
        services.customer_reply(token=token, kind=kind)


def test_a_letter_offers_nothing_to_accept(office):
    office.core.snapshot = stored_answer("not_a_fit")
    letter = services.inquiry_decline(inquiry=answered(office), by=office.estimator, on=ON)
    token = services.quote_send(quote=letter, by=office.rep)
    assert services.customer_reply(token=token, kind="opened").kind == "opened"
    with pytest.raises(StateError, match="nothing to accept"):
        services.customer_reply(token=token, kind="accepted", release=100)


def test_numbers_have_no_gaps_even_after_a_failure(office, monkeypatch):
    approved(office)

    def fails(snapshot: dict, **heading: object) -> bytes:
        raise RuntimeError("no renderer")

    inquiry = answered(office)
    with monkeypatch.context() as broken:
        broken.setattr(steps, "render_quote", fails)
        with pytest.raises(RuntimeError):
            services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)
    assert Inquiry.objects.get(pk=inquiry.pk).state == "answered"
    assert Booking.objects.count() == 1

    quote = services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)

    assert quote.number == f"Q-{ON.year}-0002"
    assert Counter.objects.get(series="Q").last == 2


def test_a_second_approval_of_the_same_answer_is_refused_and_takes_no_number(office):
    inquiry = answered(office)
    services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)

    with pytest.raises(ConflictError):
        services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)

    assert Counter.objects.get(series="Q").last == 1
