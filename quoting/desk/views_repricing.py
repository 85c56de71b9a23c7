"""Screens of re-pricing: runs over the open book, how far they are, and what they found."""

from collections.abc import Iterator
from decimal import Decimal

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quoting.desk import pages
from quoting.desk.csv_text import csv_text
from quoting.desk.forms import RepricingForm
from quoting.quotes import models, policies, records, repricing
from quoting.quotes import repricing_selectors as selectors

ROWS_ON_A_PAGE = 50
FILTERS = (
    ("", "all quotes"),
    (selectors.CROSSES, "cross the margin floor"),
    (selectors.BELOW, "are below the floor"),
    (selectors.MOVES, "move"),
    (selectors.ROUTE, "change machine, process or sheet"),
    (selectors.UNPRICED, "can't be priced"),
)
COLUMNS = (
    "inquiry", "state", "quote", "company", "part", "release", "quoted landed $", "landed now $", "moved $", "moved %",
    "margin quoted %", "margin left %", "crosses floor", "quoted route", "route now", "why not priced",
)  # fmt: skip


@require_GET
def runs(request: HttpRequest) -> HttpResponse:
    """All runs, newest first."""
    pages.demand(policies.may_see_repricing(request.user))
    page = Paginator(selectors.run_list(person=request.user), ROWS_ON_A_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "open_quotes": selectors.open_quotes(), "may_start": policies.may_reprice(request.user)}
    return render(request, "desk/repricing_list.html", context)


@require_http_methods(["GET", "POST"])
def start(request: HttpRequest) -> HttpResponse:
    """Choose the day whose rates hold, see how many quotes are open, and begin."""
    pages.demand(policies.may_reprice(request.user))
    asked = request.GET.get("on") or records.today().isoformat()
    form = RepricingForm(pages.posted(request), initial={"on": asked})
    if request.method == "POST" and form.is_valid():
        try:
            run = repricing.run_start(on=form.cleaned_data["on"], by=request.user)
            return redirect("repricing-run", run.pk)
        except ValidationError as refused:
            form.add_error(None, list(refused.messages))
    context = {"form": form, "open_quotes": selectors.open_quotes(), "days": selectors.rate_days()}
    return render(request, "desk/repricing_start.html", context)


def run_of(request: HttpRequest, run: int) -> models.RepricingRun:
    pages.demand(policies.may_see_repricing(request.user))
    try:
        return selectors.run_get(person=request.user, run=run)
    except models.RepricingRun.DoesNotExist:
        raise Http404 from None


@require_GET
def run(request: HttpRequest, run: int) -> HttpResponse:
    """How far a run is, and what it has found so far."""
    found, chosen = run_of(request, run), request.GET.get("show", "")
    page = Paginator(selectors.results_of(found, chosen), ROWS_ON_A_PAGE).get_page(request.GET.get("page"))
    totals = selectors.totals_of(found)
    context = {
        "run": found,
        "seconds": (found.ended_at - found.began_at).total_seconds() if found.ended_at and found.began_at else None,
        "nobody": selectors.nobody_at(found),
        "may_reprice": policies.may_reprice(request.user),
        "may_open": policies.may_see_cost(request.user),
        "totals": totals,
        "chosen": chosen,
        "filters": [(code, label, totals[code or "priced"]) for code, label in FILTERS],
        "page": page,
        "rows": [row(one) for one in page],
    }
    return render(request, "desk/repricing_run.html", context)


def row(result: models.RepricingResult) -> dict:
    """One quote: prices at its largest release, route before and now."""
    quoted, now = result.quoted, result.now
    return {
        "result": result,
        "inquiry": result.inquiry,
        "release": quoted["releases"][-1]["quantity"],
        "was": Decimal(quoted["releases"][-1]["landed"]),
        "is": Decimal(now["releases"][-1]["landed"]) if now else None,
        "releases": list(zip(quoted["releases"], now["releases"], strict=True)) if now else [],
        "route_was": quoted["route"],
        "route_is": now["route"] if now else None,
    }


@require_POST
def cancel(request: HttpRequest, run: int) -> HttpResponse:
    return _deed(request, run, repricing.run_cancel, "The run is cancelled; what was priced so far stays.")


@require_POST
def resume(request: HttpRequest, run: int) -> HttpResponse:
    return _deed(request, run, repricing.run_resume, "The run goes on where it left off.")


def _deed(request: HttpRequest, run: int, deed: object, said: str) -> HttpResponse:
    found = run_of(request, run)
    pages.demand(policies.may_reprice(request.user))
    try:
        deed(run=found, by=request.user)
        messages.success(request, said)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    return redirect("repricing-run", run)


@require_GET
def export(request: HttpRequest, run: int) -> HttpResponse:
    """What a run found as CSV, every release a line."""
    found = run_of(request, run)
    results = selectors.results_of(found, request.GET.get("show", ""))
    response = HttpResponse(csv_text([COLUMNS, *_lines(results)]), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="repricing-{found.pk}-rates-of-{found.on}.csv"'
    return response


def _lines(results: object) -> Iterator[tuple]:
    for one in results.iterator(chunk_size=500):
        inquiry, now = one.inquiry, one.now
        company = inquiry.customer.company if inquiry.customer else ""
        head = (inquiry.number, one.state, one.quote, company, inquiry.part_name)
        routes = route_text(one.quoted["route"]), route_text(now["route"]) if now else ""
        floor = (_percent(one.margin_before), _percent(one.margin_left), "yes" if one.crosses_floor else "no")
        after = now["releases"] if now else [None] * len(one.quoted["releases"])
        for was, each in zip(one.quoted["releases"], after, strict=True):
            old, new = Decimal(was["landed"]), Decimal(each["landed"]) if each else None
            moved = (None, None) if new is None else (new - old, _percent((new - old) / old))
            yield (*head, was["quantity"], old, new, *moved, *floor, *routes, one.why)


def _percent(share: Decimal | None) -> Decimal | None:
    return None if share is None else (100 * share).quantize(Decimal("0.01"))


def route_text(route: dict) -> str:
    return ", ".join(
        (route["process"].replace("_", "-"), route["plant"], route["machine"], route["polymer"], route["offer"])
    )
