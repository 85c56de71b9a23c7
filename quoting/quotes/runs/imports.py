"""Bringing a file of runs in: sent, looked through, confirmed. Exactly what was shown, once, or nothing."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256

from django.core.exceptions import ValidationError
from django.db import connection, models, transaction
from django.utils.crypto import get_random_string

from machines.models import Machine
from quoting.planning.models import Job, RunImport, RunRecord, RunUpload
from quoting.planning.run_models import COMMAND, FILE
from quoting.quotes import policies
from quoting.quotes.rates.imports import shown_name
from quoting.quotes.records import audit, next_number, now, today
from quoting.quotes.runs import recording
from quoting.quotes.runs.estimates import Basis
from quoting.quotes.runs.reading import COLUMNS, Told, Wrong, read_run_table
from quoting.quotes.steps import ConflictError
from quoting.quotes.trying_again import tried_again

KEPT_UPLOADS = timedelta(days=1)
SERIES = "RUN"
AT_ONCE = 500  # jobs that a statement names; beyond them all runs are read


@dataclass(frozen=True)
class Preview:
    """What a file would do: runs to record with their rows, rows that the house knows already, wrong cells."""

    new: tuple[tuple[int, Told], ...]
    known: int
    wrong: tuple[Wrong, ...]

    @property
    def wrong_rows(self) -> int:
        return len({one.row for one in self.wrong})

    @property
    def counts(self) -> dict[str, int]:
        return {"to record": len(self.new), "recorded already": self.known, "wrong": self.wrong_rows}

    @property
    def fingerprint(self) -> str:
        return sha256(repr((self.new, self.known, self.wrong)).encode()).hexdigest()


def looked_through(content: bytes) -> Preview:
    """What an import would do now. Raises InputErrors for a file that cannot be read as runs."""
    read = read_run_table(content, recording.house())
    recorded = {_key(one): one for one in _recorded({told.job for _, told in read.told})}
    new, known, wrong, seen = [], 0, list(read.wrong), {}
    for row, told in read.told:
        if told.key in seen:
            wrong.append(_twice(row, told, f"a run told once; row {seen[told.key]} tells the same one"))
            continue
        seen[told.key] = row
        if told.key not in recorded:
            new.append((row, told))
        elif _same(told, recorded[told.key]):
            known += 1
        else:
            wrong.append(_twice(row, told, "a run not yet recorded; correct the recorded one on its page"))
    return Preview(tuple(new), known, tuple(sorted(wrong, key=lambda one: one.row)))


def _recorded(jobs: set[str]) -> list[RunRecord]:
    found = recording.in_force().select_related("job", "machine").defer("estimated")
    return list(found) if len(jobs) > AT_ONCE else list(found.filter(job__quote__in=jobs))


def _key(record: RunRecord) -> tuple:
    return record.job.quote, record.machine.code, record.started


def _same(told: Told, record: RunRecord) -> bool:
    return all(getattr(record, name) == value for name, value in told.figures.items())


def _twice(row: int, told: Told, accepted: str) -> Wrong:
    started = next(one for one in COLUMNS if one.field == "started")
    return Wrong(row, "started", started.heading, f"{told.job} on {told.machine} from {told.started}", accepted)


@tried_again
def runs_upload(*, file_name: str, content: bytes, by: object) -> RunUpload:
    """Keep a sent file until it is confirmed; InputErrors where the file as a whole is none of runs."""
    policies.require(by, "record_runs")
    looked_through(content)
    upload = RunUpload(
        token=get_random_string(32), file_name=shown_name(file_name), content=content, by=by, at=now()
    )  # fmt: skip
    upload.full_clean()
    with transaction.atomic():
        RunUpload.objects.filter(at__lt=now() - KEPT_UPLOADS).delete()
        upload.save()
    return upload


def upload_preview(upload: RunUpload) -> Preview:
    return looked_through(bytes(upload.content))


@tried_again
@transaction.atomic
def upload_discard(*, upload: RunUpload, by: object) -> None:
    policies.require(by, "record_runs")
    RunUpload.objects.filter(pk=upload.pk).delete()


@tried_again
@transaction.atomic
def upload_import(*, upload: RunUpload, fingerprint: str, good_only: bool, by: object) -> RunImport:
    """Import what was shown. ConflictError where it would by now do something else than what was shown."""
    policies.require(by, "record_runs")
    number = next_number(SERIES, today().year)  # its lock lets one import at a time through
    if not RunUpload.objects.filter(pk=upload.pk).exists():
        raise ConflictError("This file has been imported or put aside already.")
    preview = upload_preview(upload)
    if preview.fingerprint != fingerprint:
        raise ConflictError("Runs or jobs have changed since you looked. Nothing was imported; look at it again.")
    kept = _kept(number, upload.file_name, bytes(upload.content), preview, good_only, by, FILE)
    RunUpload.objects.filter(pk=upload.pk).delete()
    return kept


@tried_again
@transaction.atomic
def runs_import(*, file_name: str, content: bytes, good_only: bool, by: object | None) -> RunImport:
    """Import a file at once, from the command line. ``by`` is None where no person of the house is named."""
    if by is not None:
        policies.require(by, "record_runs")
    number = next_number(SERIES, today().year)
    return _kept(number, shown_name(file_name), content, looked_through(content), good_only, by, COMMAND)


def _kept(
    number: str, file_name: str, content: bytes, preview: Preview, good_only: bool, by: object | None, source: str
) -> RunImport:
    if preview.wrong and not good_only:
        rows = preview.wrong_rows
        raise ValidationError(f"{rows} row{'s' * (rows > 1)} of {file_name} wrong; nothing was imported.")
    if not preview.new:
        raise ValidationError(f"{file_name} holds no run that is not recorded already; nothing was imported.")
    record = RunImport(
        number=number, file_name=file_name, file_digest=sha256(content).hexdigest(), counts=preview.counts, by=by,
        at=now(),
    )  # fmt: skip
    record.full_clean()
    record.save()
    _record_runs(record, preview, by, source)
    audit("runs_import", by=by, number=number, file=file_name, file_digest=record.file_digest, **preview.counts)
    return record


def _record_runs(record: RunImport, preview: Preview, by: object | None, source: str) -> None:
    """All rows, job by job, so that each quote is read once. The jobs are locked before it is looked at once more
    whether one of these runs was recorded meanwhile."""
    machines = {one.code: one for one in Machine.objects.all()}
    by_job: dict[str, list[Told]] = {}
    for _, told in preview.new:
        by_job.setdefault(told.job, []).append(told)
    jobs = {one.quote: one for one in Job.objects.select_for_update().order_by("pk") if one.quote in by_job}
    if {told.key for _, told in preview.new} & {_key(one) for one in _recorded(set(by_job))}:
        raise ConflictError("One of these runs was recorded meanwhile. Nothing was imported; look again.")
    same = {"replaces_id": None, "reason": "", "withdrawn": False, "source": source, "record_id": record.pk,
            "by_id": by.pk if by else None, "at": record.at}  # fmt: skip
    _insert(
        same | one.figures | {"job_id": jobs[quote].pk, "machine_id": machines[one.machine].pk, "estimated": estimated}
        for quote, runs in by_job.items()
        for one, estimated in _estimated(recording.basis_for(jobs[quote]), runs)
    )
    recording.jobs_delivered(jobs.values())


def _estimated(basis: Basis | None, runs: list[Told]) -> Iterator[tuple[Told, str]]:
    """Each run with its estimate as JSON; runs of as many good parts share one."""
    known: dict[int, str] = {}
    for one in runs:
        if one.parts_good not in known:
            known[one.parts_good] = json.dumps(basis.estimated(one.parts_good) if basis else {})
        yield one, known[one.parts_good]


def _insert(rows: Iterable[dict[str, object]]) -> None:
    """Rows of ``RunRecord`` by column, ``estimated`` as JSON. Its own statement, since building one of some hundred
    rows out of models takes most of the time of a long import; the constraints of the table hold here too."""
    fields = [one for one in RunRecord._meta.concrete_fields if not one.primary_key]
    adapt = {models.DateField: connection.ops.adapt_datefield_value,
             models.DateTimeField: connection.ops.adapt_datetimefield_value}  # fmt: skip
    ways = [(one.attname, adapt.get(type(one), lambda value: value)) for one in fields]
    named = ", ".join(connection.ops.quote_name(one.column) for one in fields)
    table = connection.ops.quote_name(RunRecord._meta.db_table)
    statement = f"INSERT INTO {table} ({named}) VALUES ({', '.join(['%s'] * len(fields))})"  # noqa: S608 - own names
    with connection.cursor() as cursor:
        cursor.executemany(statement, [tuple(way(row[name]) for name, way in ways) for row in rows])
