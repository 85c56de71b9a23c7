"""Headers on every answer, pages of refusal that tell nothing, settings that fail closed, logs without secrets."""

import logging
import os
import secrets
import subprocess
import sys

import pytest
from django.conf import settings as its_settings
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

from quoting.desk import masking, refusals, rights, views_rep
from quoting.quotes import links

INSIDES = ("Traceback", "django", "SELECT ", "site-packages", "sqlite", "psycopg", "Exception", "settings")
INSIDES += (str(its_settings.BASE_DIR),)
MUST_SAY = ("object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "script-src 'self'", "style-src 'self'")


@pytest.fixture
def broken(monkeypatch):
    def boom(request):
        raise RuntimeError("SELECT secret FROM somewhere")

    monkeypatch.setattr(views_rep.navigation, "start", boom)


@pytest.fixture
def staff(client, db):
    client.force_login(get_user_model().objects.create_superuser("ada"))
    client.raise_request_exception = False
    return client


def assert_guarded(response) -> None:
    policy = response["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert all(words in policy for words in MUST_SAY), policy
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Referrer-Policy"] == "same-origin"
    assert response["X-Frame-Options"] == "DENY"
    assert not response.has_header("Access-Control-Allow-Origin")


def test_every_kind_of_answer_carries_the_policy(staff, broken):
    outside = Client(raise_request_exception=False)
    found = {
        200: outside.get("/login/"),
        302: outside.get("/review/"),
        404: outside.get("/nowhere/"),
        403: staff.get("/inquiries/"),
        405: staff.get("/logout/"),
        500: staff.get("/"),
        400: outside.get("/login/", HTTP_HOST="evil.example"),
        413: outside.post("/login/", {"username": "x" * 3_000_000}),
    }

    assert {status: response.status_code for status, response in found.items()} == {status: status for status in found}
    for response in found.values():
        assert_guarded(response)
    assert_guarded(staff.get("/static/desk/desk.css"))
    assert_guarded(staff.get("/admin/"))


def test_the_page_of_a_fault_tells_nothing_of_the_inside(staff, broken):
    page = staff.get("/").content.decode()

    assert "Something broke on our side" in page
    assert not [word for word in INSIDES if word in page]


@pytest.mark.parametrize(
    ("method", "address", "data", "status", "words"),
    [
        ("get", "/nowhere/", None, 404, "no such page"),
        ("get", "/inquiries/I-2026-9999/", None, 403, "not for your role"),
        ("post", "/login/", {"username": "x" * 2_500_000}, 413, "too large"),
        ("post", "/login/", {f"field{number}": "x" for number in range(1100)}, 413, "too large"),
    ],
)
def test_each_refusal_is_a_page_of_our_own(staff, method, address, data, status, words):
    response = getattr(staff, method)(address, data)
    page = response.content.decode()

    assert response.status_code == status
    assert words in page
    assert "desk.css" in page
    assert not [word for word in INSIDES if word in page]


def test_a_forged_host_is_refused(client, db):
    response = client.get("/login/", HTTP_HOST="evil.example")

    assert response.status_code == 400
    assert "cannot be read" in response.content.decode()
    assert "evil" not in response.content.decode()


def test_a_form_without_its_key_says_that_nothing_was_changed(db):
    response = Client(enforce_csrf_checks=True).post("/login/", {"username": "x", "password": "y"})

    assert response.status_code == 403
    assert "out of date" in response.content.decode()


@pytest.mark.parametrize("origin", ["null", "https://evil.example"])
def test_a_foreign_origin_is_refused(db, origin):
    client = Client(enforce_csrf_checks=True)
    client.get("/login/")
    key = client.cookies["csrftoken"].value
    data = {"username": "x", "password": "y", "csrfmiddlewaretoken": key}

    assert client.post("/login/", data).status_code == 200
    assert client.post("/login/", data, HTTP_ORIGIN=origin).status_code == 403


class Unread:
    """A body that nobody may read."""

    def read(self, *size):
        raise AssertionError("was read")

    readline = read


def unread(length: int) -> dict:
    return {"wsgi.input": Unread(), "CONTENT_LENGTH": str(length), "CONTENT_TYPE": "multipart/form-data; boundary=x"}


def test_a_request_that_says_it_is_huge_is_refused_unread(staff):
    assert staff.generic("POST", "/account/password/", **unread(rights.FORM_BODY + 1)).status_code == 413


def test_nobody_without_a_log_in_or_the_role_makes_us_read_a_file(staff):
    assert staff.generic("POST", "/inquiries/new/", **unread(1000)).status_code == 403
    assert Client().generic("POST", "/inquiries/new/", **unread(1000)).status_code == 302


def test_the_lock_out_of_a_request_with_scripts_allows_no_other_site(rf):
    response = refusals.locked_out(rf.post("/login/", HTTP_X_REQUESTED_WITH="XMLHttpRequest"), None, {})

    assert response.status_code == 429
    assert not response.has_header("Access-Control-Allow-Origin")


def started(*arguments: str, **environment: str) -> subprocess.CompletedProcess:
    kept = {name: os.environ[name] for name in ("PATH", "DATA_DIR", "HOME") if name in os.environ}
    return subprocess.run(
        [sys.executable, "manage.py", *arguments], cwd=its_settings.BASE_DIR, env=kept | environment, text=True,
        capture_output=True, timeout=120, check=False,
    )  # fmt: skip


PRODUCTION = {"HTTPS": "1", "ALLOWED_HOSTS": "quotes.example", "SECRET_KEY": secrets.token_urlsafe(48)}


def test_the_deployment_check_is_clean():
    run = started("check", "--deploy", "--fail-level", "WARNING", **PRODUCTION)

    assert run.returncode == 0, run.stderr
    assert "(0 silenced)" in run.stdout


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"SECRET_KEY": ""}, "SECRET_KEY"), ({"SECRET_KEY": "short"}, "SECRET_KEY"),
        ({"ALLOWED_HOSTS": ""}, "ALLOWED_HOSTS"), ({"ALLOWED_HOSTS": "*"}, "ALLOWED_HOSTS"), ({"DEBUG": "1"}, "DEBUG"),
        ({"HTTPS": "", "DATABASE_URL": "postgresql://a@b/c", "SECRET_KEY": ""}, "SECRET_KEY"),
    ],
)  # fmt: skip
def test_a_server_for_others_does_not_start_with_a_default(changed, named):
    run = started("check", **PRODUCTION | changed)

    assert run.returncode != 0
    assert f"ImproperlyConfigured: {named}: got" in run.stderr


