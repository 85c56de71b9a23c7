"""The record of deeds, taken out: for one inquiry from its page, for a period by manager and administrator."""

from collections.abc import Iterable, Iterator

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from quoting.desk import pages
from quoting.quotes import audit_export, models, policies, records, sealing, selectors

KINDS = {
    "csv": ("text/csv; charset=utf-8", audit_export.as_csv),
    "jsonl": ("application/x-ndjson; charset=utf-8", audit_export.as_json_lines),
}


@require_GET
def history_export(request: HttpRequest, number: str, kind: str) -> HttpResponse:
    """Everything recorded of one inquiry."""
    pages.demand(policies.may_read_audit(request.user))
    inquiry = pages.inquiry_for(request, number)
    if kind not in KINDS:
        raise Http404
    records.audit("audit_export", by=request.user, inquiry=inquiry, form=kind)
    return exported(selectors.history(inquiry).select_related("inquiry").order_by("pk"), f"{number}-history", kind)


class PeriodForm(forms.Form):
    """First and last day of an export."""

    first = forms.DateField(label="First day", widget=forms.DateInput(attrs={"type": "date"}))
    last = forms.DateField(label="Last day", widget=forms.DateInput(attrs={"type": "date"}))
    form = forms.ChoiceField(label="Form", choices=[("csv", "table (CSV)"), ("jsonl", "data (JSON lines)")])

    def clean(self) -> dict:
        given = super().clean()
        if given.get("first") and given.get("last") and given["first"] > given["last"]:
            self.add_error("last", "Write a day that is not before the first day.")
        return given


@require_GET
def audit_period(request: HttpRequest) -> HttpResponse:
    """Choose a period; with one, the file."""
    pages.demand(policies.may(request.user, "export_audit"))
    today = records.today()
    if "first" not in request.GET:
        form = PeriodForm(initial={"first": today.replace(day=1), "last": today})
        return render(request, "desk/audit_period.html", {"form": form, "seals": sealing.seal_state()})
    form = PeriodForm(request.GET)
    if not form.is_valid():
        return render(request, "desk/audit_period.html", {"form": form, "seals": sealing.seal_state()}, status=422)
    given = form.cleaned_data
    first, last, kind = given["first"], given["last"], given["form"]
    records.audit("audit_export", by=request.user, first=first.isoformat(), last=last.isoformat(), form=kind)
    return exported(audit_export.entries_between(first, last), f"audit-{first}-to-{last}", kind)


def exported(entries: Iterable[models.AuditEntry], name: str, kind: str) -> StreamingHttpResponse:
    content_type, written = KINDS[kind]
    lines: Iterator[str] = written(entries.iterator(chunk_size=500))
    response = StreamingHttpResponse(lines, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{name}.{kind}"'
    response["Cache-Control"] = "no-store"
    return response
