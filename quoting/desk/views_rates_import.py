"""Bringing a rate table in: send the file, look at what it would change, confirm."""

from typing import Any

from crispy_forms.helper import FormHelper
from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from quoting.desk import pages, sent_files
from quoting.intake.rate_tables import DATE_FORM, TABLES
from quoting.intake.reading_result import InputErrors
from quoting.intake.table_file import LARGEST_FILE
from quoting.quotes import models, policies, records
from quoting.quotes.rates import imports
from quoting.quotes.rates.changes import CORRECTED


class RateFileForm(forms.Form):
    """Which table, which file, and from which day where the file's own days should not count."""

    table = forms.ChoiceField(label="Table", choices=[(one.name, one.label) for one in TABLES.values()])
    file = forms.FileField(
        label="File",
        help_text="CSV (UTF-8, commas or semicolons) or XLSX, at most 5 MB and 20,000 rows. Export a table to see its "
        "headings.",
    )
    effective = forms.DateField(
        label="Effective date",
        required=False,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": f"Accepted is {DATE_FORM.partition(', or')[0]}."},
        help_text="Leave it empty to take the day of each row from the column “Valid from”. A day typed here counts "
        "for every row instead.",
    )

    def __init__(self, *arguments: Any, **more: Any):
        super().__init__(*arguments, **more)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True

    def clean_file(self) -> Any:
        sent = self.cleaned_data["file"]
        if sent.size > LARGEST_FILE:
            raise forms.ValidationError(f"Got a file of {sent.size / 1e6:.1f} MB; accepted is at most 5 MB.")
        return sent


@require_http_methods(["GET", "POST"])
def upload(request: HttpRequest) -> HttpResponse:
    """Choose table and file; what is wrong with the file as a whole is told here."""
    pages.demand(policies.may_edit_rates(request.user))
    first = {"table": request.GET.get("table", "")}
    form = RateFileForm(pages.posted(request), request.FILES or None, initial=first)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            kept = imports.rates_upload(
                table=given["table"],
                file_name=given["file"].name,
                content=given["file"].read(),
                effective=given["effective"],
                by=request.user,
            )
            return redirect("rates-preview", kept.token)
        except InputErrors as errors:
            sent_files.told_wrong(form, errors)
    return render(request, "desk/rates_import.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def preview(request: HttpRequest, token: str) -> HttpResponse:
    """What the sent file would change; a post confirms exactly that."""
    pages.demand(policies.may_edit_rates(request.user))
    sent = models.RateUpload.objects.filter(token=token, by=request.user).first()
    if sent is None:
        return gone(request)
    record, why, status = sent_files.confirmed(request, imports.upload_import, sent)
    if record:
        messages.success(request, f"{record.number}: the rates are imported.")
        return redirect("rates-imported", record.number)
    return render(request, "desk/rates_preview.html", preview_context(sent, why), status=status)


def gone(request: HttpRequest) -> HttpResponse:
    messages.warning(request, "This table has been imported or put aside already. The imports are listed here.")
    return redirect("rates-imports")


def preview_context(sent: models.RateUpload, why: str) -> dict:
    found = imports.upload_preview(sent)
    days = sorted({one.valid_from for one in found.to_keep})
    figures = [(one, figure) for one in found.to_keep for figure in one.figures]
    return {
        "sent": sent,
        "table": TABLES[sent.table],
        "why": why,
        "counts": found.counts.items(),
        "fingerprint": found.fingerprint,
        "figures": figures[: sent_files.MOST_SHOWN],
        "figures_beyond": len(figures[sent_files.MOST_SHOWN :]),
        **sent_files.wrong_rows(found.wrong),
        "all_unchanged": bool(found.changes) and not found.to_keep and not found.wrong,
        "may_import_good": bool(found.to_keep and found.wrong) and not found.whole_is_wrong,
        "may_import_all": bool(found.to_keep) and not found.wrong,
        "corrects": sum(one.status == CORRECTED for one in found.to_keep),
        "days": days,
        "begun": next((day for day in days if day <= records.today()), None),
    }


@require_POST
def put_aside(request: HttpRequest, token: str) -> HttpResponse:
    """Forget a sent table without importing it."""
    pages.demand(policies.may_edit_rates(request.user))
    sent = models.RateUpload.objects.filter(token=token, by=request.user).first()
    if sent is None:
        return gone(request)
    imports.upload_discard(upload=sent, by=request.user)
    messages.info(request, f"{sent.file_name} was put aside; nothing was imported.")
    return redirect("rates")
