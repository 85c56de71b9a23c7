"""A quote's job: what it takes, where else it could run, and what becomes of it."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from machines.models import Booking, ClosedDay, Trimmer
from quoting.planning import selectors
from quoting.planning.beside import won_hours
from quoting.planning.jobs import job_write
from quoting.planning.models import BenchHours, Job
from quoting.planning.occupying import assembly_hours, occupied
from quoting.quotes import expiry, services
from quoting.quotes.closed_days import closed_days_keep
from quoting.quotes.models import AuditEntry
from tests.quoting.quotes.conftest import ON, TYPED, approved, sent, stored_answer, stored_candidate

MONDAY = date(2026, 11, 23)
# ready two weeks after Wednesday 25 November (sheet and tool), promised three weeks after it
READY, DUE = date(2026, 12, 9), date(2026, 12, 16)


def test_an_approved_quote_is_a_job_with_its_promise_and_its_margin(office):
    quote = approved(office)

    job = Job.objects.get()
    assert (job.quote, job.part, job.customer) == (quote.number, "Cover", "Example Carts")
    assert (job.state, job.machine.code, job.process, job.polymer) == ("quoted", "M-1", "vacuum", "ABS")
    assert (job.quantity, job.hours, job.since, job.ready, job.due) == (100, 10.0, ON, READY, DUE)
    assert (job.tool, job.tool_plant.code) == (f"tool of {quote.number}", "P-1")
    # 100 parts at 60 landed; they cost 40 each and 3 of freight
    assert (job.value, job.margin) == (Decimal("6000.00"), pytest.approx(17 / 60))
    assert job.valid_until == quote.valid_until
    booking = Booking.objects.get()
    assert (booking.label, booking.week) == (f"{quote.number} Cover", date(2026, 12, 14))


def test_an_order_replaces_the_quoted_job_by_the_release_ordered(office):
    quote, _ = sent(office)

    services.quote_won(quote=quote, release=500, by=office.rep, on=ON)

    job = Job.objects.get()
    assert (job.state, job.quantity, job.hours, job.valid_until) == ("won", 500, 100.0, None)
    assert set(Booking.objects.values_list("firm", flat=True)) == {True}
    assert sum(Booking.objects.values_list("hours", flat=True)) == pytest.approx(100)
    trim, rest = BenchHours.objects.filter(kind="router"), BenchHours.objects.exclude(kind="router")
    assert sum(trim.values_list("hours", flat=True)) == pytest.approx(20)
    assert set(trim.values_list("week", flat=True)) == set(Booking.objects.values_list("week", flat=True))
    assert not rest.exists()


def test_the_needed_day_counts_where_it_is_earlier_than_the_promise(office):
    answer = stored_answer()
    answer["request"]["needed_by"] = "2026-12-11"
    office.core.snapshot = answer

    approved(office)

    assert Job.objects.get().due == date(2026, 12, 11)


def test_lost_and_revised_quotes_leave_the_board(office):
    lost, _ = sent(office)
    services.quote_lost(quote=lost, reason="price", by=office.rep)
    revised = approved(office)
    inquiry = revised.inquiry
    inquiry.refresh_from_db()
    services.inquiry_change(inquiry=inquiry, typed=TYPED | {"reference": "T-2"}, by=office.estimator,
                            version=inquiry.version)  # fmt: skip

    assert set(Job.objects.values_list("state", flat=True)) == {"gone"}
    assert not Booking.objects.exists() and not BenchHours.objects.exists()


def test_an_expired_quote_leaves_the_board_with_a_record_and_can_still_be_won(office):
    quote, _ = sent(office)
    last = quote.valid_until

    assert expiry.quotes_expire(on=last, by=None) == ()
    assert expiry.quotes_expire(on=last + timedelta(days=1), by=None) == (quote.number,)

    assert Job.objects.get().state == "gone"
    assert not Booking.objects.exists()
    assert AuditEntry.objects.get(action="quote_expire").quote == quote
    services.quote_won(quote=quote, release=100, by=office.rep, on=ON)
    assert Job.objects.get().state == "won"


def test_work_is_laid_into_hours_that_firm_work_and_closed_days_leave(office):
    # 40 h a week; the promised week has a closed day and 20 h of firm work: 12 h are left
    ClosedDay.objects.create(plant=office.machine.plant, day=date(2026, 12, 24))
    Booking.objects.create(machine=office.machine, week=date(2026, 12, 21), hours=20.0, firm=True, label="other")
    Booking.objects.create(machine=office.machine, week=date(2026, 12, 14), hours=25.0, firm=False, label="quoted")
    quote, _ = sent(office)

    services.quote_won(quote=quote, release=500, by=office.rep, on=ON)

    own = Booking.objects.filter(quote=quote.number).order_by("week").values_list("week", "hours")
    # three of five days of the first week are left; what finds no room before the promise goes on after it
    assert list(own) == [
        (date(2026, 12, 7), pytest.approx(24.0)),
        (date(2026, 12, 14), 40.0),
        (date(2026, 12, 21), pytest.approx(12.0)),
        (date(2026, 12, 28), pytest.approx(24.0)),
    ]


def test_a_machine_without_free_hours_is_said_and_nothing_is_kept(office):
    quote, _ = sent(office)
    office.machine.retired_on = READY
    office.machine.save()

    with pytest.raises(ValidationError, match="M-1 has no free hours for 100.0 of its 100.0 h.*retired from 09 Dec"):
        services.quote_won(quote=quote, release=500, by=office.rep, on=ON)

    assert Job.objects.get().state == "quoted"
    assert sum(Booking.objects.values_list("hours", flat=True)) == 10.0


def test_options_are_the_machines_that_take_the_same_tool_each_at_its_cheapest():
    answer = stored_answer()
    dearer = stored_candidate("M-2", "P-2", hours=12.0)
    dearer["cost"]["breaks"][0] |= {"freight_per_part": "9.00"}
    near = stored_candidate("M-3", hours=8.0)  # no dearer to run, so that its set-up is what it costs
    worse = stored_candidate("M-2", "P-2", hours=20.0)
    worse["cost"]["breaks"][0] |= {"freight_per_part": "11.00"}
    other_polymer, two_cavities = stored_candidate("M-4", polymer={"name": "HDPE"}), stored_candidate("M-5")
    two_cavities["judged"]["planned"]["candidate"]["layout"] = {"along": 2, "across": 1}
    unfit = stored_candidate("M-6") | {"cost": None}
    answer["candidates"] = [answer["chosen"], worse, dearer, near, other_polymer, two_cavities, unfit]

    found = occupied(answer, answer["chosen"]["cost"]["breaks"][0], 1.0).options

    # 100 parts: 6 $ more of freight each; set-up 2 $ each
    assert [(one.machine, one.hours, one.cost) for one in found] == [
        ("M-1", 10.0, Decimal(0)),
        ("M-3", 8.0, Decimal(200)),
        ("M-2", 12.0, Decimal(600)),
    ]


def test_bench_hours_are_worked_out_from_the_stored_line_of_secondary_work():
    given = {
        "efficiency": 0.8, "labour rate": 30, "insert, count": 4, "insert, standard time": 9, "paint, count": 1,
        "paint, standard time": 0, "paint, masking and spraying of a part": 108, "gasket, count": 2,
        "gasket, standard time": 18, "gasket, learning at this release": 1.5, "weld stud, count": 1,
        "weld stud, standard time": 10, "weld stud, pieces, before trim": 108,
        "repetitions after which a standard holds": 100,
    }  # fmt: skip
    inputs = [{"name": name, "value": str(value)} for name, value in given.items()]
    lines = [{"quantity": 100, "name": "secondary operations", "inputs": inputs}]

    # by hand: 100 x (4 x 9 + 108 + 2 x 18 x 1.5) s + 108 x 10 s at 80 %
    assert assembly_hours(lines, 100) == pytest.approx((100 * (36 + 108 + 54) + 1080) / 0.8 / 3600)
    assert assembly_hours(lines, 500) == 0.0


def test_the_board_is_handed_firm_and_quoted_hours_with_tool_and_quote(office):
    quote = approved(office)

    found = list(selectors.loads(MONDAY, 8))

    assert [(one.resource, one.hours, one.firm, one.quote) for one in found] == [
        ("M-1", 10.0, False, quote.number),
        ("P-1/R-1", 5.0, False, quote.number),
    ]
    assert found[0].tool == f"tool of {quote.number}"
    Job.objects.update(valid_until=date(2020, 1, 1))
    assert list(selectors.loads(MONDAY, 8)) == []


def test_hours_available_are_those_of_the_calendar_and_end_when_a_machine_is_retired(office):
    plant = office.machine.plant
    plant.assembly, plant.assembly_places = ["insert"], 3
    plant.save()
    Trimmer.objects.create(plant=plant, code="R-1", kind="five_axis", table_length=2, table_width=2, table_height=1,
                           hour_rate=80, feed=0.1, crew=1, setup_hours=1, efficiency=0.5)  # fmt: skip
    closed_days_keep(plant=plant, years=(2026,), by=None)

    rows = selectors.resources(MONDAY)
    hours = selectors.available(rows, MONDAY, 2)

    assert [(one.code, one.kind) for one in rows] == [
        ("M-1", "forming"), ("P-1/R-1", "router"), ("P-1/assembly", "assembly"),
    ]  # fmt: skip
    # Thanksgiving is the 26th; clock hours, so no efficiency of the router; three people at the bench
    assert hours.tolist() == [[32, 40], [32, 40], [96, 120]]
    office.machine.retired_on = date(2026, 12, 2)
    office.machine.save()
    assert selectors.available(rows, MONDAY, 2)[0].tolist() == [32, 16]
    assert [one.code for one in selectors.resources(date(2026, 12, 2))] == ["P-1/R-1", "P-1/assembly"]


def with_tool_room(answer: dict, hours: float, weeks: float) -> dict:
    """A stored answer whose tool takes so many hours in the tool room and is there after so many weeks."""
    cost = answer["chosen"]["cost"]
    cost["tool_room"] = {"plant": "P-1", "places": 2, "hours": hours, "lines": [], "why_none": ""}
    room = {"name": "tool room", "where": "P-1/tool room", "hours": hours, "queue": 0.0, "run": 7.0}
    for one in cost["breaks"]:
        one["timing"] = {"waits": {"tool": 7 * weeks - 7.0}, "placed": [], "tool_room": room}
    return answer


def room_with(office, places: int):
    plant = office.machine.plant
    plant.tool_room_places = places
    plant.save()
    return plant


def tool_room_hours(job: Job) -> list[tuple[date, float]]:
    return list(job.bench_hours.filter(kind="tool_room").order_by("week").values_list("week", "hours"))


def test_tool_room_hours_of_an_order_lie_in_the_weeks_before_the_tool_is_there(office):
    # one of two works on it, 40 h a week. The tool is there five weeks after Wednesday 25 November: 30 December. Others
    # have 60 of the 80 h of that week, so 20 h are left there; the other 30 h lie in the week before.
    plant = room_with(office, 2)
    office.core.snapshot = with_tool_room(stored_answer(), 50.0, weeks=5)
    other = Job.objects.get(quote=approved(office).number)
    other.quote, other.state = "Q-other", "won"
    other.save()
    other.bench_hours.all().delete()
    BenchHours.objects.create(job=other, plant=plant, kind="tool_room", week=date(2026, 12, 28), hours=60.0)
    quote, _ = sent(office)

    services.quote_won(quote=quote, release=100, by=office.rep, on=ON)

    job = Job.objects.get(quote=quote.number)
    assert tool_room_hours(job) == [
        (date(2026, 12, 21), pytest.approx(30.0)),
        (date(2026, 12, 28), pytest.approx(20.0)),
    ]
    assert job.ready == ON + timedelta(weeks=6)  # with a week of first article
    assert [one.hours for one in won_hours(MONDAY) if one.machine == "P-1/tool room"] == pytest.approx([30.0, 80.0])
    rows = tuple(one for one in selectors.resources(ON) if one.kind == "tool_room")
    assert [one.code for one in rows] == ["P-1/tool room"]
    assert selectors.available(rows, MONDAY, 2).tolist() == [[80.0, 80.0]]


def test_a_plant_without_a_tool_room_books_none_and_is_on_no_board_for_it(office):
    office.core.snapshot = with_tool_room(stored_answer(), 50.0, weeks=5)
    quote, _ = sent(office)

    services.quote_won(quote=quote, release=100, by=office.rep, on=ON)

    assert tool_room_hours(Job.objects.get()) == []
    assert not any(one.kind == "tool_room" for one in selectors.resources(ON))


def test_a_tool_room_without_the_hours_is_said_and_nothing_is_kept(office):
    room_with(office, 1)
    quote, _ = sent(office)
    answer = with_tool_room(stored_answer(), 50_000.0, weeks=5)
    work = occupied(answer, answer["chosen"]["cost"]["breaks"][0], 1.0)

    with pytest.raises(ValidationError, match="tool room of P-1 has no free hours for"):
        job_write(quote=quote.number, part="Cover", customer="", occupied=work, since=ON, won=True)

    assert Job.objects.get().state == "quoted"
    assert not BenchHours.objects.filter(kind="tool_room").exists()
