"""Bookings, retirement, holidays and windows of time in the admin: what cannot be is refused at its field."""

from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from machines.models import Booking, ClosedDay, Machine, Plant, TimeWindow
from machines.selectors import machines
from quoting.quotes.closed_days import closed_days_keep, closed_days_look
from quoting.quotes.models import AuditEntry
from tests.quoting.quotes.conftest import core, machine, people  # noqa: F401
from tests.quoting.quotes.test_admin import form_data

WEEK = date(2026, 11, 30)


@pytest.fixture
def desk(client, people, machine):  # noqa: F811
    client.force_login(people.manager)
    return client


def errors(response) -> dict[str, str]:
    assert response.status_code == 200
    return {name: " ".join(told) for name, told in response.context["adminform"].form.errors.items()}


def booking(machine: Machine, **changes: str) -> dict[str, str]:  # noqa: F811
    return {"machine": machine.pk, "week": "2026-11-30", "hours": "10 h", "firm": "on", "label": "x"} | changes


ADD = reverse("admin:machines_booking_add")


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("hours", "-5 h", "Got “-5 h”; accepted is"),
        ("hours", "169 h", "accepted is at most 40.0 h"),
        ("hours", "41 h", "M-1 works 40.0 h in the week of 30 Nov 2026, of which 0.0 h are firm"),
        ("week", "2026-12-01", "Got Tuesday 2026-12-01; accepted is the Monday of a week, as 2026-11-30."),
    ],
)
def test_a_booking_that_cannot_be_is_refused_at_its_field(desk, machine, field, typed, told):  # noqa: F811
    response = desk.post(ADD, booking(machine, **{field: typed}))

    assert told in errors(response)[field]
    assert response.context["adminform"].form[field].value() == typed
    assert not Booking.objects.exists()


def test_a_week_is_not_overbooked_by_two_bookings_but_quoted_work_may_come_on_top(desk, machine):  # noqa: F811
    assert desk.post(ADD, booking(machine, hours="30 h", label="first")).status_code == 302
    second = desk.post(ADD, booking(machine, hours="12 h", label="second"))

    assert "accepted is at most 10.0 h" in errors(second)["hours"]
    not_firm = {name: value for name, value in booking(machine, hours="12 h").items() if name != "firm"}
    assert desk.post(ADD, not_firm).status_code == 302
    assert desk.post(ADD, booking(machine, hours="10 h", label="third")).status_code == 302


@pytest.mark.parametrize("field", ["quote", "label"])
def test_the_same_work_twice_in_a_week_is_refused_and_names_what_is_there(desk, machine, field):  # noqa: F811
    Booking.objects.create(machine=machine, week=WEEK, hours=7, firm=True, quote="Q-1", label="hood")

    given = {"quote": {"quote": "Q-1", "label": "x"}, "label": {"label": "hood"}}[field]
    told = errors(desk.post(ADD, booking(machine, **given)))

    assert "it has 7 h there" in told[field]


def test_a_machine_is_not_retired_while_firm_work_lies_on_it_and_the_work_is_named(desk, machine):  # noqa: F811
    Booking.objects.create(machine=machine, week=WEEK, hours=7, firm=True, label="Q-2026-0001 hood")
    Booking.objects.create(machine=machine, week=date(2026, 12, 14), hours=7, firm=False, label="only quoted")
    address = reverse("admin:machines_machine_change", args=[machine.pk])
    data = form_data(desk.get(address))

    told = errors(desk.post(address, data | {"retired_on": "2026-12-01"}))["retired_on"]
    later = desk.post(address, data | {"retired_on": "2026-12-07"})

    assert "Q-2026-0001 hood, 7.0 h in the week of 30 Nov 2026" in told and "only quoted" not in told
    assert "Accepted is 07 Dec 2026 or later" in told
    assert later.status_code == 302
    assert "M-1" in [one.code for one in machines(date(2026, 12, 6))]
    assert "M-1" not in [one.code for one in machines(date(2026, 12, 7))]


def test_firm_work_is_not_booked_on_a_retired_machine(desk, machine):  # noqa: F811
    Machine.objects.update(retired_on=WEEK)
    assert "retired from 30 Nov 2026 on" in errors(desk.post(ADD, booking(machine)))["machine"]


WINDOW = reverse("admin:machines_timewindow_add")


def window(plant: Plant, start: str, end: str) -> dict[str, str]:
    return {"plant": plant.pk, "kind": "maintenance", "start": start, "end": end, "reason": "pump"}


def test_a_window_is_typed_and_shown_on_the_clock_of_its_plant(desk, machine):  # noqa: F811
    response = desk.post(WINDOW, window(machine.plant, "2026-11-30 06:00", "2026-11-30 14:00"))

    assert response.status_code == 302
    row = TimeWindow.objects.get()
    assert row.start == datetime(2026, 11, 30, 11, tzinfo=UTC)  # New York is five hours behind in winter
    page = desk.get(reverse("admin:machines_timewindow_change", args=[row.pk]))
    assert form_data(page)["start"] == "2026-11-30 06:00"
    assert "2026-11-30 14:00" in desk.get(reverse("admin:machines_timewindow_changelist")).content.decode()


@pytest.mark.parametrize(
    ("start", "end", "field", "told"),
    [
        ("2026-03-08 02:30", "2026-03-08 08:00", "start", "it leaps over this one that day"),
        ("2026-11-01 00:30", "2026-11-01 01:30", "end", "“2026-11-01 01:30 first” or “2026-11-01 01:30 second”"),
        ("soon", "2026-11-01 08:00", "start", "such as 2026-12-05 06:00"),
        ("2026-11-30 06:00", "2026-11-30 06:00", "end", "accepted is a time after the start"),
    ],
)
def test_a_time_that_the_clock_never_shows_or_shows_twice_is_refused_by_name(desk, machine, start, end, field, told):  # noqa: F811
    response = desk.post(WINDOW, window(machine.plant, start, end))

    assert told in errors(response)[field]
    assert not TimeWindow.objects.exists()


