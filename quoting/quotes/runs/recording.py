"""Recording what a run took: one at a time, from the form; a correction is a further record that replaces one."""

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from machines.models import Machine
from quoting.planning.models import DONE, WON, Job, RunImport, RunRecord
from quoting.planning.run_models import FORM
from quoting.quotes import policies
from quoting.quotes.models import QUOTE, Inquiry, Quote
from quoting.quotes.records import audit, now, today
from quoting.quotes.runs.estimates import Basis, basis_of
from quoting.quotes.runs.reading import House, Told
from quoting.quotes.steps import ConflictError

ORDERED = (WON, DONE)


def house() -> House:
    """What a told run is held against today."""
    jobs = frozenset(Job.objects.filter(state__in=ORDERED).values_list("quote", flat=True))
    return House(jobs, frozenset(Machine.objects.values_list("code", flat=True)), today())


def in_force() -> QuerySet[RunRecord]:
    """The records that nothing replaces, the run that ended last first."""
    return RunRecord.objects.filter(replaced_by__isnull=True)


def basis_for(job: Job) -> Basis | None:
    """What the newest revision of a job's quote says of its runs; None where the house holds no such quote."""
    found = Quote.objects.filter(number=job.quote, kind=QUOTE).order_by("-revision").only("snapshot").first()
    return basis_of(found.snapshot, job.quantity) if found else None


def made(
    told: Told, job: Job, machine: Machine, basis: Basis | None, *, by: object | None, source: str,
    replaces: RunRecord | None = None, record: RunImport | None = None,
) -> RunRecord:  # fmt: skip
    """The row of a told run, not yet saved. A job without a kept quote keeps the estimate of the run it replaces."""
    estimated = basis.estimated(told.parts_good) if basis else {}
    if not estimated and replaces and replaces.parts_good == told.parts_good:
        estimated = replaces.estimated
    return RunRecord(
        job=job, machine=machine, **told.figures, estimated=estimated, replaces=replaces, source=source,
        record=record, by=by, at=now(),
    )  # fmt: skip


@transaction.atomic
def run_record(*, told: Told, by: object, source: str = FORM) -> RunRecord:
    """Record a run. A second one of this job and machine that began the same day is refused."""
    policies.require(by, "record_runs")
    job = _ordered(told.job)
    kept = made(told, job, _machine(told.machine), basis_for(job), by=by, source=source)
    _save(kept)
    job_delivered([(job, told)])
    about = {"inquiry": _inquiry_of(job), "job": job.quote}
    audit("run_record", by=by, **about, machine=told.machine, started=told.started.isoformat(), run=kept.pk)
    return kept


@transaction.atomic
def run_correct(*, record: RunRecord, told: Told, reason: str, by: object) -> RunRecord:
    """Put a corrected record in the place of one. ConflictError where somebody has corrected it already."""
    policies.require(by, "record_runs")
    if not reason.strip():
        raise ValidationError("Say why the record is corrected.")
    if told.job != record.job.quote:
        raise ValidationError("A correction keeps its job; record the run for the other job and note it here.")
    job = _ordered(told.job)
    if RunRecord.objects.filter(replaces=record).exists():
        raise ConflictError("This record was corrected meanwhile; look at the newer one.")
    alike = in_force().filter(job=job, machine__code=told.machine, started=told.started).exclude(pk=record.pk)
    if alike.exists():
        raise ValidationError("A run of this job on this machine that began that day is recorded already.")
    kept = made(told, job, _machine(told.machine), basis_for(job), by=by, source=FORM, replaces=record)
    _save(kept)
    job_delivered([(job, told)])
    about = {"inquiry": _inquiry_of(job), "job": job.quote}
    audit("run_correct", by=by, **about, run=kept.pk, replaces=record.pk, reason=reason.strip()[:500])
    return kept


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


def job_delivered(runs: Iterable[tuple[Job, Told]]) -> None:
    """Jobs whose run says that all is delivered are done, on the latest day told."""
    for job, told in runs:
        if told.delivered and (job.state != DONE or job.delivered != told.delivered):
            job.state, job.delivered = DONE, max(told.delivered, job.delivered or told.delivered)
            job.save(update_fields=["state", "delivered"])
