"""Recorded runs: read from text, held against the quote's estimate, imported as shown or not at all, corrected."""

import csv
import io
from datetime import date, timedelta
from types import SimpleNamespace

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction

from machines.models import Machine
from quoting.intake.reading_result import InputErrors
from quoting.planning.models import DONE, QUOTED, WON, FactorVersion, Job, RunImport, RunRecord, RunUpload
from quoting.quotes import demo_runs, policies, selectors, services
from quoting.quotes.answers import outcome
from quoting.quotes.models import AuditEntry, Quote
from quoting.quotes.records import now
from quoting.quotes.runs import accuracy, imports, learning, recording
from quoting.quotes.runs.estimates import basis_of, compared
from quoting.quotes.runs.files import accuracy_csv, template
from quoting.quotes.runs.reading import HEADINGS, LIMITS, House, read_run, read_run_table
from quoting.quotes.steps import ConflictError
from tests.quoting.desk.conftest import QUOTED as INQUIRY
from tests.quoting.desk.conftest import typed

DAY = date(2026, 11, 2)
HOUSE = House(frozenset({"Q-2026-0001"}), frozenset({"QUARRY-T1"}), date(2026, 11, 28))
CELLS = {
    "job": "Q-2026-0001", "machine": "QUARRY-T1", "started": "2026-11-02", "ended": "2026-11-03", "parts_good": "300",
    "parts_scrapped": "11", "heats": "163", "index_time": "1.75 min", "setup_hours": "210 min", "run_hours": "5.8 h",
    "sheet_used": "1000 lb", "trim_time": "155 s", "parts_per_pallet": "57",
}  # fmt: skip


@pytest.fixture(scope="module")
def house(django_db_setup, django_db_blocker):
    """The catalog, one answer for it, and a job of a quote that holds this answer."""
    with django_db_blocker.unblock(), transaction.atomic():
        services.catalog_ensure()
        services.ensure_groups()
        users = get_user_model().objects
        people = {role: users.create(username=role) for role in policies.GROUPS}
        for role, person in people.items():
            person.groups.add(Group.objects.get(name=role))
        snapshot = outcome(typed(INQUIRY), selectors.catalog(services.today()), services.today()).snapshot
        inquiry = services.inquiry_log(typed=typed(INQUIRY), by=people[policies.REP])
        Quote.objects.create(
            number="Q-2026-0001", inquiry=inquiry, kind="quote", snapshot=snapshot, digest="0" * 64, pdf=b"",
            pdf_digest="0" * 64, issued_by=people[policies.ESTIMATOR], issued_at=inquiry.created_at,
            valid_until=services.today(),
        )  # fmt: skip
        yield SimpleNamespace(**{role.replace(" ", "_"): one for role, one in people.items()}, snapshot=snapshot)
        transaction.set_rollback(True)


def made_job(quote="Q-2026-0001", state=WON, **more):
    values = {
        "machine": Machine.objects.get(code="QUARRY-T1"), "process": "vacuum", "polymer": "ABS", "quantity": 100,
        "hours": 9.0, "since": DAY, "ready": DAY, "due": DAY, "value": 1000, "margin": 0.2,
    }  # fmt: skip
    return Job.objects.create(quote=quote, state=state, **values | more)


@pytest.fixture
def job(house, db):
    return made_job()


def told(**other):
    read, wrong = read_run(CELLS | other, recording.house())
    assert not wrong
    return read


def table(*rows, headings=HEADINGS):
    out = io.StringIO(newline="")
    csv.writer(out).writerows([headings, *rows])
    return out.getvalue().encode()


def row(number=0, **other):
    day = DAY - timedelta(days=number)
    cells = CELLS | {"started": day.isoformat(), "ended": day.isoformat(), "delivered": "", "note": ""} | other
    return list(cells.values())


# ------------------------------------------------------------------------------------------------ reading


def test_units_are_read_as_elsewhere():
    run, wrong = read_run(CELLS, HOUSE)
    # NIST Special Publication 811 (2008), B.8: 1 lb = 0.453 592 37 kg exactly; from memory, unverified.
    assert not wrong and run.sheet_mass == pytest.approx(453.59237)
    assert (run.index_time, run.setup_hours, run.run_hours) == (105.0, 3.5, 5.8)


