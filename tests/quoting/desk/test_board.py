"""The loading board and the pages beside it: words, filters kept in the address, files safe from formulas, rights."""

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from machines.models import Booking, ClosedDay, Machine, Plant
from quoting.desk import charts
from quoting.desk.board_filters import Chosen
from quoting.planning.models import WON, BenchHours, Job
from quoting.quotes import models, services
from quoting.quotes.bookings import monday

PAGES = ("loading", "loading-meeting", "loading-chances", "loading-plants")


@pytest.fixture
def manager(client, people):
    client.force_login(people["manager"])
    return client


@pytest.fixture
def machine(people):
    return Machine.objects.select_related("plant").order_by("code").first()


@pytest.fixture
def week():
    return monday(services.today())


def read(client, name, *args, **asked):
    answer = client.get(reverse(name, args=args), asked)
    assert answer.status_code == 200, answer.content.decode()[:500]
    return answer.content.decode()


def job(machine, number, **given):
    today = services.today()
    usual = {
        "state": WON, "process": "vacuum", "polymer": "ABS", "quantity": 100, "hours": 40.0, "since": today,
        "ready": today, "due": today + timedelta(days=60), "value": Decimal(10_000), "margin": 0.2, "part": "hood",
    }  # fmt: skip
    return Job.objects.create(quote=number, machine=machine, **usual | given)


def book(machine, week, hours, *, firm=True, label="earlier work", number=""):
    return Booking.objects.create(machine=machine, week=week, hours=hours, firm=firm, label=label, quote=number)


def test_a_week_booked_beyond_its_hours_is_called_overload_and_listed(manager, machine, week):
    book(machine, week, 160)

    page = read(manager, "loading", open=machine.plant.code)

    assert "load-over" in page
    assert "overload" in page
    assert "booked beyond its hours" in page
    assert reverse("loading-week", args=[machine.code, week]) in page


def test_plants_open_to_their_resources_by_the_address_alone(manager, machine):
    closed, opened = read(manager, "loading"), read(manager, "loading", open=machine.plant.code)
    every = read(manager, "loading", open="all")

    assert f">{machine.code}<" not in closed
    assert f">{machine.code}<" in opened
    assert "routers" in opened
    assert all(f">{code}<" in every for code in Machine.objects.values_list("code", flat=True))


def test_the_filters_narrow_the_board_and_stay_in_its_links(manager, machine, week):
    book(machine, week, 160)
    other = Machine.objects.exclude(kind=machine.kind).filter(plant=machine.plant).first()
    plain = {"plant": machine.plant.code, "weeks": "4"}

    by_kind = read(manager, "loading", **plain, kind="router")
    by_machine = read(manager, "loading", **plain, machine_kind=machine.kind)
    only_over = read(manager, "loading", **plain, over="on")

    assert f">{machine.code}<" not in by_kind
    assert f">{machine.code}<" in by_machine
    assert f">{other.code}<" not in by_machine
    assert f">{machine.code}<" in only_over
    assert f">{other.code}<" not in only_over
    assert f"weeks=4&amp;plant={machine.plant.code}&amp;over=on" in only_over
    assert only_over.count('scope="col"') < read(manager, "loading").count('scope="col"')


def test_work_is_found_by_customer_and_its_hours_told(manager, machine, week):
    job(machine, "Q-2020-0007", customer="Barlen Mobility")
    book(machine, week, 12, number="Q-2020-0007", label="Q-2020-0007 hood")

    page = read(manager, "loading", text="barlen")

    assert f">{machine.code}<" in page
    assert "found: 12 h" in page
    assert f">{Machine.objects.exclude(pk=machine.pk).first().code}<" not in page
    assert "Nothing here by these filters" in read(manager, "loading", text="nobody at all")


@pytest.mark.parametrize("asked", [{"weeks": "7"}, {"plant": "NOWHERE"}, {"kind": "oven"}, {"text": "x" * 200}])
def test_a_filter_that_is_not_understood_is_named_and_not_applied(manager, asked):
    answer = manager.get(reverse("loading"), asked)

    assert answer.status_code == 422
    assert "invalid-feedback" in answer.content.decode()
    assert "Load by week" in answer.content.decode()
    assert manager.get(reverse("loading-export", args=["csv"]), asked).status_code == 422


def test_an_address_holds_what_is_not_as_usual():
    chosen = Chosen(26, "P1", "router", "", True, "left & right", frozenset({"P1"}))

    assert chosen.query == "weeks=26&plant=P1&kind=router&over=on&text=left+%26+right&open=P1"
    assert Chosen().query == ""
    assert Chosen().toggled("P2").toggled("P2") == Chosen()


def test_a_cell_opens_to_its_jobs_with_tool_due_day_and_promise(manager, machine, week):
    at = week + timedelta(weeks=2)
    job(machine, "Q-2020-0009", tool="T-9", due=at - timedelta(days=1), customer="Barlen Mobility")
    book(machine, at, 12, firm=True, label="Q-2020-0009 cover", number="Q-2020-0009")
    book(machine, at, 3, firm=False, label="Q-2020-0010 tray", number="Q-2020-0010")

    page = read(manager, "loading-week", machine.code, at)

    for told in ("Q-2020-0009 cover", "12.0", "T-9", "Barlen Mobility", "late, by 1 week", "quoted", "not known"):
        assert told in page


