"""Numbers given out are known outside the database, so that none is given twice after a restore of an older backup."""

import json
import logging
import os
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import transaction
from django.urls import reverse

from quoting.operation import health
from quoting.quotes import given_numbers, services
from quoting.quotes.given_numbers import Behind, NumbersBehindError
from quoting.quotes.models import AuditEntry, Counter, Quote
from quoting.quotes.records import next_number, today
from tests.quoting.quotes.conftest import TYPED, approved
from tests.quoting.quotes.test_posted_twice import FORM, desk  # noqa: F401 - a fixture
from tests.quoting.quotes.test_races import at_once, on_postgresql


def outside() -> dict[str, int]:
    return given_numbers.read(given_numbers.file())


def restored_from_an_older_backup(series: str, last: int, year: int = 2026) -> None:
    """What a restore leaves: a counter that knows less than the file beside the database."""
    given_numbers.keep_up()
    Counter.objects.filter(series=series, year=year).update(last=last)


def take(series: str = "Q", year: int = 2026) -> str:
    with transaction.atomic():
        return next_number(series, year)


def numbers(*arguments: str) -> str:
    told = StringIO()
    call_command("numbers", *arguments, stdout=told)
    return told.getvalue()


@pytest.mark.django_db(transaction=True)
def test_each_number_is_written_down_after_its_commit_by_series_and_year():
    assert [take("Q"), take("Q"), take("L"), take("Q", 2027)] == [
        "Q-2026-0001", "Q-2026-0002", "L-2026-0001", "Q-2027-0001"
    ]  # fmt: skip
    assert outside() == {"Q-2026": 2, "L-2026": 1, "Q-2027": 1}


@pytest.mark.django_db(transaction=True)
def test_a_number_that_was_rolled_back_is_not_written_down():
    take()
    with pytest.raises(RuntimeError, match="changed my mind"), transaction.atomic():
        next_number("Q", 2026)
        raise RuntimeError("changed my mind")
    assert outside() == {"Q-2026": 1}
    assert take() == "Q-2026-0002"


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_many_at_once_leave_the_highest():
    assert len(set(at_once(12, lambda place: take()))) == 12
    assert outside() == {"Q-2026": 12}


def test_the_file_only_rises_and_is_whole_at_every_moment(monkeypatch):
    given_numbers.raise_to({"Q-2026": 5})
    given_numbers.raise_to({"Q-2026": 3, "L-2026": 1})
    assert outside() == {"Q-2026": 5, "L-2026": 1}

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        given_numbers.raise_to({"Q-2026": 6})
    assert outside() == {"Q-2026": 5, "L-2026": 1}
    leftovers = [one for one in given_numbers.file().parent.iterdir() if one.name.startswith(given_numbers.file().name)]
    assert {one.suffix for one in leftovers} == {".json", ".lock"}


def test_nothing_is_given_where_the_database_knows_less(office):
    approved(office)
    restored_from_an_older_backup("Q", 0, today().year)

    with pytest.raises(NumbersBehindError, match=r"Q-\d{4}-0001 went out already, .* manage.py numbers raise"):
        approved(office)

    assert Quote.objects.count() == 1


def test_another_year_and_another_series_go_on(db):
    for series, year in (("Q", 2026), ("Q", 2027), ("L", 2026)):
        take(series, year)
    restored_from_an_older_backup("Q", 0)

    assert (take("Q", 2027), take("L")) == ("Q-2027-0002", "L-2026-0002")
    with pytest.raises(NumbersBehindError):
        take("Q")


def test_a_series_that_the_restored_database_does_not_know_at_all_is_behind_too(db):
    given_numbers.raise_to({"Q-2026": 3})
    assert given_numbers.behind() == (Behind("Q", 2026, 0, 3),)
    with pytest.raises(NumbersBehindError, match="Q-2026-0001 to Q-2026-0003 went out"):
        take()


def test_the_rep_reads_why_and_loses_nothing_typed(desk, client):  # noqa: F811
    given_numbers.raise_to({f"I-{today().year}": 7})
    client.force_login(desk.rep)

    response = client.post(reverse("inquiry-log"), FORM)

    page = response.content.decode()
    assert response.status_code == 422
    assert 'value="40 in"' in page
    assert "went out already" in page
    assert "manage.py numbers raise" in page


