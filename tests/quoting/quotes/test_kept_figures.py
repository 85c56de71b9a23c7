"""Figures kept in the process: never older than what was committed before, whichever way it was written."""

import re
import threading
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.db import close_old_connections, connection, transaction
from django.test.utils import CaptureQueriesContext

from machines.models import Booking, ClosedDay, Machine, Plant, Shift, TimeWindow, Trimmer
from quoting.planning.models import QUOTED, WON, BenchHours, Job
from quoting.quotes import chances, kept_figures, models, policies, records, selectors, watched
from quoting.quotes.boards import seen_board
from quoting.quotes.plant_figures import compared
from tests.quoting.quotes.conftest import make_machine
from tests.quoting.quotes.test_boards import MONDAY, ON, job, quote, rates


@pytest.fixture
def office(db):
    """A machine with won and quoted work, and one quote of each outcome."""
    rates()
    machine, person = make_machine(), get_user_model().objects.create_user("pat", "pat@desk.example")
    person.groups.add(Group.objects.get_or_create(name=policies.REP)[0])
    quote(person, "Q-1", "Carts", state=models.WON, sent=date(2026, 3, 2), decided=date(2026, 3, 20))
    quote(person, "Q-2", "Carts", state=models.SENT, sent=date(2026, 11, 2))
    job(machine, "Q-1")
    job(machine, "Q-2", state=QUOTED, valid_until=ON + timedelta(days=400))
    for number, firm in (("Q-1", True), ("Q-2", False)):
        Booking.objects.create(machine=machine, week=MONDAY, hours=20, firm=firm, label=number, quote=number)
    BenchHours.objects.create(
        job=Job.objects.get(quote="Q-1"), plant=machine.plant, kind="assembly", week=MONDAY, hours=3
    )
    return machine


def _rep() -> object:
    return get_user_model().objects.get(username="pat")


def everything(on: date = ON) -> object:
    """All that the pages show of a board, as plain values."""
    seen = seen_board(on, 12, on)
    board = seen.board
    arrays = [getattr(board, name).tolist() for name in ("available", "booked", "quoted", "weighted")]
    book = chances.book(on)
    return (
        board.resources, arrays, sorted(seen.loads, key=repr), seen.clashes, seen.plants, seen.machine_kinds,
        book, compared(seen, on), selectors.state_counts(person=_rep()),
    )  # fmt: skip


def everything_anew() -> object:
    kept_figures.kept.values.clear()
    selectors.counts_kept.values.clear()
    return everything()


