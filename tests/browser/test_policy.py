"""No page of any role breaks the content security policy, and the policy does stop what is slipped in.

The window's fixture fails a test on any error in the console, and a browser reports each violation there.
"""

from django.contrib.auth import get_user_model
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice
from playwright.sync_api import expect

from quoting.quotes import models, services
from quoting.quotes.reviewing import KEYS

from .conftest import PASSWORD


def walk(page, *addresses: str) -> None:
    for address in addresses:
        page.goto(address)
        expect(page.locator("h1").first).to_be_visible()


def test_every_page_of_each_role_keeps_to_the_policy(browse, answered, people):
    number = answered.number
    quote = services.quote_approve(inquiry=answered, confirmed=KEYS, by=people["estimator"])
    token = services.quote_send(quote=quote, by=people["estimator"])
    walk(browse("rep"), *map(reverse, ("inquiries", "inquiry-log", "account", "password", "second-factor")))
    review = [reverse(name, args=[number]) for name in ("inquiry", "work")]
    walk(browse("estimator"), reverse("review"), *review, reverse("candidate", args=[number, 0]))
    walk(browse("manager"), reverse("loading"), reverse("work", args=[number]))
    walk(browse(), "/login/", f"/q/{token}/", reverse("customer-accept", args=[quote.number, 1]))


def test_the_admin_keeps_to_the_policy(browse, people):
    get_user_model().objects.create_superuser("ada", "ada@desk.example", PASSWORD)
    row = models.RateRow.objects.first()
    page = browse("ada")
    tables = ("auth_user", "quotes_raterow", "machines_machine", "machines_booking", "axes_accessattempt")
    walk(
        page, "/admin/", *(reverse(f"admin:{table}_changelist") for table in tables),
        reverse("admin:auth_user_change", args=[people["manager"].pk]), reverse("admin:quotes_raterow_add"),
        reverse("admin:quotes_raterow_change", args=[row.pk]), reverse("admin:machines_booking_add"),
    )  # fmt: skip
    page.goto(reverse("admin:machines_booking_add"))
    page.get_by_role("link", name="Today").first.click()  # the admin's own scripts run


def test_a_script_that_was_slipped_in_does_not_run(chromium, live_server, db):
    context = chromium.new_context(base_url=live_server.url)
    page = context.new_page()
    page.goto("/login/")
    page.evaluate(
        """() => {
            window.stopped = [];
            const keep = event => window.stopped.push(event.effectiveDirective);
            document.addEventListener('securitypolicyviolation', keep);
            const script = document.createElement('script');
            script.textContent = 'window.ran = true';
            document.body.append(script);
            document.body.setAttribute('style', 'color: red');
            const image = document.createElement('img');
            image.src = 'https://elsewhere.example/x.png';
            document.body.append(image);
        }"""
    )
    page.wait_for_function("window.stopped.length >= 3")

    assert not page.evaluate("window.ran")
    assert {"script-src-elem", "style-src-attr", "img-src"} <= set(page.evaluate("window.stopped"))
    context.close()


def test_a_person_sets_up_the_second_factor_and_is_asked_at_the_next_log_in(browse, people):
    page = browse("manager")
    page.get_by_role("link", name="manager", exact=True).click()
    page.get_by_role("link", name="Set up second factor").click()
    page.get_by_role("button", name="Set up second factor").click()
    picture = page.get_by_role("img", name="Picture to be scanned")
    expect(picture).to_have_js_property("complete", True)
    assert picture.evaluate("image => image.naturalWidth") > 100
    device = TOTPDevice.objects.get()
    page.get_by_label("Code").fill(f"{totp(device.bin_key):06d}")
    page.get_by_role("button", name="Switch on second factor").click()
    expect(page.get_by_role("heading", name="recovery codes")).to_be_visible()
    code = page.locator(".codes code").first.inner_text()

    page = browse("manager")
    expect(page.get_by_role("heading", name="One more step")).to_be_visible()
    page.get_by_label("Code").fill(code)
    page.get_by_role("button", name="Go on").click()
    page.wait_for_url("**/loading/")
