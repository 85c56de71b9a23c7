"""Who may do what: every deed by every role in every state, against a table written here by hand."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied, ValidationError

from quoting.quotes import policies, selectors, services
from quoting.quotes.models import STATES, AuditEntry, Inquiry, Quote
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.conftest import ON, TYPED, answered, approved, sent, stored_answer

# o: own inquiries only, y: all, -: none; the columns are sales rep, estimator, manager, administrator.
GRANTS = {
    "change": "oy--", "answer": "oy--", "override": "-y--", "approve": "-y--", "decline": "-y--", "send": "oy--",
    "revise": "-y--", "win": "oy--", "lose": "oy--", "revoke_link": "oy-y", "log_inquiry": "oy--",
    "see_inquiry": "oyy-", "see_price": "oyy-", "see_document": "oyy-", "export": "oyy-", "see_cost": "-yy-",
    "see_candidates": "-yy-", "see_loading": "-yy-", "move_work": "--y-", "read_audit": "-yyy", "edit_rates": "--yy",
    "see_rates": "-yyy", "reprice": "--yy", "see_repricing": "-yyy", "see_runs": "-yy-", "record_runs": "-yy-",
    "decide_factors": "-yy-", "manage_mail": "---y", "raise_numbers": "---y",
    "manage_people": "---y", "export_audit": "--yy", "measure_model": "oy--", "second": "--y-", "send_back": "--y-",
}  # fmt: skip
# From which state each deed leads to which; every pair that is not here is refused.
MOVES = {
    "change": "received>received needs_information>received answered>received waits_for_manager>received",
    "answer": "received>needs_information,answered needs_information>needs_information,answered "
    "answered>needs_information,answered waits_for_manager>needs_information,answered",
    "override": "received>needs_information,answered needs_information>needs_information,answered "
    "answered>needs_information,answered waits_for_manager>needs_information,answered",
    "approve": "answered>approved,waits_for_manager",
    "second": "waits_for_manager>approved",
    "send_back": "waits_for_manager>answered",
    "decline": "answered>declined",
    "send": "approved>sent sent>sent declined>declined",
    "revise": "approved>received sent>received declined>received",
    "win": "sent>won",
    "lose": "approved>lost sent>lost",
}
ROLES = ("rep", "estimator", "manager", "administrator")


@pytest.mark.parametrize("action", [*policies.ACTS, *policies.VIEWS])
def test_the_grants_are_those_of_the_table(office, action):
    inquiry = answered(office)
    for role, grant in zip(ROLES, GRANTS[action], strict=True):
        assert policies.permitted(getattr(office, role), action, inquiry) == (grant in "oy"), role
    assert not policies.permitted(office.other_rep, action, inquiry)
    assert not policies.permitted(AnonymousUser(), action, inquiry)


def test_no_grant_and_no_move_is_missing_from_the_tables_here():
    assert set(GRANTS) == {*policies.ACTS, *policies.VIEWS}
    for action, text in MOVES.items():
        moves = {pair.partition(">")[0]: tuple(pair.partition(">")[2].split(",")) for pair in text.split()}
        assert policies.ACTS[action].moves == moves, action


def test_a_disabled_person_has_no_rights_at_the_next_look(office):
    assert policies.may_log_inquiry(office.rep)
    office.rep.is_active = False
    assert not policies.may_log_inquiry(office.rep)


def test_the_administrator_does_no_commercial_deed(office):
    inquiry = answered(office)
    for action in ("log_inquiry", "see_inquiry", "see_cost", "approve", "send", "win"):
        assert not policies.permitted(office.administrator, action, inquiry)


def deeds(inquiry: Inquiry, quote: Quote | None, by: object) -> dict:
    version = inquiry.version
    return {
        "change": lambda: services.inquiry_change(inquiry=inquiry, typed=TYPED, by=by, version=version),
        "answer": lambda: services.inquiry_answer(inquiry=inquiry, on=ON, by=by),
        "override": lambda: services.override_add(
            inquiry=inquiry, field="part.length", value="41 in", reason="drawing", by=by, on=ON
        ),
        "approve": lambda: services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=by, on=ON),
        "second": lambda: services.quote_second(inquiry=inquiry, by=by, on=ON),
        "send_back": lambda: services.quote_send_back(inquiry=inquiry, by=by, note="too thin"),
        "decline": lambda: services.inquiry_decline(inquiry=inquiry, by=by, on=ON),
        "send": lambda: services.quote_send(quote=quote, by=by),
        "win": lambda: services.quote_won(quote=quote, release=100, by=by, on=ON),
        "lose": lambda: services.quote_lost(quote=quote, reason="price", by=by),
        "revoke_link": lambda: services.link_revoke(quote=quote, by=by),
    }


@pytest.mark.parametrize(
    "deed",
    ["change", "answer", "override", "approve", "second", "send_back", "decline", "send", "win", "lose", "revoke_link"],
)
@pytest.mark.parametrize("who", ["other_rep", "manager", "administrator", "rep"])
def test_a_service_refuses_whom_the_table_refuses_and_records_nothing(office, deed, who):
    quote, _ = sent(office)
    column = GRANTS[deed][ROLES.index("rep" if who == "other_rep" else who)]
    if column == "y" or (column == "o" and who == "rep"):
        return
    before = AuditEntry.objects.count()
    with pytest.raises(PermissionDenied, match="Only the"):
        deeds(Inquiry.objects.get(), quote, getattr(office, who))[deed]()
    assert AuditEntry.objects.count() == before
    assert Inquiry.objects.get().state == "sent"


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize(
    "deed", ["answer", "override", "approve", "second", "send_back", "decline", "send", "win", "lose"]
)
def test_a_service_goes_only_where_the_table_leads(office, deed, state):
    if deed == "decline" or (deed == "send" and state == "declined"):
        office.core.snapshot = stored_answer("not_a_fit")
        inquiry = answered(office)
        quote = services.inquiry_decline(inquiry=inquiry, by=office.estimator, on=ON) if state != "answered" else None
    else:
        quote = approved(office)
    Inquiry.objects.update(state=state)
    inquiry = Inquiry.objects.get()
    if quote is not None:
        quote = Quote.objects.get(pk=quote.pk)
    targets = policies.ACTS[deed].moves.get(state)
    act = deeds(inquiry, quote, office.manager if deed in ("second", "send_back") else office.estimator)[deed]
    if targets is None:
        with pytest.raises(ValidationError):
            act()
        assert Inquiry.objects.get().state == state
    else:
        act()
        assert Inquiry.objects.get().state in targets


def test_a_rep_finds_only_own_inquiries_by_list_number_and_document(office):
    quote, _ = sent(office)
    number = quote.inquiry.number
    assert list(selectors.inquiry_list(person=office.rep)) == [quote.inquiry]
    assert selectors.inquiry_get(person=office.estimator, number=number).number == number
    assert list(selectors.inquiry_list(person=office.other_rep)) == []
    assert list(selectors.inquiry_list(person=office.administrator)) == []
    with pytest.raises(Inquiry.DoesNotExist):
        selectors.inquiry_get(person=office.other_rep, number=number)
    with pytest.raises(Quote.DoesNotExist):
        selectors.quote_get(person=office.other_rep, number=quote.number, revision=1)


def test_counts_that_are_kept_follow_the_next_deed(office):
    answered(office)
    first = [selectors.state_counts(person=office.estimator)["answered"] for _ in range(3)]

    answered(office)

    assert first == [1, 1, 1]
    assert selectors.state_counts(person=office.estimator)["answered"] == 2
    assert selectors.state_counts(person=office.other_rep)["answered"] == 0


def test_counts_that_are_kept_ask_only_whether_something_changed(office, django_assert_num_queries):
    answered(office)
    selectors.state_counts(person=office.estimator)

    with django_assert_num_queries(1) as asked:
        selectors.state_counts(person=office.estimator)
    assert "countedchange" in asked.captured_queries[0]["sql"]