def test_an_administrator_moves_the_counter_and_the_lost_numbers_are_recorded(office):
    given_numbers.raise_to({"Q-2026": 3, "L-2025": 1})
    for refused, said in (("", "got nothing"), (office.manager.username, "an administrator"), ("nobody", "nobody")):
        with pytest.raises(CommandError, match=said):
            numbers("raise", f"--by={refused}")
    office.manager.is_superuser = True
    office.manager.save()

    told = numbers("raise", f"--by={office.manager.username}")

    assert "Q-2026-0001 to Q-2026-0003: lost, recorded" in told
    rows = AuditEntry.objects.filter(action="numbers_raise").order_by("pk")
    assert [one.detail for one in rows] == [
        {"first_lost": "L-2025-0001", "last_lost": "L-2025-0001"},
        {"first_lost": "Q-2026-0001", "last_lost": "Q-2026-0003"},
    ]
    assert {one.by for one in rows} == {office.manager}
    assert (take("Q"), take("L", 2025)) == ("Q-2026-0004", "L-2025-0002")
    assert "nothing was changed" in numbers("raise", f"--by={office.manager.username}")


def test_a_missing_file_stops_nobody_and_is_begun_from_the_database_with_a_warning(
    db, caplog, django_capture_on_commit_callbacks
):
    Counter.objects.create(series="Q", year=2026, last=41)
    with django_capture_on_commit_callbacks(execute=True):
        assert take() == "Q-2026-0042"
    assert outside() == {"Q-2026": 42}
    assert "tells nothing of numbers before it" in caplog.text


@pytest.mark.parametrize(
    "content", ["", "{", "[]", '{"format": 9, "last": {}}', '{"format": 1, "last": {"Q-2026": "x"}}']
)
def test_a_damaged_file_stops_nobody_is_told_loudly_and_not_written_over(
    db, content, caplog, client, django_capture_on_commit_callbacks
):
    given_numbers.file().write_text(content)

    with django_capture_on_commit_callbacks(execute=True):
        assert take() == "Q-2026-0001"

    assert given_numbers.file().read_text() == content
    assert [one.levelno for one in caplog.records if one.name == "quoting.numbers"] == [logging.ERROR] * 2
    assert "not kept outside the database" in health.number_trouble()
    assert client.get("/ready/").status_code == 503
    with pytest.raises(CommandError, match="numbers anew"):
        numbers("show")

    assert "Q-2026" in numbers("anew")
    assert outside() == {"Q-2026": 1}
    assert given_numbers.file().with_name(given_numbers.file().name + ".before").read_text() == content
    assert health.number_trouble() == ""


def test_a_folder_that_cannot_be_written_stops_nobody_and_is_told(
    db, settings, caplog, client, django_capture_on_commit_callbacks
):
    settings.GIVEN_NUMBERS = Path("/proc/given_numbers.json")
    with django_capture_on_commit_callbacks(execute=True):
        assert take() == "Q-2026-0001"
    assert "not kept outside" in caplog.text
    assert client.get("/ready/").status_code == 503


def test_readiness_makes_up_for_what_a_crash_after_the_commit_left_out(db, client):
    take()
    assert not given_numbers.file().exists()
    assert client.get("/ready/").status_code == 200
    assert outside() == {"Q-2026": 1}


def test_readiness_names_numbers_that_the_database_does_not_know(db, client, caplog):
    given_numbers.raise_to({"Q-2026": 12})
    Counter.objects.create(series="Q", year=2026, last=10)

    assert client.get("/ready/").status_code == 503

    assert "Q-2026-0011 to Q-2026-0012" in caplog.text
    assert outside() == {"Q-2026": 12}
    assert "behind: nothing is given out" in numbers("show")


def test_a_demo_on_an_empty_database_begins_its_numbers_anew(db, monkeypatch):
    from quoting.management.commands import demo

    given_numbers.raise_to({"Q-2026": 12})
    demo.Command()._begin_numbers()
    assert outside() == {}
    assert json.loads((given_numbers.file().parent / f"{given_numbers.file().name}.before").read_text())["last"]

    take()
    given_numbers.keep_up()
    demo.Command()._begin_numbers()  # a demo that goes on keeps them
    assert outside() == {"Q-2026": 1}


def test_logging_still_gives_the_next_number_where_nothing_was_restored(office):
    given_numbers.raise_to({f"I-{today().year}": 1})
    Counter.objects.create(series="I", year=today().year, last=1)
    assert services.inquiry_log(typed=TYPED, by=office.rep).number.endswith("-0002")


def test_tests_never_write_beside_the_data_of_an_office():
    assert Path(settings.DATA_DIR) not in given_numbers.file().parents
