"""Bringing a rate table in: sent, looked through, confirmed. All of it or nothing, and a record of every figure."""

from dataclasses import replace
from datetime import date, timedelta
from hashlib import sha256

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.crypto import get_random_string

from quoting.intake.rate_reading import read_rate_table
from quoting.intake.rate_tables import TABLES
from quoting.quotes import policies
from quoting.quotes.models import RateImport, RateImportChange, RateUpload
from quoting.quotes.rates.books import BOOKS
from quoting.quotes.rates.changes import Preview, compared
from quoting.quotes.records import audit, next_number, now, today
from quoting.quotes.steps import ConflictError
from quoting.quotes.trying_again import tried_again

KEPT_UPLOADS = timedelta(days=1)


def looked_through(*, table: str, content: bytes, effective: date | None) -> Preview:
    """What an import would change now. Raises InputErrors for a file that cannot be read as that table."""
    book = BOOKS[table]
    read = read_rate_table(content, TABLES[table], effective)
    wrong = [*read.wrong, *book.refused(read.entries)]
    bad = {one.row for one in wrong}
    entries = [one for one in read.entries if not bad & set(one.rows)]
    preview = compared(book.timelines(), entries)
    preview = replace(preview, wrong=(*wrong, *preview.wrong))
    while (contradicting := book.refused_together(preview)) and not preview.whole_is_wrong:
        rows = {one.row for one in contradicting}
        kept = [one for one in preview.changes if not rows & set(one.entry.rows)]
        preview = Preview(tuple(kept), (*preview.wrong, *contradicting))
    return replace(preview, wrong=tuple(sorted(preview.wrong, key=lambda one: one.row)))


@tried_again
def rates_upload(*, table: str, file_name: str, content: bytes, effective: date | None, by: object) -> RateUpload:
    """Keep a sent table until it is confirmed; InputErrors where the file as a whole is no such table."""
    policies.require(by, "edit_rates")
    looked_through(table=table, content=content, effective=effective)
    upload = RateUpload(
        token=get_random_string(32), table=table, file_name=shown_name(file_name), content=content,
        effective=effective, by=by, at=now(),
    )  # fmt: skip
    upload.full_clean()
    with transaction.atomic():
        RateUpload.objects.filter(at__lt=now() - KEPT_UPLOADS).delete()
        upload.save()
    return upload


def shown_name(file_name: str) -> str:
    """The name of a sent file as it is shown: its last part, printable, not endless."""
    name = "".join(mark for mark in file_name.replace("\\", "/").rpartition("/")[2] if mark.isprintable())
    return name[-200:] or "without a name"


def upload_preview(upload: RateUpload) -> Preview:
    return looked_through(table=upload.table, content=bytes(upload.content), effective=upload.effective)


@tried_again
@transaction.atomic
def upload_discard(*, upload: RateUpload, by: object) -> None:
    policies.require(by, "edit_rates")
    RateUpload.objects.filter(pk=upload.pk).delete()


@tried_again
@transaction.atomic
def upload_import(*, upload: RateUpload, fingerprint: str, good_only: bool, by: object) -> RateImport:
    """Import what was shown. ConflictError where it would by now do something else than what was shown."""
    policies.require(by, "edit_rates")
    number = next_number("R", today().year)  # its lock lets one import at a time through
    if not RateUpload.objects.filter(pk=upload.pk).exists():
        raise ConflictError("This table has been imported or put aside already.")
    preview = upload_preview(upload)
    if preview.fingerprint != fingerprint:
        raise ConflictError(_meanwhile(upload))
    record = _kept(
        number, upload.table, upload.file_name, bytes(upload.content), upload.effective, preview, good_only, by
    )
    RateUpload.objects.filter(pk=upload.pk).delete()
    return record


@tried_again
@transaction.atomic
def rates_import(
    *, table: str, file_name: str, content: bytes, effective: date | None, good_only: bool, by: object | None
) -> RateImport:
    """Import a table at once, from the command line. ``by`` is None where no person of the house is named."""
    if by is not None:
        policies.require(by, "edit_rates")
    number = next_number("R", today().year)
    preview = looked_through(table=table, content=content, effective=effective)
    return _kept(number, table, shown_name(file_name), content, effective, preview, good_only, by)


def _meanwhile(upload: RateUpload) -> str:
    last = RateImport.objects.filter(at__gte=upload.at).select_related("by").first()
    who = f"{last.number} by {person_name(last.by)}" if last else "someone's change of the data"
    return f"The rates have changed since you looked: {who}. Nothing was imported; look at the changes again."


def person_name(by: object | None) -> str:
    return (by.get_full_name() or by.get_username()) if by else "the command line"


def _kept(
    number: str, table: str, file_name: str, content: bytes, effective: date | None, preview: Preview,
    good_only: bool, by: object | None,
) -> RateImport:  # fmt: skip
    if preview.whole_is_wrong or (preview.wrong and not good_only):
        rows = preview.counts["wrong"]
        said = "1 row of {} is" if rows == 1 else f"{rows} rows of {{}} are"
        raise ValidationError(f"{said.format(file_name)} wrong; nothing was imported.")
    if not preview.to_keep:
        raise ValidationError(f"Nothing in {file_name} differs from the rates of the house; nothing was imported.")
    record = RateImport(
        number=number, table=table, file_name=file_name, file_digest=sha256(content).hexdigest(),
        effective=effective, counts=preview.counts, by=by, at=now(),
    )  # fmt: skip
    record.full_clean()
    record.save()
    for one in preview.to_keep:
        BOOKS[table].write(one.entry, one.entry.source or f"{number}, {file_name}"[:300])
    _record_changes(record, preview)
    audit(
        "rates_import", by=by, number=number, table=table, file=file_name, file_digest=record.file_digest,
        effective=effective.isoformat() if effective else None, **preview.counts,
    )  # fmt: skip
    return record


def _record_changes(record: RateImport, preview: Preview) -> None:
    rows = [
        RateImportChange(
            record=record, subject=one.subject, valid_from=one.valid_from, status=one.status, figure=figure.name,
            old=figure.old, new=figure.new, percent=figure.percent,
        )
        for one in preview.to_keep
        for figure in one.figures
    ]  # fmt: skip
    for row in rows:
        row.clean_fields()
    RateImportChange.objects.bulk_create(rows)
