"""From the first released schema, with data in it, to now: nothing that was issued changes, everything opens."""

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.db import DatabaseError, connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.urls import reverse

from quoting.operation import manifest
from quoting.quotes import models, services, stock
from tests.quoting.operation import filled_tables, first_release


@pytest.fixture
def first(transactional_db):
    """A database of the first release with its data; emptied again afterwards."""
    content = first_release.read()
    with connection.constraint_checks_disabled(), connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'DROP TABLE "{table}"' + (" CASCADE" if connection.vendor == "postgresql" else ""))
    first_release.fill(content, first_release.migrate_to_first_release(content))
    yield content
    empty_frozen_tables()


@pytest.fixture
def upgraded(first):
    first_release.migrate_to_now()
    return first


def empty_frozen_tables() -> None:
    """So that the test's database can be emptied: SQLite asks its triggers about each row, PostgreSQL truncates."""
    if connection.vendor != "sqlite":
        return
    with connection.constraint_checks_disabled(), connection.cursor() as cursor:
        cursor.execute("SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = cursor.fetchall()
        for name, _, _ in triggers:
            cursor.execute(f'DROP TRIGGER "{name}"')
        for table in {table for _, table, _ in triggers}:
            cursor.execute(f'DELETE FROM "{table}"')  # noqa: S608 - names of our own tables
        for _, _, statement in triggers:
            cursor.execute(statement)


@pytest.mark.django_db(transaction=True)
def test_a_database_of_the_first_release_is_migrated_with_all_it_holds(upgraded, client):
    columns = upgraded["tables"]["quotes_quote"]["columns"]
    then = [dict(zip(columns, row, strict=True)) for row in upgraded["tables"]["quotes_quote"]["rows"]]
    told = {f"{one['number']} revision {one['revision']}": (one["digest"], one["pdf_digest"]) for one in then}

    # every issued document is what was issued, computed anew from its content
    issued = list(manifest.issued())
    assert {one.name: (one.found, one.pdf_found) for one in issued} == told
    assert len(told) == 3
    # no row is lost
    for name in ("quotes_inquiry", "quotes_override", "quotes_customerreply", "quotes_customer"):
        model = next(
            one for one in models.__dict__.values() if getattr(one, "_meta", None) and one._meta.db_table == name
        )
        assert model.objects.count() == len(upgraded["tables"][name]["rows"])
    # the audit entries that were there are there, word for word; migrations may add theirs
    old = {row[0] for row in upgraded["tables"]["quotes_auditentry"]["rows"]}
    assert old <= set(models.AuditEntry.objects.values_list("pk", flat=True))
    # and it is still frozen by the database itself
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE quotes_quote SET digest = 'forged'")

    stock.ensure_groups()
    people = {one.username.partition("-")[2]: one for one in get_user_model().objects.all()}
    for who in ("rep", "estimator", "manager"):
        client.force_login(people[who])
        pages = [reverse("inquiries"), reverse("inquiries") + "?search=cover"]
        pages += [
            reverse("inquiry", args=[number]) for number in models.Inquiry.objects.values_list("number", flat=True)
        ]
        if who != "rep":
            pages += [reverse("work", args=[one]) for one in models.Inquiry.objects.values_list("number", flat=True)]
            pages += [reverse("review"), reverse("loading")]
        assert {client.get(page).status_code for page in pages} == {200}, who
    quote = models.Quote.objects.get(number="Q-2026-0002")
    assert client.get(reverse("document", args=[quote.inquiry.number])).content == bytes(quote.pdf)

    # old answers take part in the search, and new numbers follow the old ones
    assert models.Inquiry.objects.filter(search_text__contains="q-2026-0001").count() == 1
    waiting = models.Inquiry.objects.get(state=models.ANSWERED)
    again = services.inquiry_answer(inquiry=waiting, on=services.today(), by=people["estimator"])
    assert again.decision == "quote"
    logged = services.inquiry_log(typed=waiting.typed, by=people["rep"])
    assert logged.number == "I-2026-0006"


@pytest.mark.django_db(transaction=True)
def test_every_migration_of_every_app_runs_with_a_row_in_every_table(first):
    told = {tuple(row[:1]) for row in first["tables"]["quotes_quote"]["rows"]}

    names, put = filled_tables.migrate_step_by_step()

    # all that came since the first release, of each of our apps
    on_disk = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations if app in filled_tables.ours()}
    assert on_disk - set(names) == {
        f"{app}.{name}" for app, name in _up_to(first["migrations"]) if app in filled_tables.ours()
    }
    # each table of today has a row, and the row that was put into it is still there
    for model in apps.get_models(include_auto_created=True):
        if model._meta.app_label in filled_tables.ours() and model._meta.managed:
            assert model._default_manager.exists(), model._meta.db_table
            if model._meta.db_table in put:
                assert model._default_manager.filter(pk=put[model._meta.db_table]).exists(), model._meta.db_table
    connection.check_constraints()
    assert {(one.pk,) for one in models.Quote.objects.only("pk")} >= told
    assert {
        "planning_job",
        "planning_planrun",
        "planning_runrecord",
        "planning_factorversion",
        "machines_shift",
    } <= set(put)


def _up_to(targets: dict[str, str]) -> set[tuple[str, str]]:
    graph = MigrationLoader(None).graph
    return {node for target in targets.items() for node in graph.forwards_plan(target)}
