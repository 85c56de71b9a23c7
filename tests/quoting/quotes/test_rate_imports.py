"""Rate tables in and out of the house: round trip, effective dates, all or nothing, who and when, and what stays."""

from contextlib import contextmanager
from datetime import date, timedelta
from decimal import Decimal
from hashlib import sha256

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import DatabaseError, connection, transaction
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from machines.models import HourRate, Machine, Plant
from materials import selectors as materials
from materials.models import SheetOffer
from quoting.intake.reading_result import InputErrors
from quoting.quotes import policies, selectors, services
from quoting.quotes.models import AuditEntry, FrozenError, RateImport, RateImportChange, RateRow, RateUpload
from quoting.quotes.rates import imports
from quoting.quotes.rates.books import BOOKS, standing
from quoting.quotes.rates.files import CSV, XLSX, rates_file
from quoting.quotes.rates.history import rate_history
from quoting.quotes.steps import ConflictError
from tests.quoting.quotes.rate_files import as_csv, as_xlsx

ON = date(2026, 11, 25)
THEN = date(2026, 12, 15)
SHEET = "Stonefield ABS natural"


@pytest.fixture(scope="module")
def house(django_db_setup, django_db_blocker):
    """Plants, sheet, rates and groups, loaded once for all tests of this file and taken back after the last one."""
    with django_db_blocker.unblock(), transaction.atomic():
        services.catalog_ensure()
        services.ensure_groups()
        yield
        transaction.set_rollback(True)


def person(name, role=None, **more):
    """Without a password: nobody logs in here, and making one takes its time."""
    user = get_user_model().objects.create(username=name, **more)
    user.groups.set(Group.objects.filter(name=role))
    return user


@pytest.fixture
def manager(house, db):
    return person("manager", policies.MANAGER)


def sent(content, table, by, effective=None, name="rates.csv"):
    return imports.rates_upload(table=table, file_name=name, content=content, effective=effective, by=by)


def brought_in(content, table, by, effective=None, good_only=False, name="rates.csv"):
    upload = sent(content, table, by, effective, name)
    shown = imports.upload_preview(upload).fingerprint
    return imports.upload_import(upload=upload, fingerprint=shown, good_only=good_only, by=by)


def look(content, table, effective=None):
    return imports.looked_through(table=table, content=content, effective=effective)


def prices(name, *tiers, effective="", form=as_csv):
    rows = [(name, weight, price, "0", "1000 lb", "0.45", effective, "mill quote") for weight, price in tiers]
    return form("resin", *rows)


def price_on(day, name=SHEET):
    return [str(tier.price_per_pound) for one in materials.offers(day) if one.name == name for tier in one.tiers]


