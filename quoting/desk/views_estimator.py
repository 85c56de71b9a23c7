"""Screens of the estimator: the queue, the route with every figure behind the price, overrides, approval, decline."""

from crispy_forms.utils import render_crispy_form
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quoting.desk import answer_parts, fragments, navigation, pages, present, run_rows
from quoting.desk.forms import OverrideForm, ReasonForm, summary_of
from quoting.desk.inquiry_lists import inquiry_table
from quoting.desk.model_page import printed_model
from quoting.desk.views_rep import inquiry_page, page_of
from quoting.documents.pdf import render_worksheet
from quoting.documents.reasons import in_the_way
from quoting.quotes import answers_to_come, model_reports, models, policies, records, services

GRID_FILTERS = ("process", "plant", "machine", "polymer")


@require_GET
def review(request: HttpRequest) -> HttpResponse:
    """The queue: answered inquiries first come into view, every other state by the filter."""
    pages.demand(policies.may_see_cost(request.user))
    state = request.GET.get("state", models.ANSWERED if not request.GET else "")
    context = inquiry_table(request, state=state, target="work") | {
        "heading": "Inquiries to review",
        "lead": "Answered inquiries wait here for review. Choose another state, or all, to see the rest.",
        "order": "newest first",
        "empty_heading": "Nothing to review yet",
        "empty_text": "Sales reps log inquiries; each is answered at once and waits here for your review, "
        "with its route, every verdict and every cost line.",
    }
    return render(request, "desk/inquiry_list.html", context)


@require_GET
def work(request: HttpRequest, number: str) -> HttpResponse:
    """One inquiry with all that lies behind its answer."""
    pages.demand(policies.may_see_cost(request.user))
    return work_page(request, pages.looked_at(request, number, "cost"))


def costed(request: HttpRequest, number: str) -> models.Inquiry:
    """The inquiry, for those who may see cost."""
    pages.demand(policies.may_see_cost(request.user))
    return pages.inquiry_for(request, number)


def work_page(
    request: HttpRequest,
    inquiry: models.Inquiry,
    override_form: OverrideForm | None = None,
    status: int = 200,
    refused: dict | None = None,
) -> HttpResponse:
    """The page of an inquiry; with an override, or a choice of its model, that was refused and is to be put right."""
    front = inquiry.stored_front
    shown = answer_parts.shown_to_office(front) if front else None
    facts = shown.facts if shown else {}
    context = page_of(request, inquiry, shown)
    context |= {
        "override_form": override_form,
        "summary": summary_of(override_form) if override_form else [],
        "override_blank": fragments.kept("blank-override", {}, lambda _: render_crispy_form(OverrideForm())),
        "sections": SECTIONS,
        "compared": facts.get("compared"),
        "chosen": facts.get("chosen"),
        "recorded": run_rows.recorded_for(context["documents"]),
    }
    if refused:
        context["model"]["refused"] = refused
    if context["model"]:
        context["sections"] = (*SECTIONS[:1], ("model", "The model"), *SECTIONS[1:])  # as on the page
    if facts.get("chosen"):
        context["sections"] = (*context["sections"][:1], ("range", "Range of error"), *context["sections"][1:])
        if facts["steps"]:
            context["sections"] = (*context["sections"][:1], ("lead", "Lead time"), *context["sections"][1:])
        if facts["study"]:
            context["sections"] = (*STUDY_SECTIONS, *context["sections"])
    return render(request, "desk/work.html", context, status=status)


STUDY_SECTIONS = (
    ("heating", "Heating"),
    ("walls", "Walls"),
    ("cooling", "Cooling"),
    ("numbers", "Numbers opened"),
)
SECTIONS = (
    ("costs", "Costs and price"),
    ("candidates", "All candidates"),
    ("overrides", "Overrides"),
    ("typed", "As typed"),
    ("history", "History"),
)


@require_GET
def candidates(request: HttpRequest, number: str) -> HttpResponse:
    """Every candidate side by side; read apart from the inquiry's page, since there may be hundreds."""
    inquiry = costed(request, number)
    if not (inquiry.snapshot or {}).get("candidates"):
        raise Http404
    wanted = {key: request.GET.get(key, "") for key in GRID_FILTERS}
    grid = present.candidate_grid(
        inquiry.snapshot, wanted, every_row="all" in request.GET, every_rule="rules" in request.GET
    )
    return render(request, "desk/candidates.html", {"inquiry": inquiry, "wanted": wanted, "grid": grid})


@require_GET
def candidate(request: HttpRequest, number: str, place: int) -> HttpResponse:
    """One candidate opened: every verdict with its figures, its plan if there is one, and its cost where it fits."""
    inquiry = costed(request, number)
    candidates = (inquiry.snapshot or {}).get("candidates", [])
    if place >= len(candidates):
        raise Http404
    priced, chosen = candidates[place], inquiry.snapshot["chosen"]
    is_chosen = bool(chosen) and present.same_route(priced, chosen)
    snapshot = inquiry.snapshot
    context = answer_parts.priced_page(
        priced, snapshot.get("study") if is_chosen else None, snapshot["answered_on"]
    ) | {
        "inquiry": inquiry,
        "route": present.route(priced),
        "fits": not in_the_way(priced),
        "layouts": priced["layouts_compared"],
    }
    return render(request, "desk/candidate.html", context)


