"""One Chromium for all browser tests, and the demo stock with one person per role behind a live server."""

import json
import os
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.core.management import call_command
from playwright.sync_api import Page, sync_playwright

from quoting.quotes import models, policies, services

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # playwright's loop runs in the thread that sets up the data
CHROMIUM = "/usr/bin/chromium"
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
PASSWORD = "heavy gauge sheet"
INQUIRIES = Path(settings.BASE_DIR) / "fixtures" / "demo" / "inquiries"


@pytest.fixture(scope="session")
def browsers():
    """What starts browsers; there can be only one of it."""
    with sync_playwright() as playwright:
        yield playwright.chromium


@pytest.fixture(scope="session")
def chromium(browsers):
    browser = browsers.launch(executable_path=CHROMIUM, args=list(FLAGS))
    yield browser
    browser.close()


@pytest.fixture
def frozen_tables(transactional_db):
    """Issued rows are frozen by triggers during the test, and thawed after it so that the tables can be emptied."""
    call_command("migrate", verbosity=0)
    yield
    call_command("migrate", "quotes", "0001", verbosity=0)


@pytest.fixture
def people(frozen_tables) -> dict[str, object]:
    services.catalog_ensure()
    services.ensure_groups()
    made = {}
    for username, role in (("rep", policies.REP), ("estimator", policies.ESTIMATOR), ("manager", policies.MANAGER)):
        made[username] = get_user_model().objects.create_user(username, f"{username}@desk.example", PASSWORD)
        made[username].groups.add(Group.objects.get(name=role))
    return made


@pytest.fixture
def answered(people) -> models.Inquiry:
    typed = json.loads((INQUIRIES / "01-equipment-cover.json").read_text())
    inquiry = services.inquiry_log(typed=typed, by=people["rep"])
    return services.inquiry_answer(inquiry=inquiry, on=services.today(), by=people["rep"])


@pytest.fixture
def browse(chromium, live_server):
    """Open a window, logged in as somebody or as nobody; errors in the console fail the test."""
    contexts, errors = [], []

    def window(username: str = "", width: int = 1280) -> Page:
        context = chromium.new_context(viewport={"width": width, "height": 900}, base_url=live_server.url)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
        page.on("request", lambda request: errors.append(request.url) if is_foreign(request.url) else None)
        if username:
            page.goto("/login/")
            page.get_by_label("Username").fill(username)
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Log in").click()
            # a click does not wait for the page it leads to: a key pressed too early is lost with the log-in page
            page.wait_for_url(lambda address: "/login/" not in address)
        return page

    def is_foreign(address: str) -> bool:
        return not address.startswith((live_server.url, "data:"))

    yield window
    for context in contexts:
        context.close()
    assert not [error for error in errors if "status of 422" not in error]


def overflow(page: Page) -> int:
    """Pixels that the page is wider than its window."""
    return page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
