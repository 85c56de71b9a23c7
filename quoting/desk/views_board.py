"""The loading board: plants by weeks, opened to resources and their jobs; its table to take along."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from quoting.desk import board_files, board_rows, labels, pages
from quoting.desk.board_filters import filter_of, weeks_asked
from quoting.planning.models import Job
from quoting.planning.promises import LATE, OVERDUE, Promise, promises
from quoting.quotes import models, policies, records, selectors
from quoting.quotes.boards import seen_board

MOST_WAITING = 8
MOST_CLASHES = 50  # on a page; the table to take along has them all


@require_GET
def loading(request: HttpRequest) -> HttpResponse:
    """Plants by weeks: load with its word, hours won, quoted and available; plants open to their resources."""
    pages.demand(policies.may_see_loading(request.user))
    today = records.today()
    seen = seen_board(today, weeks_asked(request.GET), today)
    form, chosen = filter_of(request.GET, seen)
    view = board_rows.shown(seen, chosen)
    clashes, clash_count = board_rows.clash_rows(view, MOST_CLASHES)
    counts = selectors.state_counts(person=request.user)
    waiting = selectors.inquiry_list(person=request.user, state=models.ANSWERED).order_by("answered_at")
    context = {
        "form": form,
        "chosen": chosen,
        "plants": board_rows.plant_rows(view),
        "weeks": seen.weeks,
        "total_kind": labels.RESOURCES[view.total_kind],
        "has_plants": bool(seen.plants),
        "clashes": clashes,
        "clash_count": clash_count,
        "without_chance": seen.book.rates.winning is None,
        "states": [(code, count) for code, count in counts.items() if count],
        "waiting": waiting[:MOST_WAITING],
        "rates_address": reverse("rates") if policies.may_edit_rates(request.user) else "",
        "plants_address": reverse("admin:machines_plant_changelist") if policies.may_edit_rates(request.user) else "",
    }
    return render(request, "desk/loading.html", context, status=422 if form.errors else 200)


@require_GET
def export(request: HttpRequest, form: str) -> HttpResponse:
    """What the same filters leave of the board, all its weeks, as a file."""
    pages.demand(policies.may_see_loading(request.user))
    if form not in board_files.TYPES:
        raise Http404
    today = records.today()
    seen = seen_board(today, weeks_asked(request.GET), today)
    filled, chosen = filter_of(request.GET, seen)
    if filled.errors:
        return loading(request)
    view = board_rows.shown(seen, chosen)
    response = HttpResponse(board_files.board_file(view, form), content_type=board_files.TYPES[form])
    name = board_files.file_name(view, today, form)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "no-store"
    return response


@require_GET
def loading_week(request: HttpRequest, machine: str, week: date) -> HttpResponse:
    """The jobs behind one cell of the board: hours, chance, tool, due day, and whether it is kept."""
    pages.demand(policies.may_see_loading(request.user))
    today = records.today()
    seen = seen_board(week, 1, today)
    number = next((at for at, row in enumerate(seen.board.resources) if row.code == machine), None)
    if number is None or seen.board.monday != week:
        raise Http404
    hours = [
        float(array[number, 0])
        for array in (seen.board.available, seen.board.booked, seen.board.quoted, seen.board.weighted)
    ]
    context = {
        "machine": board_rows.named(seen, machine), "week": week, "cell": board_rows.cell(week, *hours),
        "available": hours[0], "won": hours[1], "quoted": hours[2], "weighted": hours[3],
        "jobs": job_rows([load for load in seen.loads if load.resource == machine], seen.book.open, today),
    }  # fmt: skip
    return render(request, "desk/loading_week.html", context)


def job_rows(loads: list, opened: dict, today: date) -> list[dict]:
    """The work of one cell, longest first, with what its job and its quote tell."""
    numbered = [(load, load.quote or load.label.partition(" ")[0]) for load in loads]
    quotes = list({number for _, number in numbered})
    jobs = {job.quote: job for job in Job.objects.filter(quote__in=quotes)}
    inquiries = inquiry_numbers(quotes)
    standings = {one.quote: one for one in promises(today, quote__in=quotes)} if jobs else {}
    return [
        {
            "label": load.label, "firm": load.firm, "hours": load.hours,
            "inquiry": inquiries.get(number), "job": jobs.get(number), "open": opened.get(number),
            "promise": promise_words(standings.get(number)),
            "counted": load.hours * (1.0 if load.firm or number not in opened else opened[number].chance.chance),
        }
        for load, number in sorted(numbered, key=lambda pair: (-pair[0].hours, pair[0].label))
    ]  # fmt: skip


def promise_words(one: Promise | None) -> str:
    """Whether a won job keeps its day, in words."""
    if one is None:
        return ""
    if one.standing in (LATE, OVERDUE) and one.weeks_late:
        return f"{one.standing}, by {one.weeks_late} week{'s' if one.weeks_late > 1 else ''}"
    return one.standing


def inquiry_numbers(quote_numbers: list[str]) -> dict[str, str]:
    """Inquiry number by quote number, so that a job leads to its route and costs."""
    rows = models.Quote.objects.filter(number__in=quote_numbers).order_by()
    return dict(rows.values_list("number", "inquiry__number"))
