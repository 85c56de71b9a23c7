"""The CAD model of an inquiry: its pictures, and the deeds that confirm its unit, body or draw or measure it again."""

from pathlib import Path

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_POST

from quoting.desk import navigation, pages
from quoting.desk.model_choices import refused_choice
from quoting.desk.views_estimator import work_page
from quoting.desk.views_rep import answer_page
from quoting.quotes import model_reports, policies, services
from quoting.quotes.drawings import drawing_open
from quoting.quotes.forming_way import wished_way


@require_GET
def picture(request: HttpRequest, number: str, name: str) -> HttpResponse:
    """One picture of the model as PNG, for those who may see the inquiry; any other name is not found."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.may_see_inquiry(request.user, inquiry))
    report = model_reports.report_of(inquiry)
    content = model_reports.picture_of(report, name) if report else None
    if content is None:
        raise Http404
    response = HttpResponse(content, content_type="image/png")
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = "inline"
    response["Cache-Control"] = "private, no-store"
    return response


@require_GET
def model_file(request: HttpRequest, number: str) -> FileResponse:
    """The model as it was sent, to be saved and never shown, for those who may see the inquiry."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.may_see_inquiry(request.user, inquiry))
    name = model_reports.model_of(inquiry)
    kept = drawing_open(name) if name else None
    if kept is None:
        raise Http404
    response = FileResponse(
        kept,
        as_attachment=True,
        filename=f"{inquiry.number}-model{Path(name).suffix}",
        content_type="application/octet-stream",
    )
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response


@require_POST
@pages.refusals_told
def measure(request: HttpRequest, number: str) -> HttpResponse:
    """Measure the model again, as the inquiry asks it now; with a tool named, the wall map shows another way."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.may_measure_model(request.user, inquiry))
    try:
        wished = _wished(request)
    except ValueError as refused:
        messages.error(request, str(refused))
    else:
        model_reports.report_ask(inquiry=inquiry, by=request.user, wished=wished)
    return redirect(f"{navigation.page_of(request.user, inquiry)}#model")


def _wished(request: HttpRequest) -> dict | None:
    if "tool" not in request.POST:
        return None
    return wished_way(request.POST["tool"], request.POST.get("plug") == "yes", request.POST.get("bubble") == "yes")


@require_POST
@pages.refusals_told
def choose(request: HttpRequest, number: str) -> HttpResponse:
    """Confirm the unit, the body or the draw: the inquiry is answered again and its model measured again.

    Where that is refused, the page comes back with the form as it was sent, to be put right or sent again.
    """
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.may_choose_of_model(request.user, inquiry))
    sent = {name: request.POST.get(name, "") for name in ("field", "value", "reason")}
    if pages.told_version(request) != str(inquiry.version):
        return _choose_again(request, number, sent, [pages.changed_meanwhile(request, inquiry)])
    try:
        model_reports.model_choose(inquiry=inquiry, by=request.user, **sent)
    except (services.StateError, services.ConflictError):
        raise
    except ValidationError as refused:
        return _choose_again(request, number, sent, refused.messages)
    messages.success(request, "Confirmed: the inquiry was answered again, and its model is measured again.")
    return redirect(f"{navigation.page_of(request.user, inquiry)}#model")


def _choose_again(request: HttpRequest, number: str, sent: dict[str, str], errors: list[str]) -> HttpResponse:
    """The inquiry's page for this person with the choice as it was sent, and why it was not taken."""
    inquiry = pages.inquiry_for(request, number)
    refused = refused_choice(**sent, errors=errors, page=navigation.page_of(request.user, inquiry))
    if policies.may_see_cost(request.user, inquiry):
        return work_page(request, inquiry, status=422, refused=refused)
    return answer_page(request, inquiry, refused)
