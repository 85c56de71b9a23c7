"""The walk over every address for every kind of visitor, against the table of rights."""

import re
from decimal import Decimal

import pytest
from django.apps import apps
from django.db import transaction
from django.test import Client
from django.urls import reverse

from quoting.desk import rights, views_estimator
from quoting.quotes import policies, services, steps

from . import walk, world

# What a GET may write: its session, the time of a log-in, the count of wrong links, and who saw or took out what.
READERS_WRITE = {"sessions_session", "quotes_misses", "quotes_auditentry"}


@pytest.fixture(scope="module")
def office(django_db_setup, django_db_blocker, tmp_path_factory):
    with django_db_blocker.unblock(), transaction.atomic(), pytest.MonkeyPatch.context() as patch:
        from django.conf import settings

        patch.setattr(settings, "MEDIA_ROOT", tmp_path_factory.mktemp("media"))
        patch.setattr(settings, "MISSES_A_MINUTE", 10**6)  # the walk guesses all the time
        made = world.build()
        for module in (services, steps):  # a post that is let through need not compute the same answer again
            patch.setattr(module, "outcome", lambda raw, catalog, on: made.answer)
        patch.setattr(views_estimator, "render_worksheet", lambda *arguments, **named: b"%PDF")
        yield made
        transaction.set_rollback(True)


def test_every_route_has_one_line_in_the_table_and_every_line_has_its_route():
    assert sorted(set(walk.desk_routes())) == sorted(rights.ROUTES), "say in quoting/desk/rights.py who may open it"


def test_every_page_of_the_admin_is_known_to_the_table():
    unknown = [name for name, _ in world.routes() if name.startswith("admin:") and rights.of(name) is None]

    assert not unknown, "name its table in rights.ADMIN_TABLES"


def test_a_route_without_a_line_is_refused(office, monkeypatch):
    monkeypatch.delitem(rights.ROUTES, "review")

    assert office.client("estimator").get(reverse("review")).status_code == 403


@pytest.mark.parametrize("route", sorted(rights.ROUTES))
def test_each_visitor_gets_at_each_address_what_the_table_says(office, route):
    wrong = [step for step in walk.walk(office, [route]) if not step.is_as_intended]

    assert not wrong


# Written down a second time, by hand, so that a slip in the tables of policies shows here.
# rep (own), rep (another's), estimator, manager, administrator
BY_HAND = {
    "inquiry-log": "Y-Y--", "inquiry-change": "Y-Y--", "inquiry": "Y-YY-", "model-file": "Y-YY-",
    "work": "--YY-", "candidate": "--YY-", "worksheet": "--YY-", "override-add": "--Y--", "answer-again": "--Y--",
    "approve": "--Y--", "decline": "--Y--", "second": "---Y-", "waiting": "---Y-", "audit-period": "---YY",
    "history-export": "--YY-", "rates": "--YYY", "rates-import": "---YY", "repricing-start": "---YY",
    "repricing": "--YYY", "candidates": "--YY-", "changes": "--YY-", "send-by-mail": "Y-Y--",
    "send": "Y-Y--", "revoke": "Y-Y-Y", "document": "Y-YY-", "won": "Y-Y--",
    "shop-runs": "--YY-", "shop-run-new": "--YY-", "shop-run-correct": "--YY-", "shop-runs-import": "--YY-",
    "shop-runs-accuracy": "--YY-", "lost": "Y-Y--", "loading": "--YY-", "review": "--YY-",
}  # fmt: skip


@pytest.mark.parametrize("route", BY_HAND)
def test_the_table_grants_what_the_owner_was_told(route):
    granted = [rights.grant(rights.ROUTES[route], held) for held in rights.ROLES]
    rep, others = granted[0], granted[1:]
    letters = ["Y" if rep else "-", "Y" if rep == policies.ALL else "-", *("Y" if one else "-" for one in others)]

    assert "".join(letters) == BY_HAND[route]


@pytest.mark.parametrize("visitor", ["rep", "estimator", "manager", "administrator", "no_role"])
@pytest.mark.parametrize("table", rights.ADMIN_TABLES)
def test_each_table_of_the_admin_opens_for_the_role_that_may(office, visitor, table):
    held, client = world.PEOPLE[visitor], office.client(visitor)
    wanted = {verb: 200 if held and rights.edits(held, table, verb) else 403 for verb in ("view", "add")}

    found = {
        verb: client.get(reverse(f"admin:{table}_{page}")).status_code
        for verb, page in (("view", "changelist"), ("add", "add"))
    }

    assert found == wanted


