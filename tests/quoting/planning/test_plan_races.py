"""Two managers at one plan: of two who accept at once one does. SQLite has one writer at a time, PostgreSQL several."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.core.exceptions import ValidationError
from django.db import connection, transaction

from machines.models import Booking, TimeWindow
from quoting.planning.models import Job, PlanMove, PlanRun
from quoting.quotes import balancing, balancing_work, down_time, policies, services
from quoting.quotes.models import AuditEntry
from quoting.quotes.workers import beat
from tests.quoting.desk.world import person
from tests.quoting.planning.won_work import job, next_monday, two_of_one_plant
from tests.quoting.quotes.test_races import on_postgresql


@pytest.fixture
def managers(transactional_db, settings):
    settings.BACKGROUND = "workers"
    services.catalog_ensure()
    services.ensure_groups()
    Booking.objects.all().delete()
    return [person(name, policies.MANAGER) for name in ("mia", "max")]


def plan(manager):
    run = balancing.plan_ask(
        kind="machine_down", overtime=0.0, by=manager, machine=two_of_one_plant()[0], down_from=next_monday(),
        down_weeks=2,
    )  # fmt: skip
    beat("w")
    balancing_work.work_off(run.pk, "w")
    return PlanRun.objects.get(pk=run.pk)


def at_once(deeds):
    barrier = Barrier(len(deeds))

    def one(deed):
        try:
            barrier.wait(timeout=20)
            return deed()
        except ValidationError as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(len(deeds)) as threads:
        return list(threads.map(one, deeds))


def accept(run, manager, number=1):
    move = run.moves.get(number=number)
    return lambda: balancing.move_accept(move=move, by=manager, version=str(run.version))


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_of_two_managers_who_accept_the_same_move_at_once_one_does(managers):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = plan(managers[0])

    results = at_once([accept(run, one) for one in managers])

    assert sum(isinstance(one, PlanMove) for one in results) == 1
    assert sum("accepted already by" in str(one) for one in results) == 1
    assert AuditEntry.objects.filter(action="plan_move_accept").count() == 1
    assert sum(Booking.objects.values_list("hours", flat=True)) == pytest.approx(22)


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_down_time_that_two_managers_write_at_once_stands_once_though_they_asked_in_two_plans(managers):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    runs = [plan(one) for one in managers]

    at_once([lambda run=run, by=by: down_time.plan_down_write(run=run, by=by, version=str(run.version))
             for run, by in [(runs[0], managers[0]), (runs[0], managers[1]), (runs[1], managers[1])]])  # fmt: skip

    windows = TimeWindow.objects.filter(machine=first, reason__startswith="down")
    assert windows.count() == 1
    assert AuditEntry.objects.filter(action="plan_down_write").count() == 1


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_of_two_plans_that_move_the_same_work_at_once_one_does(managers):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    runs = [plan(one) for one in managers]

    results = at_once([accept(run, one) for run, one in zip(runs, managers, strict=True)])

    assert sum(isinstance(one, PlanMove) for one in results) == 1
    assert Job.objects.get().machine == mate
    assert sum(Booking.objects.values_list("hours", flat=True)) == pytest.approx(22)


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_a_move_that_fails_midway_leaves_nothing_behind(managers, monkeypatch):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = plan(managers[0])

    def breaks(*arguments):
        raise ValidationError("broken")

    monkeypatch.setattr(balancing, "_bench", breaks)
    with pytest.raises(ValidationError, match="broken"), transaction.atomic():
        accept(run, managers[0])()

    assert Job.objects.get().machine == first and run.moves.get().state == "proposed"
    assert list(Booking.objects.values_list("machine__code", "hours")) == [(first.code, 20.0)]