def test_under_https_cookies_have_names_that_no_other_host_can_set():
    run = started(
        "shell", "-v", "0", "-c",
        "from django.conf import settings as s; print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME,"
        " s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SECURE_HSTS_SECONDS, s.DEBUG,"
        " getattr(s, 'SECURE_PROXY_SSL_HEADER', None))",
        **PRODUCTION,
    )  # fmt: skip

    assert run.stdout.split() == ["__Host-session", "__Host-csrf", "True", "True", "31536000", "False", "None"]


def test_no_log_holds_the_secret_of_a_link(client, db, caplog):
    token = links.fresh_token()
    with caplog.at_level(logging.DEBUG):
        client.get(f"/q/{token}/")
        logging.getLogger("any").error("GET %s and %s", f"/q/{token}/", {"path": "x"})

    assert "/q/***/" in caplog.text
    assert token not in caplog.text


def test_one_event_is_one_line_of_the_log(caplog):
    logging.getLogger("any").warning("name %s", "a\r\n2026-01-01 forged line\x1b[2J")

    assert "\n2026" not in caplog.records[-1].getMessage()
    assert "\x1b" not in caplog.records[-1].getMessage()


def test_masking_twice_is_masking_once():
    before = logging.getLogRecordFactory()
    masking.mask_all_logs()

    assert logging.getLogRecordFactory() is before


def test_no_secret_and_no_foreign_address_stands_in_a_page(client, db):
    page = client.get(reverse("login")).content.decode()

    assert "http://" not in page
    assert "https://" not in page
    assert its_settings.SECRET_KEY not in page