def without_key(response) -> str:
    """The page without the key of its log-out form, which is another each time."""
    return re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", response.content.decode())


def test_what_belongs_to_another_looks_like_what_does_not_exist(office):
    client = office.client("rep")
    for route in walk.desk_routes():
        if "number" not in world.parameters(route) or not rights.grant(rights.ROUTES[route], policies.REP):
            continue
        address = office.addresses(route, "other")[-1]
        missing = address.replace(office.other.sent.number, "I-1999-0001")
        method = "GET" if "GET" in rights.ROUTES[route].methods else "POST"
        hers, nobodys = (client.generic(method, one) for one in (address, missing))
        assert hers.status_code == nobodys.status_code == 404, route
        assert without_key(hers) == without_key(nobodys), route


def test_no_get_and_no_head_writes(office):
    tables = [model for model in apps.get_models() if model._meta.db_table not in READERS_WRITE]

    def rows() -> dict[str, int]:
        return {model._meta.label: model.objects.count() for model in tables}

    def states() -> list:
        return list(office.own.sent.__class__.objects.order_by("pk").values_list("state", "version"))

    before = rows(), states()
    for route in walk.desk_routes():
        for visitor in ("anonymous", "rep", "estimator", "customer"):
            for address in office.addresses(route):
                office.client(visitor).head(address)
                if visitor in ("estimator", "customer"):
                    office.client(visitor).get(address)

    assert (rows(), states()) == before


def test_every_post_without_its_key_is_refused(office):
    for route, right in rights.ROUTES.items():
        if "POST" not in right.methods:
            continue
        for visitor in ("rep", "estimator", "customer", "anonymous"):
            strict = Client(enforce_csrf_checks=True)
            strict.cookies = office.client(visitor).cookies.copy()
            response = strict.post(office.addresses(route)[-1], {"reason": "x"})
            is_log_in = response.status_code == 302 and response.url.startswith(reverse("login"))
            assert response.status_code in (403, 404) or is_log_in, (route, visitor, response.status_code)


def test_no_figure_of_cost_reaches_a_rep_or_a_customer(office):
    """The total of each cost line, as kept and as written on a page, is looked for in every page that they can open."""
    cost = office.answer.snapshot["chosen"]["cost"]
    totals = {Decimal(line["total"]) for line in cost["lines"] if Decimal(line["total"]) > 100}
    amounts = {str(one) for one in totals} | {f"{one:,.2f}" for one in totals}
    assert len(amounts) > 10
    for visitor in ("rep", "customer"):
        for route in walk.desk_routes():
            for address in office.addresses(route):
                page = office.client(visitor).get(address)
                if page.status_code != 200 or page.streaming:
                    continue
                text = page.content.decode("utf-8", "replace")
                found = [one for one in amounts if one in text]
                assert not found, (visitor, address, found)
    assert any(one in office.client("estimator").get(office.addresses("work")[0]).content.decode() for one in amounts)


def test_fields_that_no_form_offers_change_nothing(office):
    extra = {
        "state": "won", "number": "I-1", "created_by": "1", "created_by_id": "1", "owner": "1", "decision": "quote",
        "is_staff": "on", "is_superuser": "on", "approved_by": "1", "total": "1", "snapshot": "{}", "id": "1",
    }  # fmt: skip
    kept = type(office.own.sent).objects
    before = {row["id"]: row for row in kept.values("id", "number", "created_by_id", "decision")}
    with transaction.atomic():
        for route, right in rights.ROUTES.items():
            if "POST" in right.methods and route not in ("logout",):
                for visitor in ("rep", "customer"):
                    for address in office.addresses(route):
                        office.client(visitor).post(address, extra)
        after = {row["id"]: row for row in kept.values("id", "number", "created_by_id", "decision")}
        person = type(office.people["rep"]).objects.get(pk=office.people["rep"].pk)
        won = kept.filter(state="won").count()
        transaction.set_rollback(True)

    assert {pk: after[pk] for pk in before} == before
    assert not (person.is_staff or person.is_superuser or won)


def test_a_person_whose_role_is_taken_or_who_is_switched_off_is_out_at_the_next_request(office):
    with transaction.atomic():
        client = Client()
        person = office.people["other_rep"]
        client.force_login(person)
        assert client.get(reverse("inquiries")).status_code == 200
        person.groups.clear()
        assert client.get(reverse("inquiries")).status_code == 403
        type(person).objects.filter(pk=person.pk).update(is_active=False)
        assert client.get(reverse("account")).url.startswith(reverse("login"))
        transaction.set_rollback(True)