def test_two_equal_bookings_both_stand_in_the_cell(manager, machine, week):
    for _ in range(2):
        book(machine, week, 12, number="Q-2020-0009", label="twin booking")

    assert read(manager, "loading-week", machine.code, week).count("twin booking") == 2
    assert "same work booked twice" in read(manager, "loading")


def test_a_resource_beside_the_formers_opens_too(manager, machine, week):
    trimmer = machine.plant.trimmers.order_by("code").first()
    one = job(machine, "Q-2020-0009")
    BenchHours.objects.create(job=one, plant=machine.plant, kind="router", code=trimmer.code, week=week, hours=7.5)

    page = read(manager, "loading-week", f"{machine.plant.code}/{trimmer.code}", week)

    assert "Q-2020-0009 hood" in page
    assert "7.5" in page


@pytest.mark.parametrize(
    "address", ["/loading/NO-SUCH/2026-11-23/", "/loading/ALDER-F1/2026-11-24/", "/loading/ALDER-F1/2026-13-45/"]
)
def test_a_machine_or_week_that_is_not_on_the_board_is_not_found(manager, address):
    assert manager.get(address).status_code == 404


def test_a_closed_week_with_work_is_an_overload_and_breaks_no_page(manager, machine, week):
    at = week + timedelta(weeks=1)
    for day in range(7):
        ClosedDay.objects.create(plant=machine.plant, day=at + timedelta(days=day), reason="shutdown")
    book(machine, at, 12)

    assert "no hours" in read(manager, "loading", open="all")
    for name in PAGES:
        read(manager, name)
    read(manager, "loading-plant", machine.plant.code)
    assert "overload" in read(manager, "loading-week", machine.code, at)


def test_the_board_teaches_where_there_are_no_plants(manager, monkeypatch):
    monkeypatch.setattr("quoting.planning.selectors.resources", lambda: ())
    monkeypatch.setattr(Plant, "objects", Plant.objects.none())

    assert "No plants yet" in read(manager, "loading")


def test_a_file_holds_what_the_filters_leave_week_by_week(manager, machine, week):
    book(machine, week, 30)
    book(machine, week, 10, firm=False)

    answer = manager.get(reverse("loading-export", args=["csv"]), {"plant": machine.plant.code, "kind": "forming"})
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))

    assert len(rows) == 12 * machine.plant.machines.count()
    (row,) = (one for one in rows if (one["Resource"], one["Week (Monday)"]) == (machine.code, week.isoformat()))
    assert (row["Won, h"], row["Quoted, h"]) == ("30.0", "10.0")
    assert answer["Cache-Control"] == "no-store"


# OWASP CSV injection: a cell that begins with = + - or @ is computed by a spreadsheet.
@pytest.mark.parametrize("label", ["=HYPERLINK(1)", "+1", "-1", "@SUM(1)"])
def test_no_text_of_a_file_is_a_formula(manager, machine, week, label):
    Machine.objects.filter(pk=machine.pk).update(code=label)
    book(machine, week, 160, label=label)

    table = manager.get(reverse("loading-export", args=["csv"])).content.decode("utf-8-sig")
    book_ = load_workbook(io.BytesIO(manager.get(reverse("loading-export", args=["xlsx"])).content))

    cells = [cell for row in csv.reader(io.StringIO(table)) for cell in row]
    assert f"'{label}" in cells
    assert label not in cells
    clashes = [cell.value for row in book_["Clashes"].iter_rows() for cell in row]
    assert clashes.count(f"'{label}") == 2  # where, and the job
    assert not any(cell.data_type == "f" for sheet in book_ for row in sheet.iter_rows() for cell in row)


def test_an_unknown_form_of_file_is_not_found(manager):
    assert manager.get(reverse("loading-export", args=["pdf"])).status_code == 404


def test_the_monday_page_tells_overloads_late_jobs_idle_weeks_and_what_waits(manager, machine, week, kept):
    inquiry = kept()
    job(machine, "Q-2020-0009", due=week + timedelta(days=1), since=week - timedelta(days=90))
    book(machine, week + timedelta(weeks=1), 160, number="Q-2020-0009", label="Q-2020-0009 hood")

    page = read(manager, "loading-meeting")

    for told in ("Overloads", "Late jobs", "Idle weeks", "booked beyond its hours", "Q-2020-0009 hood"):
        assert told in page
    assert inquiry.number in page


def test_the_monday_page_has_the_weeks_and_opened_plants_of_the_board_in_tables_as_wide_as_a_page(manager, machine):
    asked = {"weeks": 26, "open": machine.plant.code}
    board = manager.get(reverse("loading"), asked).content.decode()
    assert f"{reverse('loading-meeting')}?weeks=26&amp;open={machine.plant.code}" in board

    page = manager.get(reverse("loading-meeting"), asked)

    assert [len(strip["weeks"]) for strip in page.context["strips"]] == [13, 13]
    names = [row["name"] for row in page.context["strips"][1]["rows"]]
    assert machine.code in names and machine.plant.name in names
    plain = manager.get(reverse("loading-meeting")).context["strips"]
    assert [len(strip["weeks"]) for strip in plain] == [12]
    assert machine.code not in [row["name"] for row in plain[0]["rows"]]