def plain_sql(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def audit(action: str, number: str) -> None:
    issued = models.Quote.objects.get(number=number)
    at = datetime.combine(date(2026, 11, 20), time(12), UTC)
    models.AuditEntry.objects.create(at=at, action=action, inquiry=issued.inquiry, quote=issued)


def sold_elsewhere() -> None:
    inquiry = models.Inquiry.objects.get(number="I-1")
    inquiry.customer = models.Customer.objects.create(company="Other", contact="Kim", email="kim@other.example")
    inquiry.save()


def another_booking(**given: object) -> Booking:
    usual = {"machine": Machine.objects.get(), "week": MONDAY, "hours": 7.0, "firm": True}
    return Booking(**usual | given)


CHANGES = {
    "a booking is added": lambda: another_booking().save(),
    "bookings are added in bulk": lambda: Booking.objects.bulk_create([another_booking(), another_booking()]),
    "bookings are changed in bulk": lambda: Booking.objects.update(hours=11.5),
    "a booking becomes firm": lambda: Booking.objects.filter(quote="Q-2").update(firm=True),
    "bookings go": lambda: Booking.objects.filter(quote="Q-1").delete(),
    "a booking is changed by hand": lambda: plain_sql("UPDATE machines_booking SET hours = 1"),
    "quoted work runs out": lambda: Job.objects.filter(quote="Q-2").update(valid_until=date(2020, 1, 1)),
    "a job goes to another tool": lambda: Job.objects.update(tool="T-9", quantity=7, margin=0.5),
    "a rate of winning is entered": lambda: rates(date(2026, 6, 1), winning__half_life="31 days"),
    "a job is won": lambda: Job.objects.filter(quote="Q-2").update(state=WON, valid_until=None),
    "a decided job is worth more": lambda: Job.objects.filter(quote="Q-1").update(value=Decimal(150_000)),
    "an open job is worth more": lambda: Job.objects.filter(quote="Q-2").update(value=Decimal(150_000)),
    "a decided job goes": lambda: (BenchHours.objects.all().delete(), Job.objects.filter(quote="Q-1").delete()),
    "hours at the bench change": lambda: BenchHours.objects.update(hours=4),
    "hours at the bench go": lambda: BenchHours.objects.all().delete(),
    "a machine retires": lambda: Machine.objects.update(retired_on=date(2026, 12, 7)),
    "a machine is renamed": lambda: Machine.objects.update(code="R-9"),
    "a plant is renamed": lambda: Plant.objects.update(name="Elsewhere"),
    "a plant assembles with more people": lambda: Plant.objects.update(assembly=True, assembly_places=3),
    "a trimmer comes": lambda: Trimmer.objects.bulk_create(
        [Trimmer(plant=Plant.objects.get(), code="N-1", kind="five_axis", table_length=2, table_width=2, table_height=1,
                 hour_rate=60, feed=0.1, crew=1, setup_hours=1, efficiency=0.9)]
    ),
    "a day is closed": lambda: ClosedDay.objects.create(plant=Plant.objects.get(), day=date(2026, 12, 2)),
    "shifts are set": lambda: Shift.objects.create(
        plant=Plant.objects.get(), days=[0, 1], start=time(6), length_hours=8, first_day=date(2026, 1, 1)
    ),
    "a machine stands for maintenance": lambda: TimeWindow.objects.create(
        plant=Plant.objects.get(), machine=Machine.objects.get(), kind="maintenance",
        start=datetime(2026, 12, 1, 6, tzinfo=UTC), end=datetime(2026, 12, 3, 6, tzinfo=UTC),
    ),
    "a quote is won": lambda: audit("quote_won", "Q-2"),
    "a quote is lost": lambda: audit("quote_lost", "Q-2"),
    "a quote was sent again": lambda: audit("quote_send", "Q-1"),
    "an inquiry is lost": lambda: models.Inquiry.objects.filter(number="I-2").update(state=models.LOST),
    "an inquiry changes its customer": sold_elsewhere,
    "a customer is renamed": lambda: models.Customer.objects.update(company="Renamed"),
    "an inquiry comes": lambda: models.Inquiry.objects.create(
        number="I-7", typed={}, state=models.SENT, created_by=_rep(), created_at=records.now()
    ),
}  # fmt: skip


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_what_was_changed_shows_at_once(office, change):
    before = everything()
    change()

    after = everything()

    assert after == everything_anew()
    if change not in (CHANGES["a quote was sent again"],):  # its first sending stands
        assert repr(after) != repr(before)


def test_every_table_that_is_read_for_them_is_watched(office):
    kept_figures.kept.values.clear()
    selectors.counts_kept.values.clear()
    with CaptureQueriesContext(connection) as asked:
        everything()

    read = {table for one in asked.captured_queries for table in re.findall(r'(?:FROM|JOIN) "(\w+)"', one["sql"])}
    people = {table for table in read if table.startswith("auth_")}
    assert len(read) > 12
    assert read - people - {watched.TABLE} <= {one.table for one in watched.WATCHED}


def test_nothing_is_worked_out_again_while_nothing_changed(office, django_assert_num_queries):
    first = seen_board(ON, 12, ON)
    models.Inquiry.objects.filter(number="I-2").update(reference="ours", version=9)
    audit(f"{records.SAW}cost", "Q-2")
    models.Quote.objects.filter(number="Q-2").update(link_hash="0")

    with django_assert_num_queries(1):
        assert seen_board(ON, 12, ON) is first


def test_what_was_undone_is_not_shown(office):
    before = everything()
    with pytest.raises(RuntimeError), transaction.atomic():
        Booking.objects.update(hours=90)
        assert everything() != before
        raise RuntimeError

    assert everything() == before


def test_triggers_that_a_migration_lost_are_laid_again_and_what_it_did_is_counted(office):
    before, laid = everything(), triggers()
    for name in [name for name, table in laid.items() if table == "machines_booking"]:
        plain_sql(f"DROP TRIGGER {name}" + (" ON machines_booking" if connection.vendor == "postgresql" else ""))
    Booking.objects.update(hours=2)
    assert everything() == before  # so the trigger does matter

    watched.watch("default")

    assert triggers() == laid
    assert everything() == everything_anew() != before


def triggers() -> dict[str, str]:
    with connection.cursor() as cursor:
        return watched._laid(cursor, connection.vendor)


def test_triggers_go_and_come_as_a_whole(office):
    laid = triggers()
    watched.unwatch("default")
    assert triggers() == {}
    watched.watch("default")
    assert triggers() == laid


@pytest.mark.django_db(transaction=True)
def test_changes_of_several_at_once_are_all_counted():
    """Writers that overlap neither wait for each other nor lose a count; readers see what was committed alone."""
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one writer at a time")
    watched.watch("default")
    machine = make_machine()
    before, steps = kept_figures.stamps()["work"], threading.Barrier(3, timeout=20)
    faults = []

    def write(commits: bool) -> None:
        try:
            with transaction.atomic():
                Booking.objects.create(machine=machine, week=MONDAY, hours=1, firm=True)
                steps.wait()  # both have written, neither has committed
                steps.wait()  # looked at meanwhile
                transaction.set_rollback(not commits)
        except BaseException as fault:  # noqa: BLE001 - told by the test
            faults.append(fault)
        finally:
            connection.close()

    writers = [threading.Thread(target=write, args=(commits,)) for commits in (True, False)]
    for one in writers:
        one.start()
    steps.wait()
    meanwhile = kept_figures.stamps()["work"]
    steps.wait()
    for one in writers:
        one.join()
    close_old_connections()

    assert not faults
    assert meanwhile == before
    assert kept_figures.stamps()["work"][0] == before[0] + 1  # the other one was undone


@pytest.mark.django_db
def test_many_counts_are_put_into_one_without_changing_what_they_add_up_to():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one row of each kind")
    machine = make_machine()
    for _ in range(5):
        Booking.objects.create(machine=machine, week=MONDAY, hours=1, firm=True)
    before, others = kept_figures.stamps(), models.CountedChange.objects.exclude(kind="work").count()
    assert models.CountedChange.objects.filter(kind="work").count() >= 5

    watched.fold("default", longer=4)

    assert kept_figures.stamps() == before
    assert models.CountedChange.objects.filter(kind="work").count() == 1
    assert models.CountedChange.objects.exclude(kind="work").count() <= others


def test_the_one_longest_not_asked_for_goes():
    kept, seen, made = kept_figures.Kept(most=2), {"work": (1, 1)}, []

    def ask(name):
        return kept.get(name, seen, ("work",), lambda: made.append(name) or name)

    assert [ask(name) for name in "abacb"] == list("abacb")
    assert made == ["a", "b", "c", "b"]
    assert set(kept.working) == set(kept.values)


def test_without_a_count_nothing_is_kept():
    kept, made = kept_figures.Kept(), []
    for _ in range(2):
        kept.get("a", {}, ("work",), lambda: made.append(1))
    assert len(made) == 2
