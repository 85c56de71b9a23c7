"""The board from the rows: hours by calendar, quoted work by its chance, clashes, promises, and plants compared."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError

from machines import selectors as machine_selectors
from machines.loads import Loads
from machines.models import Booking, ClosedDay, Machine, Shift, TimeWindow
from machines.winning import Record, WinningRates, chance_of_winning
from quoting.desk import chance_words
from quoting.planning.models import DONE, GONE, QUOTED, WON, BenchHours, Job
from quoting.planning.promises import promises
from quoting.quotes import chances, models
from quoting.quotes.boards import quotes_about, seen_board
from quoting.quotes.plant_figures import compared
from tests.quoting.quotes.conftest import make_machine

ON, MONDAY = date(2026, 11, 25), date(2026, 11, 23)


# By hand from the rows below.
RATES = WinningRates(prior_rate=0.3, prior_strength=10, record_strength=8, half_life=60, size_limits=(20_000, 100_000))
ROWS = {
    "winning.prior_rate": "30 %", "winning.prior_strength": "10", "winning.record_strength": "8",
    "winning.half_life": "60 days", "winning.size_limits": "20000 / 100000", "winning.record": "730 days",
}  # fmt: skip


def rates(valid_from=date(2026, 1, 1), **values):
    for key, value in (values or ROWS).items():
        row = models.RateRow(key=key.replace("__", "."), value=value, valid_from=valid_from, source="test")
        row.full_clean()
        row.save()


@pytest.fixture
def machine(db):
    rates()
    return make_machine()


@pytest.fixture
def person(db):
    return get_user_model().objects.create_user("pat", "pat@desk.example")


def job(machine, number, **given):
    usual = {
        "state": WON, "process": "vacuum", "polymer": "ABS", "quantity": 100, "hours": 40.0, "since": date(2026, 1, 5),
        "ready": ON, "due": date(2026, 12, 18), "value": Decimal(10_000), "margin": 0.2, "part": "cover",
    }  # fmt: skip
    return Job.objects.create(quote=number, machine=machine, **usual | given)


def quote(person, number, company, *, state, sent, decided=None):
    """A quote as the record of deeds has it: logged a week before it was sent."""
    customer, _ = models.Customer.objects.get_or_create(company=company, contact="Lee", email="lee@carts.example")
    sent = datetime.combine(sent, time(12), UTC)
    inquiry = models.Inquiry.objects.create(
        number=number.replace("Q", "I"), customer=customer, typed={}, state=state, created_by=person,
        created_at=sent - timedelta(days=7),
    )  # fmt: skip
    issued = models.Quote.objects.create(
        number=number, inquiry=inquiry, kind=models.QUOTE, snapshot={}, digest="0", pdf=b"%PDF", pdf_digest="0",
        issued_by=person, issued_at=sent, valid_until=ON + timedelta(days=30),
    )  # fmt: skip
    acts = [(chances.SENT_BY[0], sent)]
    if decided:
        acts.append(("quote_won" if state == models.WON else "quote_lost", datetime.combine(decided, time(12), UTC)))
    for action, at in acts:
        models.AuditEntry.objects.create(at=at, by=person, action=action, inquiry=inquiry, quote=issued)


def row(seen, code):
    return next(number for number, one in enumerate(seen.board.resources) if one.code == code)


def test_the_board_shows_what_is_free_won_and_quoted(machine):
    for hours, firm in ((10, True), (6, True), (8, False)):
        Booking.objects.create(machine=machine, week=date(2026, 11, 30), hours=hours, firm=firm)

    seen = seen_board(ON, 3, ON)

    # 1 shift x 8 h x 5 days
    at = row(seen, machine.code)
    assert seen.weeks == [MONDAY, date(2026, 11, 30), date(2026, 12, 7)]
    assert seen.board.available[at].tolist() == [40, 40, 40]
    assert seen.board.booked[at].tolist() == [0, 16, 0]
    assert seen.board.quoted[at].tolist() == [0, 8, 0]


def test_the_board_follows_shifts_closed_days_and_windows(machine):
    plant = machine.plant
    at = datetime.combine(MONDAY, time(6), ZoneInfo(plant.time_zone))
    Shift.objects.create(plant=plant, days=[0, 1, 2, 3, 4], start=time(6), length_hours=8.5, break_hours=0.5,
                         first_day=date(2026, 1, 1))  # fmt: skip
    ClosedDay.objects.create(plant=plant, day=date(2026, 11, 26), reason="Thanksgiving")
    later = at + timedelta(weeks=1)
    TimeWindow.objects.create(
        plant=plant, machine=machine, kind="maintenance", start=later, end=later + timedelta(days=1)
    )
    saturday = at + timedelta(days=19)
    TimeWindow.objects.create(plant=plant, kind="overtime", start=saturday, end=saturday + timedelta(hours=6))

    seen = seen_board(ON, 4, ON)

    assert seen.board.available[row(seen, machine.code)].tolist() == [32, 32, 46, 40]
    assert machine_selectors.calendars()[plant.code].closed == (date(2026, 11, 26),)


def test_work_in_a_week_in_which_the_plant_is_closed_is_a_clash_and_no_error(machine):
    for day in range(5):
        ClosedDay.objects.create(plant=machine.plant, day=MONDAY + timedelta(days=day))
    Booking.objects.create(machine=machine, week=MONDAY, hours=5, firm=True, label="earlier work")

    seen = seen_board(ON, 2, ON)

    assert seen.board.available[row(seen, machine.code)].tolist() == [0, 40]
    assert [(one.kind, one.where, one.measured, one.limit, one.labels) for one in seen.clashes] == [
        ("overbooked", machine.code, 5, 0, ("earlier work",))
    ]


def test_a_tool_wanted_at_two_machines_in_one_week_is_a_clash(machine):
    other = Machine.objects.get(pk=machine.pk)
    other.pk, other.code = None, "M-2"
    other.save()
    for number, at in (("Q-1", machine), ("Q-2", other)):
        job(at, number, tool="T-7")
        Booking.objects.create(machine=at, week=MONDAY, hours=30, firm=True, label=number, quote=number)

    (clash,) = [one for one in seen_board(ON, 2, ON).clashes if one.kind == "tool_twice"]

    assert (clash.where, clash.measured, clash.limit, clash.labels) == ("T-7", 60, 40, ("Q-1", "Q-2"))


def test_hours_beside_the_former_stand_on_the_board(machine):
    one = job(machine, "Q-1", state=WON)
    BenchHours.objects.create(job=one, plant=machine.plant, kind="assembly", week=MONDAY, hours=12)

    seen = seen_board(ON, 1, ON)

    assert seen.board.booked.sum() + sum(load.hours for load in seen.board.stranded) == 12
    assert [load.quote for load in seen.loads if load.hours == 12] == ["Q-1"]


def test_quoted_hours_count_by_the_chance_that_the_record_gives(machine, person):
    quote(person, "Q-1", "Carts", state=models.WON, sent=date(2026, 3, 2), decided=date(2026, 3, 20))
    quote(person, "Q-2", "Carts", state=models.WON, sent=date(2026, 3, 2), decided=date(2026, 4, 20))
    quote(person, "Q-3", "Trays", state=models.LOST, sent=date(2026, 3, 2), decided=date(2026, 4, 20))
    quote(person, "Q-4", "Old", state=models.LOST, sent=date(2024, 1, 2), decided=date(2024, 2, 2))  # beyond two years
    quote(person, "Q-5", "Carts", state=models.SENT, sent=ON - timedelta(days=30))
    for number, value in (("Q-1", 5_000), ("Q-2", 50_000), ("Q-5", 7_000)):
        job(machine, number, state=QUOTED, value=Decimal(value))
    Booking.objects.create(machine=machine, week=MONDAY, hours=10, firm=False, label="Q-5 cover", quote="Q-5")

    seen = seen_board(ON, 1, ON)

    # by hand: house 2 of 3, Carts 2 of 2, below $20,000 1 of 1, a month old
    expected = chance_of_winning(Record(2, 1), Record(2, 0), Record(1, 0), 30, RATES)
    assert seen.book.open["Q-5"].chance == expected
    assert [one.record for one in expected.basis] == [Record(2, 1), Record(2, 0), Record(1, 0), None]
    assert seen.board.weighted[row(seen, machine.code), 0] == pytest.approx(10 * expected.chance)
    assert sum(map(sum, chances.decided_counts(ON, seen.book.rates).values())) == 3


def test_an_approved_quote_that_nobody_sent_has_no_age_and_one_without_a_job_no_size(machine, person):
    quote(person, "Q-1", "Carts", state=models.APPROVED, sent=date(2026, 3, 2))

    (one,) = chances.book(ON).open.values()

    assert (one.sent, one.age, one.size, one.band) == (None, 0, None, None)
    assert one.chance.basis[2].odds_factor == pytest.approx(1)
    assert one.chance.chance == pytest.approx(RATES.prior_rate)


def test_a_rate_from_a_day_on_changes_the_chance_the_bands_and_the_record_from_that_day_alone(machine, person):
    quote(person, "Q-1", "Carts", state=models.WON, sent=date(2026, 3, 2), decided=date(2026, 3, 20))
    quote(person, "Q-5", "Trays", state=models.SENT, sent=ON - timedelta(days=30))
    job(machine, "Q-5", state=QUOTED, value=Decimal(30_000))
    later = ON + timedelta(days=1)
    rates(later, winning__size_limits="50000", winning__half_life="31 days", winning__record="30 days")

    before, after = chances.book(ON), chances.book(later)

    assert (before.open["Q-5"].band, after.open["Q-5"].band) == (1, 0)
    assert chance_words.bands(after.rates) == ("below $50,000", "$50,000 and above")
    assert after.open["Q-5"].chance.basis[3].odds_factor == pytest.approx(0.5)
    assert (before.records.house, after.records.house) == (Record(1, 0), Record(0, 0))


def test_without_a_rate_no_chance_is_made_up_and_quoted_hours_count_whole(machine, person):
    quote(person, "Q-5", "Carts", state=models.SENT, sent=ON - timedelta(days=30))
    Booking.objects.create(machine=machine, week=MONDAY, hours=10, firm=False, label="Q-5 cover", quote="Q-5")
    models.RateRow.objects.filter(key="winning.half_life").delete()

    seen = seen_board(ON, 1, ON)

    assert seen.book.open == {}
    assert seen.board.weighted[row(seen, machine.code), 0] == 10
    assert chance_words.missing(seen.book.rates) == ("winning.half_life",)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("winning.prior_rate", "0 %"), ("winning.prior_rate", "100 %"), ("winning.prior_strength", "0"),
        ("winning.half_life", "0 days"), ("winning.half_life", "60"), ("winning.size_limits", "100000 / 20000"),
        ("winning.size_limits", "0 / 20000"), ("winning.size_limits", "20000,100000"), ("winning.record", "-1 days"),
        ("overtime.hours", "169 h"), ("overtime.premium", "-5 %"), ("overtime.premium.P-1", "301 %"),
        ("overtime.premium.", "5 %"), ("winning.other", "5"),
    ],
)  # fmt: skip
def test_a_rate_of_planning_that_cannot_be_is_refused_by_field(db, key, value):
    with pytest.raises(ValidationError, match="accepted is"):
        models.RateRow(key=key, value=value, valid_from=ON, source="test").full_clean()


def test_the_queries_of_a_board_do_not_grow_with_what_is_on_it(machine, person, django_assert_max_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def grow(numbers):
        for number in numbers:
            quote(person, f"Q-{number}", f"C{number % 3}", state=models.SENT, sent=date(2026, 11, 2))
            BenchHours.objects.create(
                job=job(machine, f"Q-{number}"), plant=machine.plant, kind="assembly", week=MONDAY, hours=1
            )
            Booking.objects.create(machine=machine, week=MONDAY, hours=1, firm=True, quote=f"Q-{number}")

    grow(range(2))
    with CaptureQueriesContext(connection) as queries:
        compared(seen_board(ON, 12, ON), ON)
    grow(range(2, 20))
    with django_assert_max_num_queries(len(queries)):
        compared(seen_board(ON, 12, ON), ON)


@pytest.mark.parametrize(
    ("given", "weeks", "word", "late"),
    [
        ({"due": date(2026, 12, 18)}, (date(2026, 12, 7), date(2026, 12, 14)), "in time", 0),
        ({"due": date(2026, 12, 11)}, (date(2026, 12, 7), date(2026, 12, 14)), "late", 1),
        ({"due": date(2026, 12, 11)}, (), "not booked", 0),
        ({"due": date(2026, 11, 24)}, (MONDAY,), "overdue", 0),
        ({"due": date(2026, 11, 24), "state": DONE, "delivered": date(2026, 11, 24)}, (), "delivered in time", 0),
        ({"due": date(2026, 11, 9), "state": DONE, "delivered": date(2026, 11, 24)}, (), "delivered late", 3),
    ],
)
def test_a_job_keeps_its_day_or_says_why_not(machine, given, weeks, word, late):
    job(machine, "Q-1", **given)
    for week in weeks:
        Booking.objects.create(machine=machine, week=week, hours=20, firm=True, quote="Q-1")

    (one,) = promises(ON)

    assert (one.standing, one.weeks_late) == (word, late)


def test_quoted_and_lost_jobs_promise_nothing(machine):
    job(machine, "Q-1", state=QUOTED)
    job(machine, "Q-2", state=GONE)

    assert promises(ON) == ()


def test_plants_are_compared_by_figures_that_add_up_by_hand(machine, person):
    quote(person, "Q-1", "Carts", state=models.WON, sent=date(2026, 3, 2), decided=date(2026, 3, 20))
    quote(person, "Q-2", "Carts", state=models.LOST, sent=date(2026, 3, 2), decided=date(2026, 3, 20))
    quote(person, "Q-9", "Carts", state=models.LOST, sent=date(2026, 3, 2), decided=date(2026, 3, 20))  # no job
    job(machine, "Q-1", value=Decimal(30_000), margin=0.10)
    job(machine, "Q-3", value=Decimal(10_000), margin=0.30, state=DONE, delivered=date(2026, 6, 5),
        due=date(2026, 6, 5))  # fmt: skip
    job(machine, "Q-2", state=GONE)
    Booking.objects.create(machine=machine, week=MONDAY, hours=32, firm=True, quote="Q-1")

    found = compared(seen_board(ON, 12, ON), ON)
    (one,) = found.plants

    assert one.margin == pytest.approx((0.10 * 30_000 + 0.30 * 10_000) / 40_000)
    assert (one.kept, one.jobs, one.on_time) == (2, 2, 1.0)
    assert (one.won, one.decided, one.win_rate) == (1, 2, 0.5)
    assert found.decided_nowhere == 1
    assert one.days == pytest.approx(7)
    assert [ahead.share for ahead in one.ahead] == pytest.approx([32 / 160, 32 / 480])


def test_work_is_found_by_number_customer_and_part(machine):
    job(machine, "Q-1", customer="Barlen Mobility", part="Fender, left")
    job(machine, "Q-2", customer="Corvane", part="hood")

    assert quotes_about("fender BARLEN") == {"Q-1"}
    assert quotes_about("q-2") == {"Q-2"}
    assert quotes_about("\x00nothing") == frozenset()


def test_hours_of_some_work_alone_are_told(machine):
    for number, hours in (("Q-1", 10), ("Q-2", 7)):
        Booking.objects.create(machine=machine, week=MONDAY, hours=hours, firm=True, quote=number)
    seen = seen_board(ON, 1, ON)

    found = seen.of(Loads.of(load for load in seen.loads if load.quote == "Q-2"))

    assert np.count_nonzero(found) == 1
    assert found[row(seen, machine.code), 0] == 7
