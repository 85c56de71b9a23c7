"""Bringing a file of runs in: send it, look at what it would record, confirm."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quoting.desk import pages, sent_files
from quoting.desk.forms_runs import RunFileForm
from quoting.intake.reading_result import InputErrors
from quoting.planning.models import RunUpload
from quoting.quotes import policies
from quoting.quotes.runs import imports
from quoting.quotes.runs.files import template

FIRST_SHOWN = 20  # of the runs to record


@require_http_methods(["GET", "POST"])
def upload(request: HttpRequest) -> HttpResponse:
    """Choose a file; what is wrong with it as a whole is told here."""
    pages.demand(policies.may_record_runs(request.user))
    form = RunFileForm(pages.posted(request), request.FILES or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data["file"]
        try:
            kept = imports.runs_upload(file_name=given.name, content=given.read(), by=request.user)
            return redirect("shop-runs-preview", kept.token)
        except InputErrors as errors:
            sent_files.told_wrong(form, errors)
    return render(request, "desk/shop_runs_import.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def preview(request: HttpRequest, upload: str) -> HttpResponse:
    """What the sent file would record; a post confirms exactly that."""
    pages.demand(policies.may_record_runs(request.user))
    sent = RunUpload.objects.filter(token=upload, by=request.user).first()
    if sent is None:
        return _gone(request)
    record, why, status = sent_files.confirmed(request, imports.upload_import, sent)
    if record:
        count = record.counts["to record"]
        messages.success(request, f"{record.number}: {count:,} run{'s' * (count != 1)} recorded.")
        return redirect("shop-runs")
    return render(request, "desk/shop_runs_preview.html", _context(sent, why), status=status)


def _gone(request: HttpRequest) -> HttpResponse:
    messages.warning(request, "This file has been imported or put aside already.")
    return redirect("shop-runs")


def _context(sent: RunUpload, why: str) -> dict:
    found = imports.upload_preview(sent)
    return {
        "sent": sent,
        "why": why,
        "counts": found.counts.items(),
        "fingerprint": found.fingerprint,
        "new": found.new[:FIRST_SHOWN],
        "new_beyond": len(found.new[FIRST_SHOWN:]),
        **sent_files.wrong_rows(found.wrong),
        "may_import_good": bool(found.new and found.wrong),
        "may_import_all": bool(found.new) and not found.wrong,
        "nothing_new": not found.new and not found.wrong,
    }


@require_POST
def put_aside(request: HttpRequest, upload: str) -> HttpResponse:
    """Forget a sent file without importing it."""
    pages.demand(policies.may_record_runs(request.user))
    sent = RunUpload.objects.filter(token=upload, by=request.user).first()
    if sent is None:
        return _gone(request)
    imports.upload_discard(upload=sent, by=request.user)
    messages.info(request, f"{sent.file_name} was put aside; nothing was recorded.")
    return redirect("shop-runs")


@require_GET
def empty_table(request: HttpRequest) -> HttpResponse:
    """The headings with one example row."""
    pages.demand(policies.may_record_runs(request.user))
    response = HttpResponse("\ufeff" + template(), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="runs.csv"'
    return response