def test_the_hour_that_comes_twice_is_kept_as_said(desk, machine):  # noqa: F811
    desk.post(WINDOW, window(machine.plant, "2026-11-01 01:30 first", "2026-11-01 01:30 second"))

    row = TimeWindow.objects.get()
    assert (row.end - row.start).total_seconds() == 3600


def test_overtime_is_refused_where_its_machine_stands_for_maintenance_and_maintenance_is_not(desk, machine):  # noqa: F811
    desk.post(WINDOW, window(machine.plant, "2026-12-05 06:00", "2026-12-05 14:00") | {"machine": machine.pk})
    overtime = window(machine.plant, "2026-12-05 12:00", "2026-12-05 18:00") | {"kind": "overtime"}

    refused = desk.post(WINDOW, overtime | {"machine": machine.pk})

    told = f"{machine} stands for maintenance from 2026-12-05 06:00 to 2026-12-05 14:00"
    assert f"{told}; accepted is overtime outside of that." in errors(refused)["start"]
    after = overtime | {"start": "2026-12-05 14:00", "machine": machine.pk}
    assert desk.post(WINDOW, after).status_code == 302
    assert desk.post(WINDOW, overtime).status_code == 302  # of the whole plant: the other machines work
    breakdown = window(machine.plant, "2026-12-05 14:00", "2026-12-05 16:00") | {"machine": machine.pk}
    assert desk.post(WINDOW, breakdown).status_code == 302


def test_overtime_of_a_machine_is_refused_where_its_whole_plant_stands(desk, machine):  # noqa: F811
    desk.post(WINDOW, window(machine.plant, "2026-12-05 06:00", "2026-12-05 14:00"))
    overtime = window(machine.plant, "2026-12-05 12:00", "2026-12-05 18:00") | {"kind": "overtime"}

    for given in (overtime, overtime | {"machine": machine.pk}):
        assert "stands for maintenance" in errors(desk.post(WINDOW, given))["start"]


def test_a_closed_day_that_is_typed_twice_is_named_at_the_second(desk, machine):  # noqa: F811
    address = reverse("admin:machines_plant_change", args=[machine.plant_id])
    typed = form_data(desk.get(address)) | {"closed_days-TOTAL_FORMS": "2"}
    for number in range(2):
        typed |= {f"closed_days-{number}-day": "2026-12-28", f"closed_days-{number}-plant": machine.plant_id}

    page = desk.post(address, typed).content.decode()

    assert page.count("Got 28 Dec 2026 twice; accepted is each day once.") == 1
    assert not ClosedDay.objects.exists()


def test_holidays_are_added_once_and_neither_what_was_entered_nor_what_was_taken_out_is_touched(people, machine):  # noqa: F811
    plant = machine.plant
    ClosedDay.objects.create(plant=plant, day=date(2026, 12, 25), reason="shutdown until January")

    first = closed_days_keep(plant=plant, years=(2026,), by=people.manager)
    ClosedDay.objects.get(plant=plant, day=date(2026, 7, 3)).delete()  # the plant works on that day after all
    again = closed_days_keep(plant=plant, years=(2026, 2027), by=people.manager)

    assert date(2026, 11, 26) in dict(first.added)
    assert ClosedDay.objects.get(day=date(2026, 12, 25)).reason == "shutdown until January"
    assert [day for day, _ in again.taken_out] == [date(2026, 7, 3)]
    assert not ClosedDay.objects.filter(day=date(2026, 7, 3)).exists()
    assert {day.year for day, _ in again.added} == {2027}
    assert closed_days_look(plant=plant, years=(2026, 2027)).added == ()
    rows = AuditEntry.objects.filter(action="closed_days_keep")
    assert [(row.by, row.detail["plant"], row.detail["years"]) for row in rows.order_by("pk")] == [
        (people.manager, "P-1", [2026]),
        (people.manager, "P-1", [2026, 2027]),
    ]


def test_the_command_previews_and_keeps_and_names_what_it_does_not_know(machine):  # noqa: F811
    out = StringIO()
    call_command("closed_days", "P-1", "2026", stdout=out)
    assert "2026-11-26  Thanksgiving" in out.getvalue() and "Nothing was changed" in out.getvalue()
    assert not ClosedDay.objects.exists()

    call_command("closed_days", "P-1", "2026", "--keep", stdout=out)
    assert ClosedDay.objects.filter(day=date(2026, 11, 26)).exists()
    with pytest.raises(CommandError, match="PLANT: got P-9; accepted is the code of a plant: .*P-1"):
        call_command("closed_days", "P-9", "2026")
    with pytest.raises(CommandError, match="accepted are years from 2000 to 2100"):
        call_command("closed_days", "P-1", "1492")
    Plant.objects.update(state="Nowhere")
    with pytest.raises(CommandError, match="plant P-1: .*Nowhere"):
        call_command("closed_days", "P-1", "2026")


def test_the_action_on_plants_closes_them_on_holidays_and_says_what_it_did(desk, machine):  # noqa: F811
    address = reverse("admin:machines_plant_changelist")
    response = desk.post(address, {"action": "close_on_holidays", "_selected_action": [machine.plant_id]}, follow=True)

    assert "closed days added" in response.content.decode()
    assert ClosedDay.objects.count() > 10
