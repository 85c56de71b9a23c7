"""Screens between answer and issue: the review with its checklist, the manager's decision, what changed since."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from quoting.desk import differences_shown, navigation, pages
from quoting.desk.forms import ReviewForm, SecondForm
from quoting.desk.views_rep import inquiry_page
from quoting.quotes import models, policies, records, selectors, services
from quoting.quotes.differences import what_changed
from quoting.quotes.issue_records import reviews_of_answer


def costed(request: HttpRequest, number: str) -> models.Inquiry:
    """The inquiry, for those who may see cost."""
    pages.demand(policies.may_see_cost(request.user))
    return pages.inquiry_for(request, number)


@require_http_methods(["GET", "POST"])
@pages.refusals_told
def approve(request: HttpRequest, number: str) -> HttpResponse:
    """Look at the final figures, confirm each point of the review, then freeze them as a numbered quote."""
    inquiry = costed(request, number)
    if not policies.may_approve(request.user, inquiry):
        pages.demand(policies.permitted(request.user, "approve", inquiry))
        return pages.conflict(request, inquiry, "Only an answered inquiry that we can make can be approved.")
    items = services.what_to_confirm(inquiry)
    form = ReviewForm(pages.posted(request), items=items)
    stale = request.method == "POST" and pages.told_version(request) != str(inquiry.version)
    if request.method == "POST" and form.is_valid() and not stale:
        quote = services.quote_approve(
            inquiry=inquiry, by=request.user, confirmed=form.confirmed(), note=form.cleaned_data["note"]
        )
        if quote is None:
            messages.warning(request, f"Your review of {number} is kept. It now waits for a manager's approval.")
        else:
            messages.success(request, f"Quote {quote.number} revision {quote.revision} is approved. Next: send it.")
        return redirect(navigation.page_of(request.user, inquiry))
    summary = form.summary()
    if stale:  # the ticks were set below other figures, and the page now shows those of today
        form = ReviewForm(items=items, initial={"note": request.POST.get("note")})
        told = pages.changed_meanwhile(request, inquiry, typed=False)
        summary = [("", "", f"{told} Your note is kept; confirm each point again.")]
    context = inquiry_page(request, inquiry) | {
        "form": form,
        "overrides": active_overrides(inquiry),
        "reasons": services.why_a_manager(inquiry, records.today()),
        "summary": summary,
    }
    return render(request, "desk/approve.html", context, status=422 if summary else 200)


def active_overrides(inquiry: models.Inquiry) -> list[models.Override]:
    return [one for one in pages.overrides_of(inquiry) if one.withdrawn_at is None]


@require_http_methods(["GET", "POST"])
@pages.refusals_told
def second(request: HttpRequest, number: str) -> HttpResponse:
    """The manager sees what the estimator confirmed and why a second person is asked, then approves or sends back."""
    inquiry = costed(request, number)
    if not policies.may_second(request.user, inquiry):
        pages.demand(policies.permitted(request.user, "second", inquiry))
        return pages.conflict(request, inquiry, "It does not wait for a manager.")
    form = SecondForm(pages.posted(request))
    ready = request.method == "POST" and form.is_valid() and pages.is_same_version(request, inquiry, form)
    if ready and is_decided(request, inquiry, form):
        return redirect(navigation.page_of(request.user, inquiry))
    reviews = reviews_of_answer(inquiry)
    context = inquiry_page(request, inquiry) | {
        "form": form,
        "overrides": active_overrides(inquiry),
        "reasons": services.why_a_manager(inquiry, records.today()),
        "review": reviews[-1] if reviews else None,
        "summary": form.summary(),
    }
    return render(request, "desk/second.html", context, status=422 if form.errors else 200)


def is_decided(request: HttpRequest, inquiry: models.Inquiry, form: SecondForm) -> bool:
    """Whether the manager's word was taken; if not, why stands beside its field."""
    note = form.cleaned_data["note"]
    if request.POST.get("decision") != "approve":
        try:
            services.quote_send_back(inquiry=inquiry, by=request.user, note=note, version=inquiry.version)
        except services.ConflictError:
            raise
        except ValidationError as refused:
            form.add_error("note", refused.messages)
            return False
        messages.success(request, f"{inquiry.number} is back with the estimator.")
        return True
    quote = services.quote_second(inquiry=inquiry, by=request.user, note=note)
    messages.success(request, f"Quote {quote.number} revision {quote.revision} is approved and can be sent.")
    return True


@require_GET
def waiting(request: HttpRequest) -> HttpResponse:
    """What waits for this manager, the longest first, each with the reasons that were told."""
    pages.demand(policies.permitted(request.user, "second"))
    found = selectors.waiting_for_manager()
    rows = [
        {
            "inquiry": one,
            "review": review,
            "own": review is not None and not policies.is_second_person(request.user, one, review.by_id),
        }
        for one, review in found
    ]
    return render(request, "desk/waiting.html", {"rows": rows})


@require_GET
@pages.refusals_told
def changes(request: HttpRequest, number: str) -> HttpResponse:
    """Rates, plants, sheet and booked work as they were at the answer and are now, and what that does to the answer."""
    inquiry = costed(request, number)
    if inquiry.snapshot is None:
        return pages.conflict(request, inquiry, "It has no answer yet, so nothing can have changed since.")
    context = {
        "inquiry": inquiry,
        "changed": differences_shown.shown(what_changed(inquiry, records.today())),
        "can": pages.granted(request.user, inquiry, pages.latest_document(inquiry)),
        "back": navigation.page_of(request.user, inquiry),
    }
    return render(request, "desk/changes.html", context)
