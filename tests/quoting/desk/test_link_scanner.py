"""A mail scanner opens the private link many times and follows whatever it finds: nothing happens by that."""

from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

import pytest
from django.apps import apps
from django.test import Client
from django.urls import reverse

from quoting.quotes import models, services

from .conftest import NOT_A_FIT

VISITS = 20
SESSIONS = "sessions_session"


class Links(HTMLParser):
    """Every address in a page that can be opened without a POST: links, pictures, styles, scripts, GET forms."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attributes: list) -> None:
        given = dict(attributes)
        if tag == "form":
            is_get = given.get("method", "get").lower() == "get"
            self.found += [given.get("action") or ""] if is_get else []
        self.found += [given[name] for name in ("href", "src", "data", "poster") if given.get(name)]
        if tag in ("button", "input") and given.get("formaction"):
            self.found.append(given["formaction"])


def links_of(page: object, address: str) -> list[str]:
    if "text/html" not in page.headers.get("Content-Type", ""):
        return []
    reader = Links()
    reader.feed(page.content.decode())
    inside = (urlsplit(urljoin(f"http://testserver{address}", one)) for one in reader.found)
    return [one.path + (f"?{one.query}" if one.query else "") for one in inside if one.netloc == "testserver"]


def crawl(client: Client, start: str) -> dict[str, int]:
    """Opens everything that can be reached, each address by HEAD and by GET; address -> status."""
    waiting, opened = [start], {}
    while waiting:
        address = waiting.pop()
        if address in opened or len(opened) > 200:
            continue
        client.head(address)
        page = client.get(address)
        opened[address] = page.status_code
        waiting += [page.headers["Location"]] if "Location" in page.headers else links_of(page, address)
    return opened


def rows() -> dict[str, int]:
    tables = [model for model in apps.get_models() if model._meta.db_table != SESSIONS]
    return {model._meta.label: model._base_manager.count() for model in tables}


def standing() -> list:
    return list(models.Inquiry.objects.values("state", "version")) + list(
        models.Quote.objects.values("link_hash", "link_expires", "link_revoked_at")
    )


@pytest.fixture
def letter(kept, people):
    letter = services.inquiry_decline(inquiry=kept(NOT_A_FIT), by=people["estimator"])
    return letter, services.quote_send(quote=letter, by=people["estimator"])


@pytest.mark.parametrize("document", ["sent", "letter"])
@pytest.mark.parametrize("keeps_cookies", [True, False])
def test_a_scanner_that_follows_every_link_changes_nothing(request, document, keeps_cookies):
    quote, token = request.getfixturevalue(document)
    before, client, opened = (rows(), standing()), Client(), {}

    for _ in range(VISITS):
        client = client if keeps_cookies else Client()
        opened |= crawl(client, reverse("customer-link", args=[token]))

    assert (rows(), standing()) == before
    assert not models.CustomerReply.objects.exists()
    assert 500 not in opened.values()
    here = [quote.number, quote.revision]
    wanted = {reverse(name, args=here) for name in ("customer-quote", "customer-pdf")}
    if document == "sent":
        wanted |= {reverse(name, args=here) for name in ("customer-accept", "customer-decline")}
    assert wanted <= set(opened)  # it did come to the pages from which a person would accept
    assert {opened[one] for one in wanted} == {200}


def test_a_scanner_that_keeps_no_cookie_at_all_is_not_led_in_a_circle(sent):
    _, token = sent

    class Forgetful(Client):
        def get(self, *arguments, **more):
            self.cookies.clear()
            return super().get(*arguments, **more)

    opened = crawl(Forgetful(), reverse("customer-link", args=[token]))

    assert set(opened.values()) <= {200, 302, 404}
