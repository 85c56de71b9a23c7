"""The mesh of an inquiry's CAD model, for the view that turns it."""

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from quoting.desk import pages
from quoting.quotes import model_reports, policies


@require_GET
def mesh(request: HttpRequest, number: str, name: str) -> HttpResponse:
    """One mesh of the model as binary glTF, for those who may see the inquiry; any other name is not found."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.may_see_inquiry(request.user, inquiry))
    report = model_reports.report_of(inquiry)
    content = model_reports.mesh_of(report, name) if report else None
    if content is None:
        raise Http404
    response = HttpResponse(content, content_type="model/gltf-binary")
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = "attachment"
    response["Cache-Control"] = "private, no-store"
    return response
