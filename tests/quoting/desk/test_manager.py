"""The loading board: hours, load and words, and the jobs behind a cell."""

from datetime import timedelta

import pytest
from django.urls import reverse

from machines.models import Booking, ClosedDay, Machine
from quoting.desk import charts
from quoting.quotes import services
from quoting.quotes.bookings import monday


@pytest.fixture
def manager(client, people):
    client.force_login(people["manager"])
    return client


def test_a_week_booked_beyond_its_hours_is_called_overload(manager):
    machine = Machine.objects.order_by("code").first()
    week = monday(services.today())
    Booking.objects.create(machine=machine, week=week, hours=160, firm=True, label="earlier work")

    page = manager.get(reverse("loading")).content.decode()

    assert "load-over" in page
    assert "overload" in page
    assert reverse("loading-week", args=[machine.code, week]) in page


def test_a_cell_opens_to_its_jobs(manager):
    machine = Machine.objects.order_by("code").first()
    week = monday(services.today()) + timedelta(weeks=2)
    Booking.objects.create(machine=machine, week=week, hours=12, firm=False, label="Q-2026-0009 cover")

    page = manager.get(reverse("loading-week", args=[machine.code, week])).content.decode()

    assert "Q-2026-0009 cover" in page
    assert "12.0" in page
    assert "quoted" in page


@pytest.mark.parametrize("address", ["/loading/NO-SUCH/2026-11-23/", "/loading/ALDER-F1/2026-11-24/"])
def test_a_machine_or_week_that_is_not_on_the_board_is_not_found(manager, address):
    assert manager.get(address).status_code == 404


def test_a_closed_week_with_work_is_an_overload_and_breaks_no_page(manager):
    machine = Machine.objects.select_related("plant").order_by("code").first()
    week = monday(services.today()) + timedelta(weeks=1)
    for day in range(7):
        ClosedDay.objects.create(plant=machine.plant, day=week + timedelta(days=day), reason="shutdown")
    Booking.objects.create(machine=machine, week=week, hours=12, firm=True, label="earlier work")

    assert "overload" in manager.get(reverse("loading")).content.decode()
    assert manager.get(reverse("loading-week", args=[machine.code, week])).status_code == 200


def test_an_impossible_date_is_not_found(manager):
    assert manager.get("/loading/ALDER-F1/2026-13-45/").status_code == 404


def test_the_board_teaches_where_there_are_no_plants(manager, monkeypatch):
    monkeypatch.setattr("quoting.quotes.selectors.plant_loading", lambda first, weeks: ())

    assert "No plants yet" in manager.get(reverse("loading")).content.decode()


def test_the_board_needs_few_queries(manager, django_assert_max_num_queries):
    with django_assert_max_num_queries(11):
        manager.get(reverse("loading"))


@pytest.mark.parametrize(
    ("won", "quoted", "available", "word"),
    [
        (0, 0, 80, "room"), (50, 10, 80, "healthy"), (60, 15, 80, "tight"), (80, 0, 80, "tight"),
        (60, 21, 80, "over"), (5, 0, 0, "over"), (0, 0, 0, "closed"),
    ],
)  # fmt: skip
def test_the_word_for_a_load(won, quoted, available, word):
    assert charts.load_word(won, quoted, available) == word


def test_the_bar_holds_won_and_quoted_within_its_width():
    bar = charts.load_bar(100, 60, 80)

    assert bar["won"] + bar["quoted"] == pytest.approx(charts.BAR_WIDTH)
    assert bar["full"] == pytest.approx(charts.BAR_WIDTH / 2)
    assert bar["load"] == pytest.approx(200)
