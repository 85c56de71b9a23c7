"""Recording what a run took: one at a time, from the form; a further record corrects one or withdraws it."""

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max, QuerySet

from machines.models import Machine
from quoting.planning.models import DONE, WON, Job, RunImport, RunRecord
from quoting.planning.run_models import FORM
from quoting.quotes import policies
from quoting.quotes.models import QUOTE, Inquiry, Quote
from quoting.quotes.records import audit, now, today
from quoting.quotes.runs.estimates import Basis, basis_of
from quoting.quotes.runs.reading import MOST_NOTE, House, Told
from quoting.quotes.steps import ConflictError
from quoting.quotes.trying_again import tried_again

ORDERED = (WON, DONE)
TWICE = "A run of this job on this machine that began that day is recorded already."


def house() -> House:
    """What a told run is held against today."""
    jobs = frozenset(Job.objects.filter(state__in=ORDERED).values_list("quote", flat=True))
    return House(jobs, frozenset(Machine.objects.values_list("code", flat=True)), today())


def in_force() -> QuerySet[RunRecord]:
    """The records that nothing replaces, but those that withdraw one; the run that ended last first."""
    return RunRecord.objects.filter(replaced_by__isnull=True, withdrawn=False)


def basis_for(job: Job) -> Basis | None:
    """What the newest revision of a job's quote says of its runs; None where the house holds no such quote."""
    found = Quote.objects.filter(number=job.quote, kind=QUOTE).order_by("-revision").only("snapshot").first()
    return basis_of(found.snapshot, job.quantity) if found else None


def made(
    told: Told, job: Job, machine: Machine, basis: Basis | None, *, by: object | None, source: str,
    replaces: RunRecord | None = None, reason: str = "", record: RunImport | None = None,
) -> RunRecord:  # fmt: skip
    """The row of a told run, not yet saved. A job without a kept quote keeps the estimate of the run it replaces."""
    estimated = basis.estimated(told.parts_good) if basis else {}
    if not estimated and replaces and replaces.parts_good == told.parts_good:
        estimated = replaces.estimated
    return RunRecord(
        job=job, machine=machine, **told.figures, estimated=estimated, replaces=replaces, reason=reason,
        source=source, record=record, by=by, at=now(),
    )  # fmt: skip


@tried_again
@transaction.atomic
def run_record(*, told: Told, by: object, source: str = FORM) -> RunRecord:
    """Record a run. A second one of this job and machine that began the same day is refused."""
    policies.require(by, "record_runs")
    job = _ordered(told.job)
    _require_new(job, told)
    kept = made(told, job, _machine(told.machine), basis_for(job), by=by, source=source)
    _save(kept)
    jobs_delivered([job])
    about = {"inquiry": _inquiry_of(job), "job": job.quote}
    audit("run_record", by=by, **about, machine=told.machine, started=told.started.isoformat(), run=kept.pk)
    return kept


@tried_again
@transaction.atomic
def run_correct(*, record: RunRecord, told: Told, reason: str, by: object) -> RunRecord:
    """Put a corrected record in the place of one. ConflictError where somebody has corrected it already."""
    policies.require(by, "record_runs")
    if told.job != record.job.quote:
        raise ValidationError("A correction keeps its job; withdraw this run and record it for the other job.")
    why = _said(reason, "Say why the record is corrected.")
    job = _to_replace(record)
    _require_new(job, told, besides=record)
    kept = made(
        told, job, _machine(told.machine), basis_for(job), by=by, source=FORM, replaces=record, reason=why
    )  # fmt: skip
    _save(kept)
    jobs_delivered([job])
    about = {"inquiry": _inquiry_of(job), "job": job.quote}
    audit("run_correct", by=by, **about, run=kept.pk, replaces=record.pk, reason=why)
    return kept


@tried_again
@transaction.atomic
def run_withdraw(*, record: RunRecord, reason: str, by: object) -> RunRecord:
    """Record that there was no such run: it counts nowhere from now on. ConflictError where it was replaced already."""
    policies.require(by, "record_runs")
    why = _said(reason, "Say why the run is withdrawn.")
    job = _to_replace(record)
    own = ("id", "replaces", "reason", "withdrawn", "source", "record", "by", "at")
    figures = {one.name: getattr(record, one.name) for one in RunRecord._meta.concrete_fields if one.name not in own}
    kept = RunRecord(**figures, replaces=record, reason=why, withdrawn=True, source=FORM, by=by, at=now())
    _save(kept)
    jobs_delivered([job])
    about = {"inquiry": _inquiry_of(job), "job": job.quote}
    audit("run_withdraw", by=by, **about, run=kept.pk, replaces=record.pk, reason=why)
    return kept


def _said(reason: str, otherwise: str) -> str:
    if not reason.strip():
        raise ValidationError(otherwise)
    return reason.strip()[:MOST_NOTE]


def _to_replace(record: RunRecord) -> Job:
    """The job of a record that can be replaced, locked."""
    job = _ordered(record.job.quote)
    if record.withdrawn or RunRecord.objects.filter(replaces=record).exists():
        raise ConflictError("This record was corrected or withdrawn meanwhile; look at the newer one.")
    return job


def _require_new(job: Job, told: Told, besides: RunRecord | None = None) -> None:
    """No other run in force is of this job and machine and began that day. The lock on the job makes it hold; a
    constraint cannot, since which record is in force stands in another row."""
    alike = in_force().filter(job=job, machine__code=told.machine, started=told.started)
    if alike.exclude(pk=besides.pk if besides else None).exists():
        raise ValidationError(TWICE)


def _inquiry_of(job: Job) -> Inquiry | None:
    return Inquiry.objects.filter(quotes__number=job.quote, quotes__kind=QUOTE).only("pk").first()


def _ordered(quote: str) -> Job:
    job = Job.objects.select_for_update().filter(quote=quote, state__in=ORDERED).first()
    if job is None:
        raise ValidationError(f"Job: got {quote}; accepted is the number of a job that was ordered.")
    return job


def _machine(code: str) -> Machine:
    found = Machine.objects.filter(code=code).first()
    if found is None:
        raise ValidationError(f"Machine: got {code}; accepted is the code of a machine of the house.")
    return found


def _save(kept: RunRecord) -> None:
    kept.full_clean()
    kept.save()


def jobs_delivered(jobs: Iterable[Job]) -> None:
    """Jobs with a run in force that tells its delivery are done, on the latest day told; the others are won."""
    jobs = list(jobs)
    last = in_force().filter(job__in=jobs).order_by().values("job").annotate(last=Max("delivered"))
    told = dict(last.values_list("job", "last"))
    for job in jobs:
        day = told.get(job.pk)
        if job.delivered != day or job.state != (DONE if day else WON):
            job.state, job.delivered = DONE if day else WON, day
            job.save(update_fields=["state", "delivered"])
