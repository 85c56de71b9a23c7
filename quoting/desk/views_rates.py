"""Rates by date: what is in force on a day, how a rate came about, files to take away, and every import on record."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from quoting.desk import pages
from quoting.intake.rate_tables import RESIN, TABLES
from quoting.quotes import models, policies, records
from quoting.quotes.rates.books import Standing, standing
from quoting.quotes.rates.files import TYPES, rates_file
from quoting.quotes.rates.history import rate_changes, rate_history
from quoting.quotes.rates.imports import person_name

MOST_IMPORTS = 200


def day_of(request: HttpRequest) -> tuple[date, str]:
    """The day asked for, or today with what was wrong about it."""
    given = request.GET.get("on", "").strip()
    try:
        return (date.fromisoformat(given) if given else records.today()), ""
    except ValueError:
        return records.today(), f"Day: got {given[:40]}; accepted is a date as YYYY-MM-DD, such as 2026-12-01."


def table_named(name: str) -> str:
    if name not in TABLES:
        raise Http404
    return name


@require_GET
def rates(request: HttpRequest) -> HttpResponse:
    """One table as it is in force on a day, narrowed by words."""
    pages.demand(policies.may_see_rates(request.user))
    table = table_named(request.GET.get("table", RESIN))
    on, wrong = day_of(request)
    words = request.GET.get("find", "").strip()[:80]
    found = standing(table, on)
    shown = [one for one in found if matches(one, words)]
    context = {
        "tables": TABLES.values(),
        "table": TABLES[table],
        "on": on,
        "wrong": wrong,
        "find": words,
        "total": len(found),
        "rows": shown,
        "may_edit": policies.may_edit_rates(request.user),
    }
    return render(request, "desk/rates.html", context, status=422 if wrong else 200)


def matches(one: Standing, words: str) -> bool:
    text = f"{one.subject} {one.kept.source}".casefold()
    return all(word in text for word in words.casefold().split())


@require_GET
def history(request: HttpRequest) -> HttpResponse:
    """One rate by date: value, from, source, and who brought it in when."""
    pages.demand(policies.may_see_rates(request.user))
    table, subject = table_named(request.GET.get("table", "")), request.GET.get("of", "")
    rows = rate_history(table, subject)
    if not rows:
        raise Http404
    context = {
        "table": TABLES[table],
        "subject": subject,
        "rows": [{"kept": one.kept, "record": one.record, "who": who(one.record)} for one in rows],
        "changes": [(one, who(one.record)) for one in rate_changes(table, subject)],
        "today": records.today(),
    }
    return render(request, "desk/rates_history.html", context)


def who(record: models.RateImport | None) -> str:
    return person_name(record.by) if record else ""


@require_GET
def export(request: HttpRequest, table: str, form: str) -> HttpResponse:
    """The table in force on a day as CSV or XLSX, in the form that an import takes back."""
    pages.demand(policies.may_see_rates(request.user))
    table_named(table)
    on, wrong = day_of(request)
    if form not in TYPES or wrong:
        raise Http404
    response = HttpResponse(rates_file(table, on, form), content_type=TYPES[form])
    response["Content-Disposition"] = f'attachment; filename="rates-{table}-{on.isoformat()}.{form}"'
    response["Cache-Control"] = "no-store"
    return response


@require_GET
def imports(request: HttpRequest) -> HttpResponse:
    """Every import, the newest first."""
    pages.demand(policies.may_see_rates(request.user))
    found = models.RateImport.objects.select_related("by")[:MOST_IMPORTS]
    context = {
        "imports": [(one, TABLES[one.table].label, who(one)) for one in found],
        "most": MOST_IMPORTS,
        "may_edit": policies.may_edit_rates(request.user),
    }
    return render(request, "desk/rates_imports.html", context)


@require_GET
def imported(request: HttpRequest, number: str) -> HttpResponse:
    """One import: file, person, time, day, counts, and every figure before and after."""
    pages.demand(policies.may_see_rates(request.user))
    record = get_object_or_404(models.RateImport.objects.select_related("by"), number=number)
    context = {
        "record": record,
        "table": TABLES[record.table],
        "who": who(record),
        "counts": record.counts.items(),
        "changes": record.changes.all(),
        "may_edit": policies.may_edit_rates(request.user),
    }
    return render(request, "desk/rates_imported.html", context)
