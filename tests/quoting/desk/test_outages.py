"""While the database is away or a disk is full, every page says so, gives the form back, and nothing is half done."""

import errno
import html
import logging
import re
import resource
import sqlite3
from contextlib import contextmanager

import psycopg
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection
from django.test import Client
from django.urls import reverse

from quoting.desk import full_disk, views_rep
from quoting.desk.forms import UPLOAD
from quoting.quotes import model_memory, models, services
from quoting.quotes.models import AuditEntry
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.faults import fault_of, statements

from .test_rep import form_data

AWAY = ["57P01", "08006", "53300", "55P03"]  # restarted, connection lost, too many connections, lock not to be had


@pytest.fixture
def desk(people):
    def logged_in(who):
        made = Client(raise_request_exception=False)
        made.force_login(people[who])
        return made

    return logged_in


def test_the_codes_are_those_of_the_driver():
    # psycopg 3.2, psycopg.errors.
    named = [psycopg.errors.lookup(code).__name__ for code in (*AWAY, full_disk.FULL_IN_POSTGRESQL)]
    assert named == ["AdminShutdown", "ConnectionFailure", "TooManyConnections", "LockNotAvailable", "DiskFull"]


@pytest.mark.parametrize("code", AWAY)
def test_a_page_without_the_database_says_so_and_comes_back_by_itself(desk, code):
    rep = desk("rep")
    with statements(code, lambda number: True):
        response = rep.get("/inquiries/?search=a%22b")
    text = response.content.decode()
    assert response.status_code == 503
    assert response["Retry-After"] == "10"
    assert response["Cache-Control"] == "no-store"
    assert "The database does not answer" in text
    assert 'href="/inquiries/?search=a%22b"' in text
    assert not [word for word in ("Traceback", code, "made for a test", "quotes_") if word in text]
    assert rep.get("/inquiries/").status_code == 200


def resent(page: str) -> dict[str, str]:
    """The hidden fields of the page as a browser sends them."""
    found = re.findall(r'<textarea name="([^"]+)" hidden>\n(.*?)</textarea>', page, re.DOTALL)
    return {name: html.unescape(text) for name, text in found}


def test_an_inquiry_typed_meanwhile_is_on_the_page_and_can_be_sent_again(desk):
    rep = desk("rep")
    typed = form_data(part_name='Cover <b>"left"</b> & right', notes="\ntwo\nlines") | {"form": "f" * 32}
    with statements("57P01", lambda number: True):
        response = rep.post(reverse("inquiry-log"), typed)
    page = response.content.decode()
    assert response.status_code == 503
    assert "<b>" not in page
    assert models.Inquiry.objects.count() == 0
    again = resent(page)
    assert {name: text for name, text in typed.items() if isinstance(text, str)}.items() <= again.items()
    assert rep.post(reverse("inquiry-log"), again).status_code == 302
    assert models.Inquiry.objects.get().typed["part"]["name"] == typed["part_name"]


def test_an_inquiry_that_was_kept_and_not_answered_is_answered_when_its_form_comes_again(desk, monkeypatch):
    def away(**named):
        raise fault_of("57P01")

    rep, form = desk("rep"), form_data() | {"form": "f" * 32}
    with monkeypatch.context() as patched:
        patched.setattr(services, "inquiry_answer", away)
        response = rep.post(reverse("inquiry-log"), form)
    assert response.status_code == 503
    assert models.Inquiry.objects.get().state == models.RECEIVED
    assert rep.post(reverse("inquiry-log"), resent(response.content.decode())).status_code == 302
    assert models.Inquiry.objects.get().state == models.ANSWERED


def test_a_file_has_to_be_chosen_again_and_the_page_says_so(desk):
    rep = desk("rep")
    with statements("57P01", lambda number: True):
        response = rep.post(reverse("inquiry-log"), form_data() | {UPLOAD: SimpleUploadedFile("a.stl", b"solid x")})
    assert f'type="file" name="{UPLOAD}"' in response.content.decode()


def test_a_password_is_never_sent_back(people):
    with statements("57P01", lambda number: True):
        response = Client(raise_request_exception=False).post("/login/", {"username": "a", "password": "secret words"})
    assert response.status_code == 503
    assert "secret words" not in response.content.decode()
    assert "<form" not in response.content.decode()


def test_a_form_from_elsewhere_gets_no_key_of_ours_while_the_database_is_away(people):
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.force_login(people["rep"])
    with statements("57P01", lambda number: True):
        page = client.post(reverse("inquiry-log"), {"part_name": "forged"}).content.decode()
    assert "csrfmiddlewaretoken" not in page
    assert client.post(reverse("inquiry-log"), resent(page)).status_code == 403


def test_the_customer_keeps_the_words_of_a_reply(sent):
    from quoting.desk.views_customer import COOKIE

    quote, token = sent
    client = Client(raise_request_exception=False)
    client.cookies[COOKIE] = token
    address = reverse("customer-change", args=[quote.number, quote.revision])
    with statements("08006", lambda number: True):
        page = client.post(address, {"text": "two more, please", "key": "k"}).content.decode()
    assert quote.replies.count() == 0
    assert client.post(address, resent(page)).status_code == 302
    assert quote.replies.get().text == "two more, please"


@pytest.mark.parametrize("number", range(1, 40, 3))
def test_wherever_the_database_goes_away_an_approval_is_done_or_not(desk, kept, people, number):
    inquiry = kept()
    form = dict.fromkeys(KEYS, "on") | {"note": "looked at it", "version": str(inquiry.version)}
    estimator = desk("estimator")
    with statements("57P01", lambda at: at >= number):
        response = estimator.post(reverse("approve", args=[inquiry.number]), form)
    assert response.status_code == 503
    assert "looked at it" in response.content.decode()
    inquiry.refresh_from_db()
    assert inquiry.state == models.ANSWERED
    assert models.Quote.objects.count() == models.Review.objects.count() == 0


