"""Recorded runs: entered by form, seen beside their estimates, corrected, and their accuracy over time."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quoting.desk import pages, run_rows
from quoting.desk.forms_runs import CorrectionForm, RunForm, typed_of
from quoting.planning.models import RunRecord
from quoting.quotes import policies, records
from quoting.quotes.runs import accuracy, recording
from quoting.quotes.runs.files import accuracy_csv
from quoting.quotes.runs.reading import MOST_NOTE
from quoting.quotes.steps import ConflictError

ROWS_ON_A_PAGE = 50
LONGEST_FILTER = 80


@require_GET
def runs(request: HttpRequest) -> HttpResponse:
    """Every run in force, the one that ended last first."""
    pages.demand(policies.may_see_runs(request.user))
    words = pages.wanted(request, "job", LONGEST_FILTER)
    found = recording.in_force().select_related("job", "machine")
    if words:
        found = found.filter(job__quote__icontains=words)
    page = Paginator(found, ROWS_ON_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "job": words,
        "rows": [(one, {each["label"]: each for each in run_rows.side_by_side(one)}) for one in page],
        "may_record": policies.may_record_runs(request.user),
    }
    return render(request, "desk/shop_runs.html", context)


@require_GET
def run(request: HttpRequest, record: int) -> HttpResponse:
    """One run, estimate and actual side by side, and what it was before corrections."""
    pages.demand(policies.may_see_runs(request.user))
    return _run_page(request, run_of(record))


def _run_page(request: HttpRequest, found: RunRecord, wrong: str = "", status: int = 200) -> HttpResponse:
    newer = RunRecord.objects.filter(replaces=found).first()
    older, at = [], found.replaces
    while at is not None:
        older.append(run_rows.shown(at))
        at = at.replaces
    context = {
        "shown": run_rows.shown(found),
        "run": found,
        "newer": newer,
        "older": older,
        "may_correct": policies.may_record_runs(request.user) and newer is None and not found.withdrawn,
        "wrong": wrong,
        "reason": request.POST.get("reason", ""),
    }
    return render(request, "desk/shop_run.html", context, status=status)


@require_POST
def withdraw(request: HttpRequest, record: int) -> HttpResponse:
    """Record that there was no such run."""
    pages.demand(policies.may_record_runs(request.user))
    found, reason = run_of(record), request.POST.get("reason", "")
    try:
        pages.demand_reason(reason, MOST_NOTE)
        kept = recording.run_withdraw(record=found, reason=reason, by=request.user)
    except ValidationError as refused:
        return _run_page(request, found, " ".join(refused.messages), 409 if isinstance(refused, ConflictError) else 422)
    messages.success(request, "The run is withdrawn and counts nowhere; what was recorded is kept below.")
    return redirect("shop-run", kept.pk)


def run_of(record: int) -> RunRecord:
    return get_object_or_404(RunRecord.objects.select_related("job", "machine", "by", "record"), pk=record)


@require_http_methods(["GET", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    """Record one run."""
    pages.demand(policies.may_record_runs(request.user))
    first = {name: pages.wanted(request, name, LONGEST_FILTER) for name in ("job", "machine")}
    form = RunForm(pages.posted(request), initial=first)
    if request.method == "POST" and form.is_valid():
        try:
            kept = recording.run_record(told=form.told, by=request.user)
        except ValidationError as refused:
            form.add_error(None, refused.messages)
        else:
            messages.success(request, f"The run of {kept.job.quote} is recorded.")
            return redirect("shop-run", kept.pk)
    return _form_page(request, form, "Record a run", "Record the run")


@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, record: int) -> HttpResponse:
    """Record another run in the place of one."""
    pages.demand(policies.may_record_runs(request.user))
    found = run_of(record)
    form = CorrectionForm(pages.posted(request), initial=typed_of(found), fixed_job=found.job.quote)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            kept = recording.run_correct(
                record=found, told=form.told, reason=form.cleaned_data["reason"], by=request.user
            )
        except ValidationError as refused:
            form.add_error(None, refused.messages)
            status = 409 if isinstance(refused, ConflictError) else 422
        else:
            messages.success(request, "Corrected; the record before it is kept below.")
            return redirect("shop-run", kept.pk)
    heading = f"Correct the run of {found.job.quote}"
    return _form_page(request, form, heading, "Keep the correction", found, status)


def _form_page(
    request: HttpRequest, form: RunForm, heading: str, button: str, corrected: RunRecord | None = None, status: int = 0
) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "button": button,
        "corrected": corrected,
        "jobs": sorted(form.house.jobs)[:500],
        "machines": sorted(form.house.machines),
    }
    return render(request, "desk/shop_run_form.html", context, status=status or (422 if form.errors else 200))


@require_GET
def accuracy_page(request: HttpRequest) -> HttpResponse:
    """Actual over estimated by month and measure."""
    pages.demand(policies.may_see_runs(request.user))
    wanted = _wanted(request)
    found = accuracy.runs_by(**wanted)
    measures = run_rows.accuracy_shown(accuracy.accuracy(found.iterator(chunk_size=2000)))
    context = {
        "wanted": wanted,
        "filters": [(name, options, wanted[name]) for name, options in accuracy.choices().items()],
        "measures": measures,
        "gains": [one for one in measures if one["gain"]],
        "moved": accuracy.moved(found).count(),
        "unkept": found.exclude(estimated={}).exclude(estimated__has_key="quoted").count(),
        "runs": found.count(),
        "without": found.filter(estimated={}).count(),
    }
    return render(request, "desk/shop_runs_accuracy.html", context)


@require_GET
def accuracy_export(request: HttpRequest) -> HttpResponse:
    """The runs behind the page as CSV, each with its estimates."""
    pages.demand(policies.may_see_runs(request.user))
    text = accuracy_csv(accuracy.runs_by(**_wanted(request)).iterator(chunk_size=2000))
    response = HttpResponse(text, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="recorded-runs-{records.today()}.csv"'
    return response


def _wanted(request: HttpRequest) -> dict[str, str]:
    return {name: pages.wanted(request, name, LONGEST_FILTER) for name in accuracy.FILTERS}