@require_GET
def worksheet(request: HttpRequest, number: str) -> HttpResponse:
    """The forming worksheet of the chosen route as an internal PDF, made from the stored answer each time."""
    inquiry = costed(request, number)
    if not (inquiry.snapshot or {}).get("chosen"):
        raise Http404
    pages.saw("cost", by=request.user, inquiry=inquiry)
    pdf = render_worksheet(
        inquiry.snapshot, number=inquiry.number, version=inquiry.version, printed_on=records.today(),
        prepared_by=request.user.get_full_name() or request.user.get_username(), model=printed_model(inquiry),
    )  # fmt: skip
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{inquiry.number}-forming-worksheet-{inquiry.version}.pdf"'
    response["Cache-Control"] = "no-store"
    return response


@require_POST
@pages.refusals_told
def override_add(request: HttpRequest, number: str) -> HttpResponse:
    """Put another value in place of a typed one, with the reason; the answer is worked out again."""
    inquiry = costed(request, number)
    pages.demand(policies.may_override(request.user, inquiry))
    form = OverrideForm(request.POST)
    if form.is_valid() and pages.is_same_version(request, inquiry, form) and is_overridden(request, inquiry, form):
        model_reports.report_ask_once(inquiry=inquiry, by=request.user)
        messages.success(request, "Value overridden; the answer was worked out again.")
        return redirect(reverse("work", args=[number]))
    return work_page(request, inquiry, form, status=422)


def is_overridden(request: HttpRequest, inquiry: models.Inquiry, form: OverrideForm) -> bool:
    """Whether the service took the override; if not, what is wrong with the value stands beside it."""
    field, value = form.cleaned_data["field"], form.cleaned_data["value"]
    try:
        answers_to_come.require_measured(inquiry, on=records.today(), override=(field, value))
        services.override_add(
            inquiry=inquiry, field=field, value=value, reason=form.cleaned_data["reason"], by=request.user
        )
    except (services.StateError, services.ConflictError):
        raise
    except ValidationError as refused:
        form.add_error("value", [message.removeprefix(f"{field}: ").capitalize() for message in refused.messages])
    return not form.errors


@require_POST
@pages.refusals_told
def override_withdraw(request: HttpRequest, number: str, override: int) -> HttpResponse:
    """Take an override back; it stays in the list, struck through."""
    inquiry = costed(request, number)
    pages.demand(policies.may_override(request.user, inquiry))
    found = inquiry.overrides.filter(pk=override, withdrawn_at=None).first()
    if found is None:
        raise Http404
    pages.demand_same_version(request, inquiry)
    found.inquiry = inquiry  # as it was looked at, so that the service compares its version
    answers_to_come.require_measured(inquiry, on=records.today(), without=found)
    services.override_withdraw(override=found, by=request.user)
    model_reports.report_ask_once(inquiry=inquiry, by=request.user)
    messages.success(request, "Override withdrawn; the answer was worked out again.")
    return redirect(reverse("work", args=[number]))


@require_POST
@pages.refusals_told
def answer_again(request: HttpRequest, number: str) -> HttpResponse:
    """Answer with today's plants, sheet, rates and workload."""
    inquiry = costed(request, number)
    pages.demand(policies.may_answer(request.user, inquiry))
    pages.demand_same_version(request, inquiry)
    answers_to_come.require_measured(inquiry, on=records.today())
    services.inquiry_answer(inquiry=inquiry, on=records.today(), by=request.user)
    messages.success(request, "Answered with today's data.")
    return redirect(reverse("work", args=[number]))


@require_http_methods(["GET", "POST"])
@pages.refusals_told
def decline(request: HttpRequest, number: str) -> HttpResponse:
    """Decline with a letter that names measured against limit and where the part belongs."""
    inquiry = costed(request, number)
    pages.demand(policies.permitted(request.user, "decline", inquiry))
    if not policies.may_decline(request.user, inquiry):
        return pages.conflict(request, inquiry, "Only an answered inquiry that is not a fit is declined with a letter.")
    form = ReasonForm(pages.posted(request))
    if request.method == "POST" and form.is_valid() and pages.is_same_version(request, inquiry, form):
        services.inquiry_decline(inquiry=inquiry, reason=form.cleaned_data["reason"], by=request.user)
        messages.success(request, "Declined. The letter is ready to send.")
        return redirect(navigation.page_of(request.user, inquiry))
    context = inquiry_page(request, inquiry) | {
        "form": form,
        "heading": f"Decline {number} with a letter",
        "lead": "The letter says what stands in the way, what would change it, and where the part belongs.",
        "button": "Decline and write letter",
        "button_class": "btn-care",
    }
    return render(request, "desk/deed.html", context, status=422 if form.errors else 200)
