"""The CAD model of an inquiry: its pictures, and the deed that measures it in another unit or again."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_POST

from quoting.desk import navigation, pages
from quoting.quotes import model_reports, policies


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


@require_POST
@pages.refusals_told
def measure(request: HttpRequest, number: str) -> HttpResponse:
    """Measure the model again, in the unit that was confirmed or in that of the file."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.may_measure_model(request.user, inquiry))
    unit = request.POST.get("unit", "")
    if unit and unit not in model_reports.UNITS:
        messages.error(request, "Choose millimetres, inches or metres.")
    else:
        model_reports.report_ask(inquiry=inquiry, unit=model_reports.UNITS.get(unit), by=request.user)
    return redirect(f"{navigation.page_of(request.user, inquiry)}#model")