@contextmanager
def undone():
    """For each example of a property: whatever it kept is taken back, also when it fails."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


# --- out and in again -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("effective", [None, date(2027, 3, 1)])
@pytest.mark.parametrize("form", [CSV, XLSX])
@pytest.mark.parametrize("table", BOOKS)
def test_what_is_exported_changes_nothing_when_it_is_imported(manager, table, form, effective):
    counts = look(rates_file(table, ON, form), table, effective).counts
    assert counts == {"added": 0, "changed": 0, "corrected": 0, "unchanged": len(standing(table, ON)), "wrong": 0}
    assert counts["unchanged"] > 20


LINES = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=40)
STARTS = st.sampled_from(["", "=", "+", "-", "@", "'", "'=", "''", "="])


@given(
    sources=st.lists(st.builds("{}{}".format, STARTS, LINES), min_size=2, max_size=2),
    shares=st.lists(st.decimals("0", "0.99", places=4), min_size=2, max_size=2),
    hourly=st.decimals("1", "999", places=4),
    amounts=st.dictionaries(
        st.decimals("0.001", "99999", places=3), st.decimals("0.0001", "999", places=4), max_size=4
    ),
    form=st.sampled_from([CSV, XLSX]),
)
@example(["0", "0"], [Decimal("0.99")] * 2, Decimal("1"), {Decimal("0.001"): Decimal("0.0001")}, CSV)  # the lowest
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_figures_and_sources_there_are_come_back_the_same(manager, sources, shares, hourly, amounts, form):
    tiers = [("0 lb", "1.5"), *((f"{weight:f} lb", f"{price:f}") for weight, price in amounts.items())]
    with undone():
        for key, share, source in zip(("price.margin", "freight.ltl_fuel_surcharge"), shares, sources, strict=True):
            RateRow.objects.create(key=key, value=f"{share * 100:f} %", valid_from=ON, source=source)
        plant = Plant.objects.first()
        HourRate.objects.create(plant=plant, kind="labour", rate=hourly, valid_from=ON, source=sources[0])
        brought_in(prices(SHEET, *tiers), "resin", manager, ON)
        found = {table: look(rates_file(table, ON, form), table) for table in BOOKS}

    assert {table: (one.wrong, one.to_keep) for table, one in found.items()} == dict.fromkeys(BOOKS, ((), ()))


# --- by date ----------------------------------------------------------------------------------------------------------


def test_a_new_price_from_a_day_ends_the_old_one_the_day_before(manager):
    old = price_on(ON)
    record = brought_in(prices(SHEET, ("0 lb", "2.70"), ("2000 lb", "2.15")), "resin", manager, THEN)

    assert price_on(THEN - timedelta(days=1)) == old
    assert price_on(THEN) == price_on(date(2030, 1, 1)) == ["2.70", "2.15"]
    before, after = SheetOffer.objects.filter(name=SHEET).order_by("valid_from")
    assert (before.valid_to, after.valid_from, after.valid_to) == (THEN - timedelta(days=1), THEN, None)
    assert (after.polymer, after.widest, after.lead_time_weeks) == (
        before.polymer,
        before.widest,
        before.lead_time_weeks,
    )
    assert after.source == "mill quote"
    changed = {(one.figure, one.old, one.new, one.percent) for one in record.changes.all()}
    assert ("From 0 lb ($/lb)", "2.55", "2.70", "+5.9 %") in changed
    assert ("From 500 lb ($/lb)", "2.25", "", "") in changed


def test_a_price_between_two_others_counts_between_them(manager):
    brought_in(prices(SHEET, ("0 lb", "2.90")), "resin", manager, date(2027, 3, 1))
    brought_in(prices(SHEET, ("0 lb", "2.70")), "resin", manager, THEN)
    days = (ON, THEN, date(2027, 2, 28), date(2027, 3, 1))
    assert [price_on(day)[0] for day in days] == ["2.55", "2.70", "2.70", "2.90"]


def test_a_price_before_all_others_ends_where_they_begin(manager):
    brought_in(prices(SHEET, ("0 lb", "2.10")), "resin", manager, date(2025, 6, 1))
    assert [price_on(day)[:1] for day in (date(2025, 5, 31), date(2025, 12, 31), ON)] == [[], ["2.10"], ["2.55"]]


def test_sheet_that_was_off_for_a_while_may_have_a_price_again(manager):
    name = "Kestrel ABS stock, spring lot"
    assert price_on(THEN, name) == []
    record = brought_in(prices(name, ("0 lb", "1.95")), "resin", manager, THEN)
    assert (price_on(THEN, name), record.counts["added"]) == (["1.95"], 1)
    assert price_on(ON, name) == []


@given(st.lists(st.tuples(st.integers(0, 600), st.integers(100, 999)), min_size=1, max_size=6))
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_prices_in_any_order_of_days_never_overlap_and_the_last_word_on_a_day_counts(manager, steps):
    begins, said = date(2026, 1, 1), {}
    with undone():
        for days, cents in steps:
            said[days] = f"{cents / 100:.2f}"
            try:
                brought_in(prices(SHEET, ("0 lb", said[days])), "resin", manager, begins + timedelta(days=days))
            except ValidationError as nothing:
                assert "Nothing in" in str(nothing)
        rows = list(SheetOffer.objects.filter(name=SHEET).order_by("valid_from"))
        found = {days: price_on(begins + timedelta(days=days)) for days in said}

    assert found == {days: [price] for days, price in said.items()}
    assert all(one.valid_to == two.valid_from - timedelta(days=1) for one, two in zip(rows, rows[1:], strict=False))
    assert rows[-1].valid_to is None


def test_hour_rates_count_from_their_day_and_history_tells_who_brought_them(manager):
    rows = [("ALDER", "labour", "", "38.00", "", "agreement 2027"), ("ALDER", "machine", "ALDER-S2", "79.5", "", "")]
    record = brought_in(as_xlsx("labour", *rows), "labour", manager, THEN, name="hours.xlsx")

    before, after = selectors.catalog(THEN - timedelta(days=1)), selectors.catalog(THEN)
    assert {str(one.labour_rate) for one in before.plants if one.code == "ALDER"} == {"36.00"}
    assert {str(one.labour_rate) for one in after.plants if one.code == "ALDER"} == {"38.00"}
    assert {str(one.hour_rate) for one in after.machines if one.code == "ALDER-S2"} == {"79.50"}
    newest, oldest = rate_history("labour", "ALDER, labour")
    assert (newest.record, newest.kept.source, newest.kept.valid_from) == (record, "agreement 2027", THEN)
    assert (oldest.record, oldest.kept.valid_from) == (None, None)
    assert HourRate.objects.get(code="ALDER-S2").source == f"{record.number}, hours.xlsx"


def test_an_hour_rate_without_a_day_is_refused_unless_it_says_what_stands_there(manager):
    same, other = ("ALDER", "labour", "", "36", "", ""), ("ALDER", "inspector", "", "48", "", "")
    found = look(as_csv("labour", same, other), "labour")
    assert found.counts == {"added": 0, "changed": 0, "corrected": 0, "unchanged": 1, "wrong": 1}
    assert [(one.row, one.column) for one in found.wrong] == [(3, "Valid from")]


def test_a_row_of_the_same_day_is_corrected_and_said_to_be(manager):
    record = brought_in(as_csv("overhead", ("price.overhead", "14 %", "2026-01-01", "")), "overhead", manager)
    change = record.changes.get()
    assert (change.status, change.old, change.new) == ("corrected", "12 %", "14 %")
    assert RateRow.objects.get(key="price.overhead").value == "14 %"


def test_the_same_figure_written_otherwise_changes_nothing(manager):
    assert look(as_csv("overhead", ("price.overhead", "0.12", "2026-12-01", "")), "overhead").to_keep == ()


def test_rows_of_several_days_build_on_each_other(manager):
    rows = [("price.overhead", value, day, "") for value, day in (("14 %", "2027-02-01"), ("13 %", "2027-01-01"))]
    changes = {one.valid_from.month: one for one in look(as_csv("overhead", *rows), "overhead").changes}
    assert [(changes[month].figures[0].old, changes[month].figures[0].new) for month in (1, 2)] == [
        ("12 %", "13 %"), ("13 %", "14 %"),
    ]  # fmt: skip


def test_a_price_that_was_off_between_two_days_of_a_file_is_not_taken_for_unchanged(manager):
    name = "Kestrel ABS stock, spring lot"
    now = [(tier.from_mass, tier.price_per_pound) for tier in SheetOffer.objects.get(name=name).tiers.all()]
    content = rates_file("resin", date(2026, 5, 1), CSV).decode("utf-8-sig").splitlines()
    rows = [line for line in content if name in line]
    moved = [line.replace("2026-03-01", day) for day in ("2026-05-01", "2026-12-01") for line in rows]
    found = look("\n".join([content[0], *moved]).encode(), "resin")
    assert len(rows) == len(now)
    assert [one.status for one in found.changes] == ["unchanged", "added"]


# --- all or nothing ---------------------------------------------------------------------------------------------------

GOOD, BAD = ("price.overhead", "13 %", "", ""), ("price.margin", "25", "", "")


def test_one_wrong_row_stops_the_whole_table(manager):
    with pytest.raises(ValidationError, match="1 row of rates.csv is wrong"):
        brought_in(as_csv("overhead", GOOD, BAD), "overhead", manager, THEN)
    assert not RateImport.objects.exists()
    assert not RateRow.objects.filter(valid_from=THEN).exists()
    assert RateUpload.objects.count() == 1  # nothing sent is lost


def test_good_rows_alone_are_kept_where_the_person_says_so(manager):
    record = brought_in(as_csv("overhead", GOOD, BAD), "overhead", manager, THEN, good_only=True)
    assert list(RateRow.objects.filter(valid_from=THEN).values_list("key", flat=True)) == ["price.overhead"]
    assert (record.counts["changed"], record.counts["wrong"]) == (1, 1)


def test_a_failure_in_the_middle_leaves_nothing_behind(manager, monkeypatch):
    book, done = BOOKS["overhead"], []

    def write(entry, source):
        if done:
            raise RuntimeError("the power failed")
        done.append(type(book).write(book, entry, source))

    upload = sent(as_csv("overhead", GOOD, ("price.margin", "25 %", "", "")), "overhead", manager, THEN)
    shown = imports.upload_preview(upload).fingerprint
    monkeypatch.setattr(book, "write", write, raising=False)
    with pytest.raises(RuntimeError):
        imports.upload_import(upload=upload, fingerprint=shown, good_only=False, by=manager)
    assert len(done) == 1
    assert not RateRow.objects.filter(valid_from=THEN).exists()
    assert not RateImport.objects.exists()
    assert not AuditEntry.objects.filter(action="rates_import").exists()


def test_rates_that_contradict_each_other_are_refused_at_the_row(manager):
    rows = [("error.trim_scrap", "0.5 to 999", "", ""), ("price.overhead", "13 %", "", "")]
    found = look(as_csv("overhead", *rows), "overhead", THEN)
    assert [(one.row, one.column) for one in found.wrong] == [(2, "Value")]
    assert [one.subject for one in found.to_keep] == ["price.overhead"]


def test_a_contradiction_that_no_row_can_be_blamed_for_stops_even_the_good_rows(manager):
    RateRow.objects.create(key="error.trim_scrap", value="0.5 to 9", valid_from=ON, source="test")
    content = as_csv("overhead", ("trim.scrap", "50 %", "", ""))
    assert look(content, "overhead", THEN).whole_is_wrong
    with pytest.raises(ValidationError, match="wrong"):
        brought_in(content, "overhead", manager, THEN, good_only=True)


def test_another_import_between_look_and_confirmation_is_told_and_stops_this_one(manager):
    other_person = person("administrator", is_superuser=True)
    upload = sent(as_csv("overhead", GOOD), "overhead", manager, THEN)
    shown = imports.upload_preview(upload).fingerprint
    other = brought_in(as_csv("overhead", ("price.overhead", "20 %", "", "")), "overhead", other_person, THEN)

    with pytest.raises(ConflictError, match=f"{other.number} by administrator"):
        imports.upload_import(upload=upload, fingerprint=shown, good_only=False, by=manager)
    assert RateRow.objects.get(key="price.overhead", valid_from=THEN).value == "20 %"


def test_a_second_confirmation_of_the_same_table_imports_nothing(manager):
    upload = sent(as_csv("overhead", GOOD), "overhead", manager, THEN)
    shown = imports.upload_preview(upload).fingerprint
    first = RateUpload.objects.get()
    imports.upload_import(upload=upload, fingerprint=shown, good_only=False, by=manager)
    with pytest.raises(ConflictError, match="already"):
        imports.upload_import(upload=first, fingerprint=shown, good_only=False, by=manager)
    assert RateImport.objects.count() == 1


def test_the_same_file_twice_changes_nothing_and_says_so(manager):
    content = as_csv("overhead", GOOD)
    brought_in(content, "overhead", manager, THEN)
    assert look(content, "overhead", THEN).to_keep == ()
    with pytest.raises(ValidationError, match="Nothing in rates.csv differs"):
        brought_in(content, "overhead", manager, THEN)


# --- what the house does not know -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "row", "column", "said"),
    [
        ("resin", ("Stonefield ABS naturl", "0 lb", "2.55", "0", "1000 lb", "0.45", "", ""), "Sheet", f"mean {SHEET}?"),
        ("resin", (SHEET, "0 lb", "0", "0", "1000 lb", "0.45", "", ""), "Price per pound ($)", "from 0.0001"),
        ("resin", (SHEET, "0 lb", "2.55", "0", "1000 lb", "450", "", ""), "Regrind value per pound ($)", "to 100"),
        ("labour", ("ELDER", "labour", "", "36", "", ""), "Plant", "ALDER, QUARRY, RIVERS"),
        ("labour", ("ALDER", "machine", "ALDER-S9", "36", "", ""), "Machine or trimmer", "did you mean ALDER-S"),
        ("labour", ("ALDER", "machine", "QUARRY-T1", "36", "", ""), "Machine or trimmer", "of a machine of ALDER"),
        ("labour", ("ALDER", "labour", "", "3600", "", ""), "Rate per hour ($)", "from 1 to 1,000"),
    ],
)
def test_what_the_house_has_not_is_refused_with_what_it_has(manager, table, row, column, said):
    (wrong,) = look(as_csv(table, row), table, THEN).wrong
    assert (wrong.row, wrong.column) == (2, column)
    assert said in wrong.accepted


# --- who, when, and who may -------------------------------------------------------------------------------------------


def test_an_import_is_a_record_of_file_person_time_and_every_figure(manager):
    content = as_csv("overhead", GOOD)
    record = brought_in(content, "overhead", manager, THEN, name="C:\\prices\\new year.csv")
    assert (record.by, record.file_name, record.effective, record.table) == (manager, "new year.csv", THEN, "overhead")
    assert record.file_digest == sha256(content).hexdigest()
    change = record.changes.get()
    assert (change.subject, change.valid_from, change.old, change.new) == ("price.overhead", THEN, "12 %", "13 %")
    entry = AuditEntry.objects.get(action="rates_import")
    assert (entry.by, entry.detail["number"], entry.detail["file_digest"]) == (
        manager,
        record.number,
        record.file_digest,
    )
    assert not RateUpload.objects.exists()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE quotes_rateimport SET file_name = 'forged'",
        "DELETE FROM quotes_rateimport",
        "UPDATE quotes_rateimportchange SET old = '1 %'",
        "DELETE FROM quotes_rateimportchange",
    ],
)
def test_the_record_is_frozen_by_the_database(manager, statement):
    record = brought_in(as_csv("overhead", GOOD), "overhead", manager, THEN)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    with pytest.raises(FrozenError):
        record.save()
    with pytest.raises(FrozenError):
        RateImportChange.objects.get().delete()


@pytest.mark.parametrize("role", [policies.REP, policies.ESTIMATOR])
def test_only_manager_and_administrator_import(manager, role):
    other = person("other", role)
    with pytest.raises(PermissionDenied, match="manager or the administrator"):
        sent(as_csv("overhead", GOOD), "overhead", other, THEN)
    upload = sent(as_csv("overhead", GOOD), "overhead", manager, THEN)
    shown = imports.upload_preview(upload).fingerprint
    with pytest.raises(PermissionDenied):
        imports.upload_import(upload=upload, fingerprint=shown, good_only=False, by=other)
    with pytest.raises(PermissionDenied):
        imports.upload_discard(upload=upload, by=other)
    assert RateUpload.objects.count() == 1


def test_a_file_that_is_no_table_is_not_even_kept(manager):
    with pytest.raises(InputErrors):
        sent(b"PK\x03\x04", "resin", manager)
    assert not RateUpload.objects.exists()


def test_two_thousand_rows_with_one_wrong_are_told_apart(manager):
    rows = [(f"freight.ltl_breaks.{number}", "1.1", "2027-01-01", "") for number in range(1, 2001)]
    rows[1234] = ("freight.ltl_breaks.1235", "1,1", "2027-01-01", "")
    found = look(as_csv("freight", *rows, mark=";"), "freight")
    assert [(one.row, one.column) for one in found.wrong] == [(1236, "Value")]
    assert len(found.changes) == 1999


def test_machine_rates_in_the_catalog_are_those_imported(manager):
    machine = Machine.objects.get(code="ALDER-S2")
    assert machine.hour_rate == Decimal(74)
    brought_in(as_csv("labour", ("ALDER", "machine", "ALDER-S2", "80", "", "")), "labour", manager, THEN)
    machine.refresh_from_db()
    assert machine.hour_rate == Decimal(74)  # its own column stays; the dated row goes before it
