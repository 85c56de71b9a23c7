"""The customer's private page. No login: the secret of the link opens one document and nothing else.

The first visit swaps the secret in the address for a cookie that is sent only to this document's page, so that the
secret does not stay in the address bar. GET changes nothing, since mail scanners follow links.
"""

from secrets import token_urlsafe

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from quoting.desk import pages
from quoting.desk.customer_answer import customer_answer
from quoting.desk.forms import AcceptForm, ChangeForm, RefuseForm
from quoting.desk.views_deeds import pdf_response
from quoting.quotes import models, records, selectors, services

COOKIE = "quote_key"


def gone(request: HttpRequest) -> HttpResponse:
    """One page for unknown, withdrawn and expired links, so that none of them tells what exists."""
    return render(request, "customer/gone.html", status=404)


@login_not_required
@never_cache
@require_GET
def link(request: HttpRequest, token: str) -> HttpResponse:
    """Swap the secret in the address for a cookie scoped to the document's own address."""
    try:
        quote = selectors.quote_by_token(token)
    except models.Quote.DoesNotExist:
        return gone(request)
    address = reverse("customer-quote", args=[quote.number, quote.revision])
    response = redirect(address)
    response.set_cookie(
        COOKIE, token, path=address, expires=quote.link_expires, httponly=True, samesite="Lax",
        secure=request.is_secure(),
    )  # fmt: skip
    return response


def opened(request: HttpRequest, number: str, revision: int) -> models.Quote | None:
    """The document whose secret came in the cookie, if it is the one of this address and the link still holds."""
    try:
        quote = selectors.quote_by_token(request.COOKIES.get(COOKIE, ""))
    except models.Quote.DoesNotExist:
        return None
    return quote if (quote.number, quote.revision) == (number, revision) else None


@login_not_required
@never_cache
@require_GET
def quote(request: HttpRequest, number: str, revision: int) -> HttpResponse:
    """Prices, conditions, validity, the PDF, and how to accept or to ask for a change."""
    found = opened(request, number, revision)
    return render(request, "customer/quote.html", quote_page(found)) if found else gone(request)


def quote_page(found: models.Quote) -> dict:
    shown = customer_answer(found)
    accepted = found.replies.filter(kind=models.ACCEPTED).first()
    declined = found.replies.filter(kind=models.DECLINED_BY_CUSTOMER).first()
    newest = models.Quote.objects.filter(number=found.number).order_by("-revision").values_list("revision", flat=True)
    superseded = newest[0] if newest[0] > found.revision else None
    expired = found.kind == models.QUOTE and found.valid_until < records.today()
    is_open = found.kind == models.QUOTE and found.inquiry.state == models.SENT and not superseded and not expired
    may_reply = is_open and accepted is None and declined is None
    return {
        "quote": found,
        "is_letter": found.kind == models.LETTER,
        "answer": shown.answer,
        "lead": shown.lead,
        "part": shown.part,
        "company": shown.company,
        "superseded": superseded,
        "expired": expired,
        "zone": settings.TIME_ZONE,
        "contact_name": found.issued_by.get_full_name() or found.issued_by.get_username(),
        "contact_email": found.issued_by.email,
        "accepted": accepted,
        "declined": declined,
        "may_accept": may_reply,
        "may_decline": may_reply,
        "changes": list(found.replies.filter(kind=models.CHANGE)) if is_open else [],
        "form_key": token_urlsafe(16),
        "may_reply": may_reply,
        "change_form": ChangeForm(),
    }


@login_not_required
@never_cache
@require_GET
def pdf(request: HttpRequest, number: str, revision: int) -> HttpResponse:
    """The document as it was issued, byte for byte."""
    found = opened(request, number, revision)
    return pdf_response(found) if found else gone(request)


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def accept(request: HttpRequest, number: str, revision: int) -> HttpResponse:
    """Choose the release and see the final figures before anything is accepted; the POST accepts."""
    found = opened(request, number, revision)
    if found is None:
        return gone(request)
    context = quote_page(found)
    form = AcceptForm(pages.posted(request), breaks=context["answer"]["breaks"])
    if (
        request.method == "POST"
        and form.is_valid()
        and replied(request, form, "release", kind=models.ACCEPTED, release=form.cleaned_data["release"])
    ):
        return redirect(reverse("customer-quote", args=[number, revision]))
    return render(request, "customer/accept.html", context | {"form": form}, status=422 if form.errors else 200)


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, number: str, revision: int) -> HttpResponse:
    """Ask for a change in the customer's own words."""
    found = opened(request, number, revision)
    if found is None:
        return gone(request)
    form = ChangeForm(pages.posted(request))
    if (
        request.method == "POST"
        and form.is_valid()
        and replied(request, form, "text", kind=models.CHANGE, text=form.cleaned_data["text"])
    ):
        return redirect(reverse("customer-quote", args=[number, revision]))
    context = quote_page(found) | {"change_form": form}
    return render(request, "customer/quote.html", context, status=422 if form.errors else 200)


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def decline(request: HttpRequest, number: str, revision: int) -> HttpResponse:
    """Say why not; the POST declines."""
    found = opened(request, number, revision)
    if found is None:
        return gone(request)
    form = RefuseForm(pages.posted(request))
    if (
        request.method == "POST"
        and form.is_valid()
        and replied(request, form, "text", kind=models.DECLINED_BY_CUSTOMER, text=form.cleaned_data["text"])
    ):
        return redirect(reverse("customer-quote", args=[number, revision]))
    context = quote_page(found) | {"form": form}
    return render(request, "customer/decline.html", context, status=422 if form.errors else 200)


def replied(request: HttpRequest, form: AcceptForm | ChangeForm | RefuseForm, field: str, **reply: object) -> bool:
    """Whether the reply was kept; if not, the reason stands beside its field."""
    origin = services.Origin(request.META.get("REMOTE_ADDR", ""), printable(request.META.get("HTTP_USER_AGENT", "")))
    key = printable(request.POST.get("key", ""))[:64]
    try:
        services.customer_reply(token=request.COOKIES[COOKIE], key=key, origin=origin, **reply)
    except models.Quote.DoesNotExist:
        form.add_error(field, "This link was withdrawn while the page was open; please write to us.")
    except ValidationError as refused:
        form.add_error(field, refused.messages)
    return not form.errors


def printable(text: str) -> str:
    """One line without control characters, as it may stand in a log."""
    return "".join(one for one in text if one.isprintable())