def test_a_session_that_cannot_be_kept_is_told_as_what_it_is(desk):
    rep = desk("rep")
    session = rep.session
    session["session seen"] = 1 + session["session seen"] - 600  # so that it is written again
    session.save()
    with statements("57P01", lambda number: seen.texts[-1].startswith('UPDATE "django_session"')) as seen:
        response = rep.get("/inquiries/")
    assert response.status_code == 503


def full_in_sqlite() -> OperationalError:
    """What SQLite says in a database that may not grow."""
    with sqlite3.connect(":memory:") as small:
        small.execute("CREATE TABLE one (text)")
        small.execute("PRAGMA max_page_count = 2")
        with pytest.raises(sqlite3.OperationalError) as raised:
            small.execute("INSERT INTO one VALUES (zeroblob(1000000))")
    fault = OperationalError("database or disk is full")
    fault.__cause__ = raised.value
    return fault


FULL = {
    "the files": OSError(errno.ENOSPC, "No space left on device"),
    "a quota": OSError(errno.EDQUOT, "Disk quota exceeded"),
    "SQLite": full_in_sqlite(),
    "PostgreSQL": fault_of("53100"),
}


@pytest.mark.parametrize("what", FULL)
def test_a_full_disk_refuses_the_deed_in_plain_words_and_keeps_the_form(desk, monkeypatch, what):
    def full(**named):
        raise FULL[what]

    rep = desk("rep")
    with monkeypatch.context() as patched:
        patched.setattr(views_rep.once, "inquiry_log_once", full)
        response = rep.post(reverse("inquiry-log"), form_data() | {"form": "f" * 32})
        assert rep.get("/inquiries/").status_code == 200
    page = response.content.decode()
    assert response.status_code == 507
    assert "There is no room left to save" in page
    assert models.Inquiry.objects.count() == 0
    assert rep.post(reverse("inquiry-log"), resent(page)).status_code == 302


def test_another_fault_is_no_outage(desk, monkeypatch):
    def broken(**named):
        raise OSError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(views_rep.once, "inquiry_log_once", broken)
    response = desk("rep").post(reverse("inquiry-log"), form_data())
    assert response.status_code == 500
    assert "Something broke on our side" in response.content.decode()


@pytest.fixture
def little_room(settings, tmp_path):
    """No file may grow beyond 1,000 bytes: the system refuses each longer write of this process."""
    settings.MEDIA_ROOT = tmp_path
    before = resource.getrlimit(resource.RLIMIT_FSIZE)

    @contextmanager
    def here():
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
        try:
            yield
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)

    return here


def model() -> SimpleUploadedFile:
    """5,084 bytes."""
    return SimpleUploadedFile("a.stl", bytes(80) + (100).to_bytes(4, "little") + bytes(50) * 100)


def test_of_a_model_that_finds_no_room_nothing_stays_and_the_form_does(desk, little_room, tmp_path):
    rep = desk("rep")
    with little_room():
        response = rep.post(reverse("inquiry-log"), form_data(part_name="A cover") | {UPLOAD: model()})
    page = response.content.decode()
    assert response.status_code == 507
    assert "A cover" in page
    assert f'type="file" name="{UPLOAD}"' in page
    assert models.Inquiry.objects.count() == 0
    assert [one for one in tmp_path.rglob("*") if one.is_file()] == []
    assert rep.post(reverse("inquiry-log"), resent(page) | {UPLOAD: model()}).status_code == 302
    assert [one.stat().st_size for one in tmp_path.rglob("*.stl")] == [5084]


def test_what_was_found_out_of_a_model_is_told_though_it_cannot_be_remembered(little_room, tmp_path):
    path = tmp_path / "a.stl"
    path.write_bytes(b"x")
    with little_room():
        found = model_memory.remembered(path, work=lambda path, **options: {"found": "x" * 5000})
    assert len(found["found"]) == 5000
    assert list(model_memory.memory_folder().iterdir()) == []


FULL_SQL = ("INSERT", "UPDATE", "DELETE")


def test_with_a_full_database_people_read_on(desk, kept, people, caplog):
    inquiry = kept()
    estimator = desk("estimator")
    session = estimator.session
    session["session seen"] -= 600  # so that it is to be written again
    session.save()

    def is_writing(number):
        connection.needs_rollback = False  # outside the transaction of a test a failed statement spoils nothing
        return seen.texts[-1].startswith(FULL_SQL)

    with statements("53100", is_writing) as seen:
        pages = [estimator.get(reverse(name, args=[inquiry.number])) for name in ("inquiry", "work", "candidates")]
        pages += [estimator.get(address) for address in ("/inquiries/", "/review/", "/loading/")]
    assert [one.status_code for one in pages] == [200] * 6
    assert [text for text in seen.texts if text.startswith(FULL_SQL)]
    assert not AuditEntry.objects.filter(action__startswith="saw").exists()
    assert (
        f"not recorded, for want of room: person {people['estimator'].pk} saw cost of {inquiry.number}" in caplog.text
    )


class FullLog:
    """A stream into a full disk."""

    def write(self, text: str) -> None:
        with open("/dev/full", "w", buffering=1) as full:
            full.write(text)
            full.flush()

    def flush(self) -> None:
        pass


def test_a_log_that_finds_no_room_stops_nobody(desk):
    handler = logging.StreamHandler(FullLog())
    rep = desk("rep")
    logging.getLogger("quoting").addHandler(handler)
    try:
        assert rep.get("/inquiries/").status_code == 200
    finally:
        logging.getLogger("quoting").removeHandler(handler)