@pytest.mark.parametrize(
    ("field", "given", "accepted"),
    [
        ("job", "Q-1999-0001", "a job that was ordered"), ("job", "", "a value"), ("machine", "PRESS-9", "a machine"),
        ("started", "2 Nov", "YYYY-MM-DD"), ("started", "2026-11-29", "not after today"),
        ("ended", "2026-11-01", "start"),
        ("parts_good", "-5", "whole number"), ("parts_good", "3e2", "whole number"),
        ("parts_scrapped", "1,5", "whole"),
        ("heats", "0", "from 1"), ("index_time", "95", "unit"), ("index_time", "5 h", "at most"),
        ("setup_hours", "-2 h", "without a sign"), ("run_hours", "0 h", "above zero"),
        ("run_hours", "1e309 h", "hours"),
        ("sheet_used", "64 rolls", "64 blanks"), ("trim_time", "=1+1", "a time"), ("delivered", "2026-10-01", "start"),
        ("note", "a\0b", "printable"), ("note", "x" * 501, "at most 500"), ("parts_good", "٣", "whole number"),
    ],
)  # fmt: skip
def test_a_wrong_cell_is_told_by_column_with_what_is_accepted(field, given, accepted):
    run, wrong = read_run(CELLS | {field: given}, HOUSE)
    assert run is None and [one.field for one in wrong] == [field]
    assert accepted in wrong[0].accepted


def test_a_run_of_no_part_is_refused():
    _, wrong = read_run(CELLS | {"parts_good": "0", "parts_scrapped": "0"}, HOUSE)
    assert [one.field for one in wrong] == ["parts_good"]


def test_blanks_are_counted_where_the_shop_counts_them():
    run, _ = read_run(CELLS | {"sheet_used": "64 blanks"}, HOUSE)
    assert (run.blanks, run.sheet_mass) == (64, None)


