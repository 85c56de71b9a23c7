"""What rep and estimator both do with an issued document: send it, withdraw its link, show it, record the outcome."""

import secrets
from hashlib import sha256

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quoting.desk import navigation, pages
from quoting.desk.forms import MailForm, ReasonForm, WonForm
from quoting.quotes import mail_texts, mailing, models, policies, services

PLACE_OF_THE_LINK = "[the private link, made when you send]"


def document_of(inquiry: models.Inquiry) -> models.Quote:
    """The newest issued document of an inquiry, or 404 before there is one."""
    found = pages.latest_document(inquiry)
    if found is None:
        raise Http404
    return found


@require_POST
@pages.refusals_told
def send(request: HttpRequest, number: str) -> HttpResponse:
    """Make the customer's private link; it is shown on the next page, once."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.permitted(request.user, "send", inquiry))
    pages.demand_same_version(request, inquiry)
    token = services.quote_send(quote=document_of(inquiry), by=request.user, version=inquiry.version)
    request.session[f"link {number}"] = request.build_absolute_uri(reverse("customer-link", args=[token]))
    return redirect(navigation.page_of(request.user, inquiry))


@require_http_methods(["GET", "POST"])
@pages.refusals_told
def send_by_mail(request: HttpRequest, number: str) -> HttpResponse:
    """Check address and text, then send the private link by e-mail; a form sent twice sends one mail."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.permitted(request.user, "send", inquiry))
    quote = document_of(inquiry)
    if not pages.mailable(request.user, quote):
        return pages.conflict(request, inquiry, "This document cannot be sent by e-mail now.")
    address = inquiry.customer.email if inquiry.customer else ""
    form = MailForm(pages.posted(request), initial={"to": address, "form": secrets.token_hex(8)})
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        mailing.quote_mail(
            quote=quote, to=given["to"], form=given["form"], by=request.user,
            address=lambda token: request.build_absolute_uri(reverse("customer-link", args=[token])),
        )  # fmt: skip
        messages.success(request, f"The e-mail to {given['to']} is on its way; below you see what became of it.")
        return redirect(navigation.page_of(request.user, inquiry))
    context = {
        "inquiry": inquiry,
        "quote": quote,
        "form": form,
        "subject": mail_texts.subject_of(quote),
        "text": mail_texts.text_of(quote, PLACE_OF_THE_LINK, request.user),
        "back": navigation.page_of(request.user, inquiry),
    }
    return render(request, "desk/send_by_mail.html", context, status=422 if form.errors else 200)


@require_POST
@pages.refusals_told
def revoke(request: HttpRequest, number: str) -> HttpResponse:
    """End the private link at once. The administrator may too, who sees no inquiry."""
    inquiry = pages.inquiry_for(request, number, act="revoke_link")
    may_see = policies.may_see_inquiry(request.user, inquiry)
    if may_see:
        pages.demand_same_version(request, inquiry)
    version = inquiry.version if may_see else None
    services.link_revoke(quote=document_of(inquiry), by=request.user, version=version)
    messages.success(request, "The private link no longer opens the document.")
    return redirect(navigation.page_of(request.user, inquiry) if may_see else "home")


@require_GET
def document(request: HttpRequest, number: str) -> HttpResponse:
    """The issued PDF, byte for byte as it was kept."""
    inquiry = pages.inquiry_for(request, number)
    found = document_of(inquiry)
    pages.demand(policies.may_see_document(request.user, found))
    pages.saw("document", by=request.user, inquiry=inquiry, quote=found)
    return pdf_response(found)


class DamagedDocumentError(RuntimeError):
    """The stored bytes are not those that were issued: nobody gets them, and the log names the document."""


def pdf_response(found: models.Quote) -> HttpResponse:
    """The bytes that were issued, and no others."""
    issued = bytes(found.pdf)
    if sha256(issued).hexdigest() != found.pdf_digest:
        raise DamagedDocumentError(f"the PDF of {found} is not what was issued; restore it from a backup")
    response = HttpResponse(issued, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{found.number}-revision-{found.revision}.pdf"'
    response["Cache-Control"] = "no-store"
    return response


@require_http_methods(["GET", "POST"])
@pages.refusals_told
def won(request: HttpRequest, number: str) -> HttpResponse:
    """Record the order: its hours become firm on the loading board."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.permitted(request.user, "win", inquiry))
    quote = document_of(inquiry)
    if not policies.may_record_win(request.user, quote):
        return pages.conflict(request, inquiry, "Only a quote that was sent can be recorded as won.")
    releases = tuple(one["quantity"] for one in quote.snapshot["chosen"]["cost"]["breaks"])
    form = WonForm(pages.posted(request), releases=releases)
    if request.method == "POST" and form.is_valid() and pages.is_same_version(request, inquiry, form):
        given = form.cleaned_data
        services.quote_won(
            quote=quote, release=given["release"], evidence=given["reason"], by=request.user, version=inquiry.version
        )
        messages.success(request, "Recorded as won; its hours are booked on the machine.")
        return redirect(navigation.page_of(request.user, inquiry))
    lead = "The hours of the ordered release are booked as firm work on the loading board."
    return deed_page(request, inquiry, form, f"Record {number} as won", lead, "Record order")


@require_http_methods(["GET", "POST"])
@pages.refusals_told
def lost(request: HttpRequest, number: str) -> HttpResponse:
    """Record that the customer went elsewhere, and why."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.permitted(request.user, "lose", inquiry))
    quote = document_of(inquiry)
    if not policies.may_record_loss(request.user, quote):
        return pages.conflict(request, inquiry, "Only an approved or sent quote can be recorded as lost.")
    form = ReasonForm(pages.posted(request))
    if request.method == "POST" and form.is_valid() and pages.is_same_version(request, inquiry, form):
        reason = form.cleaned_data["reason"]
        services.quote_lost(quote=quote, reason=reason, by=request.user, version=inquiry.version)
        messages.success(request, "Recorded as lost; its quoted hours left the loading board.")
        return redirect(navigation.page_of(request.user, inquiry))
    lead = "Price, lead time, the design changed? The quoted hours leave the loading board."
    return deed_page(request, inquiry, form, f"Record {number} as lost", lead, "Record loss")


def deed_page(
    request: HttpRequest, inquiry: models.Inquiry, form: object, heading: str, lead: str, button: str
) -> HttpResponse:
    context = {
        "inquiry": inquiry,
        "form": form,
        "heading": heading,
        "lead": lead,
        "button": button,
        "back": navigation.page_of(request.user, inquiry),
    }
    return render(request, "desk/deed.html", context, status=422 if form.errors else 200)
