"""Correction factors: proposed from recorded runs, applied once accepted, from their day on; issued quotes stay."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import DatabaseError, connection, transaction

from machines.models import Machine
from quoting.planning.models import DONE, FactorVersion, Job, RunRecord
from quoting.planning.run_models import FORM
from quoting.planning.selectors import corrections_of, factors_in_force
from quoting.quotes.models import AuditEntry, Quote
from quoting.quotes.records import now, today
from quoting.quotes.runs import factors
from quoting.quotes.steps import ConflictError
from tests.quoting.quotes.conftest import sent
from tests.quoting.quotes.test_races import at_once, on_postgresql

pytestmark = pytest.mark.django_db


def record_runs(machine, ratios, first=1):
    """One finished job and run of each ratio: so many times the ten hours that were estimated."""
    for place, ratio in enumerate(ratios, first):
        day = today() - timedelta(days=400 - place)
        job = Job.objects.create(
            quote=f"Q-1999-{place:04d}", state=DONE, machine=machine, process="vacuum", polymer="ABS", quantity=100,
            hours=12, since=day, ready=day, due=day, value=1000, margin=0.2,
        )  # fmt: skip
        RunRecord.objects.create(
            job=job, machine=machine, started=day, ended=day, parts_good=100, parts_scrapped=0,
            run_hours=10.0 * ratio, source=FORM, at=now(),
            estimated={"machine": machine.code, "process": "vacuum", "polymer": "ABS", "run_hours": 10.0},
        )  # fmt: skip


@pytest.fixture
def shop(office):
    machine = Machine.objects.order_by("code").first()
    record_runs(machine, [1.15, 1.2, 1.25, 1.1, 1.3, 1.18, 1.22, 1.2, 1.21, 1.19, 1.17, 1.24])
    return SimpleNamespace(office=office, machine=machine, by=office.estimator)


def propose(shop, **more):
    return factors.factors_propose(by=shop.by, version=factors.fingerprint(factors.proposed()), **more)


def accept(shop, version, day=None):
    return factors.factors_accept(
        factors=version, valid_from=day or today(), version=factors.fingerprint(version), by=shop.by
    )


def in_force(day):
    return corrections_of(factors_in_force(day))


def test_a_proposal_is_not_in_force(shop):
    made = propose(shop)

    assert made.number == 1 and made.state == "proposed" and made.runs == 12
    assert in_force(today()) is None


def test_an_accepted_version_counts_from_its_day_on(shop):
    begins = today() + timedelta(days=3)
    accept(shop, propose(shop), begins)

    assert in_force(begins - timedelta(days=1)) is None
    found = in_force(begins)
    machine = found.by_name["run_hours", "machine", shop.machine.code]
    assert found.version == 1 and machine.runs == 12
    # the twelve runs' geometric mean by hand: exp(mean of logarithms) = 1.1998
    assert machine.observed == pytest.approx(1.1998, abs=1e-4)
    together = [found.by_name["run_hours", *pair].factor for pair in
                (("machine", shop.machine.code), ("polymer", "ABS"), ("process", "vacuum"))]  # fmt: skip
    assert 1.15 < together[0] * together[1] * together[2] < 1.2
    assert found.measures[0].least < 1 < found.measures[0].most


def test_a_refused_version_changes_nothing_and_says_why(shop):
    made = propose(shop)
    with pytest.raises(ValidationError, match="Say why"):
        factors.factors_refuse(factors=made, reason=" ", version=factors.fingerprint(made), by=shop.by)
    refused = factors.factors_refuse(
        factors=made, reason="one bad week", version=factors.fingerprint(made), by=shop.by
    )  # fmt: skip

    assert (refused.state, refused.reason) == ("refused", "one bad week")
    assert in_force(today()) is None
    with pytest.raises(ConflictError):
        accept(shop, made)


def test_nothing_is_proposed_that_is_in_force_already(shop):
    accept(shop, propose(shop))
    with pytest.raises(ValidationError, match="Nothing to propose"):
        propose(shop)
    record_runs(shop.machine, [2.0, 2.1, 1.9], first=20)
    assert propose(shop).number == 2


def test_without_runs_there_is_nothing_to_propose(office):
    with pytest.raises(ValidationError, match="Nothing to propose"):
        factors.factors_propose(by=office.estimator, version=factors.fingerprint(None))
    with pytest.raises(ValidationError, match="no factors are in force"):
        factors.factors_propose(by=office.estimator, version=factors.fingerprint(None), none=True)


def test_a_newer_proposal_takes_the_place_of_one_that_nobody_decided_on(shop):
    first = propose(shop)
    with pytest.raises(ValidationError, match="proposes just this already"):
        propose(shop)
    record_runs(shop.machine, [2.0, 2.1, 1.9], first=20)
    second = propose(shop)
    first.refresh_from_db()

    assert (first.state, second.state) == ("replaced", "proposed")
    assert FactorVersion.objects.filter(state="proposed").count() == 1


def test_estimates_can_go_back_to_what_they_were(shop):
    accept(shop, propose(shop))
    accept(shop, propose(shop, none=True))

    assert in_force(today()) is None
    assert [one.state for one in FactorVersion.objects.order_by("number")] == ["replaced", "accepted"]


def test_a_version_that_begins_later_gives_way_to_one_that_begins_before(shop):
    accept(shop, propose(shop), today() + timedelta(days=30))
    record_runs(shop.machine, [2.0, 2.1, 1.9], first=20)
    accept(shop, propose(shop), today() + timedelta(days=5))

    assert in_force(today() + timedelta(days=60)).version == 2


@pytest.mark.parametrize("days", [-1, 400])
def test_a_version_does_not_begin_in_the_past_or_far_ahead(shop, days):
    with pytest.raises(ValidationError, match="accepted is a day from today"):
        accept(shop, propose(shop), today() + timedelta(days=days))


def test_a_decision_on_what_was_not_looked_at_is_a_conflict(shop):
    made = propose(shop)
    for version in ("", "0" * 64):
        with pytest.raises(ConflictError):
            factors.factors_accept(factors=made, valid_from=today(), version=version, by=shop.by)
    assert FactorVersion.objects.get().state == "proposed"


def test_each_deed_is_recorded(shop):
    accept(shop, propose(shop))

    deeds = AuditEntry.objects.filter(action__startswith="factors_").order_by("pk")
    assert [(one.action, one.detail["version"], one.by) for one in deeds] == [
        ("factors_propose", 1, shop.by), ("factors_accept", 1, shop.by),
    ]  # fmt: skip


def test_only_estimator_and_manager_decide(shop):
    made, office = propose(shop), shop.office
    with pytest.raises(PermissionDenied):
        factors.factors_propose(by=office.rep, version="")
    with pytest.raises(PermissionDenied):
        factors.factors_accept(
            factors=made, valid_from=today(), version=factors.fingerprint(made), by=office.rep
        )  # fmt: skip
    with pytest.raises(PermissionDenied):
        factors.factors_refuse(factors=made, reason="no", version=factors.fingerprint(made), by=office.rep)


def test_of_a_version_nothing_changes_but_the_decision(shop):
    made = propose(shop)
    made.measures = []
    with pytest.raises(ValidationError, match="only the decision"):
        made.save()
    with pytest.raises(ValidationError, match="never deleted"):
        FactorVersion.objects.get().delete()
    accepted = accept(shop, FactorVersion.objects.get())
    accepted.reason = "later"
    with pytest.raises(ValidationError, match="accepted already"):
        accepted.save()


def test_an_issued_quote_stays_as_it_was(shop):
    quote, _ = sent(shop.office)
    before = Quote.objects.values("snapshot", "digest", "pdf_digest").get(pk=quote.pk)
    accept(shop, propose(shop))

    assert Quote.objects.values("snapshot", "digest", "pdf_digest").get(pk=quote.pk) == before


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_of_decisions_at_once_one_counts(shop):
    made = propose(shop)
    version = factors.fingerprint(made)

    def decide(place):
        if place % 2:
            return factors.factors_refuse(factors=made, reason="no", version=version, by=shop.by)
        return factors.factors_accept(factors=made, valid_from=today(), version=version, by=shop.by)

    results = at_once(6, decide)
    assert sum(isinstance(one, FactorVersion) for one in results) == 1
    assert all(isinstance(one, FactorVersion | ConflictError) for one in results)
    assert AuditEntry.objects.filter(action__in=("factors_accept", "factors_refuse")).count() == 1


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_of_proposals_at_once_one_is_made(shop):
    version = factors.fingerprint(None)
    results = at_once(4, lambda place: factors.factors_propose(by=shop.by, version=version))

    assert sum(isinstance(one, FactorVersion) for one in results) == 1 == FactorVersion.objects.count()


@pytest.mark.parametrize(
    "deed",
    [
        "UPDATE planning_factorversion SET measures = '[]'", "UPDATE planning_factorversion SET runs = 99",
        "UPDATE planning_factorversion SET state = 'proposed', decided_at = NULL",
        "UPDATE planning_factorversion SET valid_from = '2030-01-01'",
        "UPDATE planning_factorversion SET state = 'replaced', valid_from = '2030-01-01'",
        "UPDATE planning_factorversion SET state = 'refused'", "DELETE FROM planning_factorversion",
    ],
)  # fmt: skip
def test_the_database_itself_keeps_an_accepted_version(shop, deed):
    accept(shop, propose(shop))
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(deed)


def test_the_database_lets_a_decision_go_its_ways(shop):
    accept(shop, propose(shop))
    second = propose(shop, none=True)
    accept(shop, second)
    assert list(FactorVersion.objects.order_by("number").values_list("state", flat=True)) == ["replaced", "accepted"]