def test_each_figure_of_a_plant_opens_to_its_rows(manager, machine, week):
    job(machine, "Q-2020-0009", value=Decimal(30_000), margin=0.1)
    job(machine, "Q-2020-0010", value=Decimal(10_000), margin=0.3)
    address = reverse("loading-plant", args=[machine.plant.code])

    compared, rows = read(manager, "loading-plants"), read(manager, "loading-plant", machine.plant.code)

    assert all(f"{address}#{part}" in compared for part in ("load", "jobs", "won", "days"))
    assert "15.0 %" in compared  # (0.1 x 30,000 + 0.3 x 10,000) / 40,000
    assert "0 of 2" in compared
    assert all(told in rows for told in ("Q-2020-0009", "Q-2020-0010", "$40,000", "not booked", 'id="days"'))
    assert manager.get(reverse("loading-plant", args=["NOWHERE"])).status_code == 404


def test_an_open_quote_shows_its_chance_with_the_four_things_it_rests_on(manager, sent, week):
    quote, _ = sent

    page = read(manager, "loading-chances")

    assert f'id="{quote.number}"' in page
    assert "30 %" in page  # nothing was decided: the belief of the house
    for told in ("House", "Customer's record", "Size", "Age", "assumption", "odds ÷ (1 + odds)"):
        assert told in page
    booked = Booking.objects.filter(quote=quote.number).first()
    cell = read(manager, "loading-week", booked.machine.code, booked.week)
    assert f"{reverse('loading-chances')}?quote={quote.number}#{quote.number}" in cell


def test_the_board_may_be_seen_by_manager_and_estimator_alone(client, people, machine):
    addresses = [
        *map(reverse, PAGES), reverse("loading-export", args=["csv"]), reverse("loading-plant", args=["ALDER"]),
        reverse("loading-week", args=[machine.code, monday(services.today())]),
    ]  # fmt: skip
    for who, status in (("manager", 200), ("estimator", 200), ("rep", 403), ("nobody", 403)):
        client.force_login(people[who])
        assert {client.get(address).status_code for address in addresses} == {status}, who


def test_the_board_needs_few_queries(manager, django_assert_max_num_queries):
    with django_assert_max_num_queries(28):
        manager.get(reverse("loading"))
    with django_assert_max_num_queries(8):  # nothing has changed
        manager.get(reverse("loading"))


@pytest.mark.parametrize(("name", "most"), [("loading-plants", 36), ("loading-chances", 12), ("loading-meeting", 42)])
def test_the_pages_beside_it_need_few_queries(manager, machine, name, most, django_assert_max_num_queries):
    for _ in range(2):
        with django_assert_max_num_queries(most):
            manager.get(reverse(name))
        most = 13


def test_open_quotes_come_in_pages_and_one_is_found_by_its_number(manager, sent, monkeypatch):
    monkeypatch.setattr("quoting.desk.views_plants.ROWS_A_PAGE", 1)
    first, _ = sent
    inquiry = models.Inquiry.objects.get(pk=first.inquiry_id)
    models.Quote.objects.create(
        number="Q-2020-0001", inquiry=inquiry, kind=models.QUOTE, snapshot={}, digest="0", pdf=b"", pdf_digest="0",
        issued_by=inquiry.created_by, issued_at=first.issued_at, valid_until=first.valid_until,
    )  # fmt: skip

    pages = [read(manager, "loading-chances", quote=number) for number in ("Q-2020-0001", first.number)]

    for page, here, there in zip(pages, ("Q-2020-0001", first.number), (first.number, "Q-2020-0001"), strict=True):
        assert f'id="{here}"' in page
        assert f'id="{there}"' not in page
        assert "Open quotes: 2" in page


@pytest.mark.parametrize(
    ("won", "weighted", "available", "quoted", "word"),
    [
        (0, 0, 80, 0, "idle"), (20, 4, 80, 4, "room"), (50, 10, 80, 10, "healthy"), (60, 15, 80, 20, "tight"),
        (80, 0, 80, 0, "tight"), (60, 21, 80, 30, "over"), (60, 5, 80, 21, "may_over"), (5, 0, 0, 0, "over"),
        (0, 0, 0, 0, "closed"),
    ],
)  # fmt: skip
def test_the_word_for_a_load(won, weighted, available, quoted, word):
    assert charts.load_word(won, weighted, available, quoted) == word


def test_a_quote_sent_long_ago_counts_for_less(manager, sent, monkeypatch):
    before, later = read(manager, "loading-chances"), services.today() + timedelta(days=60)
    monkeypatch.setattr("quoting.quotes.records.today", lambda: later)

    after = read(manager, "loading-chances")

    assert "60 days" in after
    assert "60 days" not in before.partition("How a chance comes about")[0]
    assert f"{100 * 3 / 17:.0f} %" in after  # odds of 3 to 7, halved, are 3 to 14