@pytest.mark.parametrize(
    ("content", "accepted"),
    [
        (b"", "CSV"), (b"\xff\xfe", "UTF-8"), (table(headings=("Job", "Price")), "the headings"),
        (table(headings=HEADINGS[:4]), "the headings"), (table(headings=(*HEADINGS, "Job")), "once"),
        (b"PK\x03\x04 no workbook", "CSV"), (b"x" * (LIMITS.file + 1), "at most 12 MB"),
        (table(*[["x"]] * (LIMITS.rows + 1)), "at most 60,000 rows"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_such_table_is_refused_as_a_whole(content, accepted):
    with pytest.raises(InputErrors) as refused:
        read_run_table(content, HOUSE)
    assert accepted in refused.value.errors[0].accepted


def test_the_empty_table_is_one_that_is_read():
    read = read_run_table(template().encode("utf-8-sig"), HOUSE)
    assert len(read.told) == 1 and not read.wrong


# ------------------------------------------------------------------------------------------------ estimates


def test_set_up_and_run_hours_of_a_whole_release_are_the_press_hours_of_its_quote(house):
    for one in house.snapshot["chosen"]["cost"]["breaks"]:
        found = basis_of(house.snapshot, one["quantity"]).estimated(one["quantity"])
        assert found["setup_hours"] + found["run_hours"] == pytest.approx(one["press_hours"], rel=1e-12)


def test_sheet_of_a_whole_release_is_what_its_cost_line_billed(house):
    for line in house.snapshot["chosen"]["cost"]["lines"]:
        if line["name"] != "sheet":
            continue
        billed = {one["name"]: float(one["value"]) for one in line["inputs"]}
        found = basis_of(house.snapshot, line["quantity"]).estimated(line["quantity"])
        assert found["sheet"] * billed["billed weight factor"] == pytest.approx(billed["billed mass"], rel=1e-9)


def test_ratio_is_actual_over_estimated_and_absent_where_either_is(job):
    run = RunRecord(**told(index_time="").figures)
    by_name = {one.measure.name: one for one in compared(run, {"index_time": 100.0, "scrap": 0.05, "heats": 150})}
    assert by_name["index_time"].ratio is None and by_name["pack"].ratio is None
    assert by_name["scrap"].ratio == pytest.approx(11 / 311 / 0.05) and by_name["heats"].ratio == pytest.approx(
        163 / 150
    )


# ------------------------------------------------------------------------------------------------ by form


def test_a_run_is_kept_with_its_estimate_and_on_record(house, job):
    kept = recording.run_record(told=told(), by=house.estimator)
    assert kept.estimated == basis_of(house.snapshot, 100).estimated(300)
    entry = AuditEntry.objects.get(action="run_record")
    assert entry.by == house.estimator and entry.detail["job"] == job.quote
    assert entry.inquiry == Quote.objects.get(number=job.quote).inquiry


def test_the_same_run_twice_is_refused_and_kept_once(house, job):
    recording.run_record(told=told(), by=house.estimator)
    with pytest.raises(ValidationError, match="recorded already"), transaction.atomic():
        recording.run_record(told=told(), by=house.estimator)
    assert RunRecord.objects.count() == 1


def test_a_run_that_tells_its_delivery_ends_the_job(house, job):
    recording.run_record(told=told(delivered="2026-11-06"), by=house.estimator)
    job.refresh_from_db()
    assert (job.state, job.delivered) == (DONE, date(2026, 11, 6))


def test_a_rep_records_nothing(house, job):
    with pytest.raises(PermissionDenied):
        recording.run_record(told=told(), by=house.sales_rep)


def test_a_job_that_is_only_quoted_is_unknown(house, db):
    made_job(state=QUOTED)
    _, wrong = read_run(CELLS, recording.house())
    assert [one.field for one in wrong] == ["job"]


def test_a_correction_replaces_and_keeps_what_was_there(house, job):
    first = recording.run_record(told=told(), by=house.estimator)
    second = recording.run_correct(record=first, told=told(heats="170"), reason="misread", by=house.manager)
    assert list(recording.in_force()) == [second] and RunRecord.objects.count() == 2
    with pytest.raises(ConflictError):
        recording.run_correct(record=first, told=told(heats="171"), reason="again", by=house.manager)
    assert AuditEntry.objects.get(action="run_correct").detail["reason"] == "misread"


def test_a_record_is_neither_changed_nor_deleted(house, job):
    kept = recording.run_record(told=told(), by=house.estimator)
    kept.heats = 1
    with pytest.raises(ValidationError):
        kept.save()
    with pytest.raises(ValidationError):
        kept.delete()


@pytest.mark.parametrize("name", ["planning_runrecord", "planning_runimport"])
@pytest.mark.parametrize("deed", ["UPDATE {} SET id = id + 1000", "DELETE FROM {}"])
def test_the_database_itself_refuses_to_change_a_run(house, job, name, deed):
    imports.runs_import(file_name="a", content=table(row(0)), good_only=False, by=None)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(deed.format(name))


@pytest.mark.parametrize("field", [one for one in RunRecord._meta.concrete_fields if not one.primary_key])
def test_no_column_of_a_run_can_be_changed(house, job, field):
    kept = recording.run_record(told=told(), by=house.estimator)
    other = {"BooleanField": True, "CharField": "x", "FloatField": 7.0, "DateField": date(2026, 11, 9), "JSONField": {}}
    value = other.get(field.get_internal_type(), 7)
    value = now() if field.name == "at" else kept.pk if field.name == "replaces" else value
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        RunRecord.objects.filter(pk=kept.pk).update(**{field.attname: value})


def test_a_corrected_run_says_why_and_the_newest_counts(house, job):
    first = recording.run_record(told=told(index_time="95 s", delivered="2026-11-26"), by=house.estimator)
    with pytest.raises(ValidationError, match="Say why"):
        recording.run_correct(record=first, told=told(), reason="  ", by=house.manager)
    corrected = told(index_time="105 s", delivered="2026-11-06")
    second = recording.run_correct(record=first, told=corrected, reason="misread", by=house.manager)
    assert second.reason == "misread" and [one.index_time for one in accuracy.runs_by()] == [105.0]
    job.refresh_from_db()
    assert job.delivered == date(2026, 11, 6)  # though it is earlier than what was told first


def test_a_day_that_a_correction_left_is_free_and_the_one_it_took_is_not(house, job):
    first = recording.run_record(told=told(), by=house.estimator)
    moved = told(started="2026-11-03")
    recording.run_correct(record=first, told=moved, reason="began a day later", by=house.manager)
    with pytest.raises(ValidationError, match="recorded already"), transaction.atomic():
        recording.run_record(told=moved, by=house.estimator)
    recording.run_record(told=told(ended="2026-11-02"), by=house.estimator)
    assert recording.in_force().count() == 2


def test_a_withdrawn_run_counts_nowhere_stays_on_record_and_opens_its_job_again(house, job):
    kept = recording.run_record(told=told(delivered="2026-11-06"), by=house.estimator)
    with pytest.raises(ValidationError, match="Say why"):
        recording.run_withdraw(record=kept, reason=" ", by=house.manager)
    with pytest.raises(PermissionDenied):
        recording.run_withdraw(record=kept, reason="of another job", by=house.sales_rep)
    gone = recording.run_withdraw(record=kept, reason="of another job", by=house.manager)
    assert not recording.in_force().exists() and RunRecord.objects.count() == 2 and gone.replaces == kept
    assert AuditEntry.objects.get(action="run_withdraw").detail["reason"] == "of another job"
    job.refresh_from_db()
    assert (job.state, job.delivered) == (WON, None)
    for record in (kept, gone):
        with pytest.raises(ConflictError):
            recording.run_withdraw(record=record, reason="again", by=house.manager)
    recording.run_record(told=told(), by=house.estimator)  # it can be recorded anew
    assert recording.in_force().count() == 1


# ------------------------------------------------------------------------------------------------ from a file


def sent(content, by):
    return imports.runs_upload(file_name="runs.csv", content=content, by=by)


def test_wrong_rows_are_listed_and_nothing_is_kept_until_the_good_ones_are_asked_for(house, job):
    content = table(row(0), row(1, job="Q-1999-0001"), row(2, heats="many"), row(3))
    upload = sent(content, house.estimator)
    found = imports.upload_preview(upload)
    assert [(one.row, one.column) for one in found.wrong] == [(3, "Job"), (4, "Heats")] and len(found.new) == 2
    given = {"upload": upload, "fingerprint": found.fingerprint, "by": house.estimator}
    with pytest.raises(ValidationError, match="2 rows"), transaction.atomic():
        imports.upload_import(**given, good_only=False)
    assert not RunRecord.objects.exists() and not RunImport.objects.exists()

    record = imports.upload_import(**given, good_only=True)
    assert record.counts == {"to record": 2, "recorded already": 0, "wrong": 2}
    assert record.runs.count() == 2 and record.number.startswith("RUN-")
    assert {one.estimated["heats"] for one in record.runs.all()} == {
        basis_of(house.snapshot, 100).estimated(300)["heats"]
    }


def test_confirming_twice_imports_once(house, job):
    upload = sent(table(row()), house.estimator)
    given = {"upload": upload, "fingerprint": imports.upload_preview(upload).fingerprint, "good_only": False}
    imports.upload_import(**given, by=house.estimator)
    upload.pk = upload.pk or 1
    with pytest.raises(ConflictError), transaction.atomic():
        imports.upload_import(**given, by=house.estimator)
    assert RunRecord.objects.count() == 1 and not RunUpload.objects.exists()


def test_the_same_file_sent_again_records_nothing_more(house, job):
    content = table(row(0), row(1))
    imports.runs_import(file_name="runs.csv", content=content, good_only=False, by=None)
    assert imports.looked_through(content).counts == {"to record": 0, "recorded already": 2, "wrong": 0}
    with pytest.raises(ValidationError, match="recorded already"):
        imports.runs_import(file_name="runs.csv", content=content, good_only=False, by=None)


def test_a_recorded_run_told_otherwise_and_a_run_told_twice_are_wrong(house, job):
    imports.runs_import(file_name="runs.csv", content=table(row(0)), good_only=False, by=None)
    found = imports.looked_through(table(row(0, heats="9"), row(1), row(1)))
    assert [one.row for one in found.wrong] == [2, 4] and len(found.new) == 1


def test_what_changed_after_the_look_is_not_imported(house, job):
    upload = sent(table(row(0), row(1)), house.estimator)
    shown = imports.upload_preview(upload).fingerprint
    recording.run_record(told=told(**{"started": DAY.isoformat(), "ended": DAY.isoformat()}), by=house.manager)
    with pytest.raises(ConflictError), transaction.atomic():
        imports.upload_import(upload=upload, fingerprint=shown, good_only=True, by=house.estimator)
    assert RunRecord.objects.count() == 1


def test_an_import_that_breaks_half_way_leaves_nothing(house, job, monkeypatch):
    def broken(*arguments, **named):
        raise RuntimeError

    upload = sent(table(row(0)), house.estimator)
    monkeypatch.setattr(imports, "audit", broken)
    with pytest.raises(RuntimeError), transaction.atomic():
        imports.upload_import(
            upload=upload, fingerprint=imports.upload_preview(upload).fingerprint, good_only=False, by=house.estimator
        )
    assert not RunRecord.objects.exists() and RunUpload.objects.exists()


def test_a_job_without_a_kept_quote_has_no_estimate_but_its_run(house, db):
    made_job(quote="Q-2025-0009")
    imports.runs_import(file_name="a", content=table(row(job="Q-2025-0009")), good_only=False, by=None)
    assert RunRecord.objects.get().estimated == {}


# ------------------------------------------------------------------------------------------------ by command


def test_the_command_looks_first_and_keeps_when_told(house, job, tmp_path, capsys):
    path = tmp_path / "runs.csv"
    path.write_bytes(table(row(0), row(1, job="Q-1999-0001")))
    with pytest.raises(SystemExit) as ended:
        call_command("runs", "import", str(path), "--keep")
    assert ended.value.code == 2 and "row 3, Job" in capsys.readouterr().err and not RunRecord.objects.exists()
    call_command("runs", "import", str(path), "--keep", "--good-only", "--by", "estimator")
    assert RunRecord.objects.get().by == house.estimator and RunRecord.objects.get().source == "command"


def test_the_command_refuses_a_file_that_is_too_large_unread(house, job, tmp_path, monkeypatch):
    path = tmp_path / "runs.csv"
    with path.open("wb") as file:
        file.truncate(LIMITS.file + 1)
    monkeypatch.setattr(type(path), "read_bytes", None)
    with pytest.raises(CommandError, match="not read"):
        call_command("runs", "import", str(path))


# ------------------------------------------------------------------------------------------------ accuracy


def test_accuracy_is_the_median_of_the_month_in_which_runs_ended(house, job):
    for number, index in enumerate(("100 s", "110 s", "130 s")):
        recording.run_record(
            told=told(started=f"2026-10-0{number + 1}", ended=f"2026-10-0{number + 1}", index_time=index),
            by=house.estimator,
        )
    recording.run_record(told=told(index_time="90 s"), by=house.estimator)
    estimated = basis_of(house.snapshot, 100).estimated(300)["index_time"]
    index = accuracy.accuracy(accuracy.runs_by(machine="QUARRY-T1"))[0]
    assert [(month, one.worked_out.runs) for month, one in index.months] == [
        (date(2026, 10, 1), 3),
        (date(2026, 11, 1), 1),
    ]
    assert index.months[0][1].worked_out.median == pytest.approx(110 / estimated)
    assert not accuracy.runs_by(process="twin_sheet").exists() and accuracy.runs_by(polymer="ABS").count() == 4


def test_the_same_runs_are_held_against_both_estimates_and_against_the_stated_range(house, job):
    """Three runs of 9, 12 and 13 h; worked out were 10 h, quoted 12 h for the last two, stated 0.95 to 1.05."""
    for number, (hours, factors, quoted) in enumerate(((9.0, {}, 10.0), (12.0, {"run_hours": 1.2}, 12.0),
                                                       (13.0, {"run_hours": 1.2}, 12.0))):  # fmt: skip
        day = DAY + timedelta(days=number)
        RunRecord.objects.create(
            job=job, machine=job.machine, started=day, ended=day, parts_good=10, parts_scrapped=0, run_hours=hours,
            source="form", at=now(), estimated={
                "machine": "QUARRY-T1", "run_hours": 10.0, "quoted": {"run_hours": quoted}, "factors": factors,
                "ranges": {"run_hours": [0.95, 1.05]},
            },
        )  # fmt: skip
    found = next(one.whole for one in accuracy.accuracy(accuracy.runs_by()) if one.measure.name == "run_hours")
    # by hand: ratios 0.9, 1.2, 1.3 as worked out; 0.9, 1, 13/12 as quoted; of the two with factors 0.2, 0.3 and 0, 1/12
    assert (found.worked_out.median, found.quoted.median) == pytest.approx((1.2, 1.0))
    assert (found.worked_out.error, found.quoted.error) == pytest.approx((0.2, 1 / 12))
    assert (found.before.runs, found.before.error, found.after.error) == pytest.approx((2, 0.25, 1 / 24))
    assert (found.within, found.stated) == (1, 3)


def test_scrap_is_learned_once_and_run_hours_beyond_it(house, job):
    """Runs that form a tenth more than estimated and take a tenth longer for it: a shot takes what it should."""
    for number in range(8):
        day = DAY - timedelta(days=number)
        RunRecord.objects.create(
            job=job, machine=job.machine, started=day, ended=day, parts_good=100, parts_scrapped=10 + number % 2,
            run_hours=11.0 + (number % 2) / 10, source="form", at=now(),
            estimated={"machine": "QUARRY-T1", "run_hours": 10.0, "scrap": 0.0},
        )  # fmt: skip
    found = {
        one.measure.name: one.together("QUARRY-T1", "ABS", "vacuum") for one in learning.taught(accuracy.runs_by())
    }
    assert found["run_hours"] == pytest.approx(1.0) and found["parts_formed"] == pytest.approx(1.105, abs=0.003)


def test_the_exported_runs_hold_no_formula(house, db):
    made_job(part="=HYPERLINK(1)")
    recording.run_record(told=told(), by=house.estimator)
    head, line = csv.reader(io.StringIO(accuracy_csv(accuracy.runs_by())))
    found = dict(zip(head, line, strict=True))
    assert found["part"] == "'=HYPERLINK(1)" and float(found["Index time actual [s]"]) == 105.0


def test_the_exported_runs_tell_what_was_quoted_beside_what_was_worked_out(house, db):
    demo_runs.ensure_past_runs(services.today(), by=house.manager)
    head, *lines = csv.reader(io.StringIO(accuracy_csv(accuracy.runs_by())))
    for line in lines:
        found, run = dict(zip(head, line, strict=True)), RunRecord.objects.get(pk=line[0])
        factor = run.estimated["factors"].get("trim_time", 1.0)
        worked_out = float(found["Trim time a part estimated [s]"])
        assert float(found["Trim time a part as quoted [s]"]) == pytest.approx(worked_out * factor, rel=1e-5)


def test_what_runs_teach_is_shrunk_toward_one_and_leaves_out_runs_on_another_machine(house, job):
    for number in range(6):
        day = f"2026-10-0{number + 1}"
        told_one = told(started=day, ended=day, index_time=f"{118 + number % 2} s")
        recording.run_record(told=told_one, by=house.estimator)
    moved = told(machine="RIVERS-T1", index_time="900 s")
    recording.run_record(told=moved, by=house.estimator)
    taught = {one.measure.name: one for one in learning.taught(accuracy.runs_by())}
    machine = next(one for one in taught["index_time"].factors if one.effect == "machine")
    estimated = basis_of(house.snapshot, 100).estimated(300)["index_time"]
    # By hand: the geometric mean of actual over estimated is sqrt(118 x 119) / estimated.
    assert machine.name == "QUARRY-T1" and machine.runs == 6
    assert machine.observed == pytest.approx((118 * 119) ** 0.5 / estimated)
    assert 1 < taught["index_time"].together("QUARRY-T1", "ABS", "vacuum") < machine.observed


def test_one_run_alone_teaches_nothing(house, job):
    recording.run_record(told=told(), by=house.estimator)
    assert all(one.factor == 1 for each in learning.taught(accuracy.runs_by()) for one in each.factors)


def test_past_runs_of_the_demo_are_made_once(house, db):
    for _ in range(2):
        demo_runs.ensure_past_runs(services.today())
    assert RunRecord.objects.count() == Job.objects.count() == 48
    assert all(one.whole.worked_out.runs == 48 for one in accuracy.accuracy(accuracy.runs_by()))


def test_later_runs_of_the_demo_were_quoted_with_what_its_older_ones_taught(house, db):
    demo_runs.ensure_past_runs(services.today(), by=house.manager)

    version = FactorVersion.objects.get()
    assert version.state == "accepted" and version.runs < 48
    corrected = [run for run in accuracy.runs_by() if run.estimated["factors"]]
    assert 10 <= len(corrected) < 48
    assert min(run.job.since for run in corrected) >= version.valid_from
    whole = {one.measure.name: one.whole for one in accuracy.accuracy(accuracy.runs_by())}
    assert whole["run_hours"].after.runs == len(corrected)
    assert whole["run_hours"].after.error < whole["run_hours"].before.error  # what was learned holds for later work
    assert whole["index_time"].after.error == whole["index_time"].before.error  # which no factor touches


def test_past_runs_of_the_demo_lie_in_the_past(house, db):
    demo_runs.ensure_past_runs(services.today())
    assert RunRecord.objects.latest("ended").ended < services.today()
    assert Job.objects.latest("delivered").delivered <= services.today()
