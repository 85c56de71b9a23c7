"""Screens of what-if and balancing: ask, follow, compare, and decide the moves one by one."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from functools import wraps
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from machines import selectors as machine_selectors
from quoting.desk import pages, plan_words
from quoting.desk.forms_balance import PlanForm, initial
from quoting.desk.templatetags.desk import day
from quoting.planning.beside_moves import Overload, overloads
from quoting.planning.models import Job, PlanMove, PlanRun
from quoting.planning.plan_models import CANCELLED, DONE, FAILED, MACHINE_DOWN, PROPOSED, WEEKS_ALONE
from quoting.planning.shop import changed, monday, shop_of
from quoting.quotes import balancing, down_time, policies, records, selectors
from quoting.quotes.workers import DEAD_AFTER, living

ROWS_ON_A_PAGE = 50
LATE_SHOWN = 30


@require_GET
def plans(request: HttpRequest) -> HttpResponse:
    """All plans, newest first."""
    pages.demand(policies.may_see_loading(request.user))
    runs = PlanRun.objects.select_related("by", "machine", "plant").defer("placed", "basis", "late")
    runs = runs.annotate(all_moves=Count("moves"), open_moves=Count("moves", filter=Q(moves__state=PROPOSED))).order_by(
        "-at", "-pk"
    )
    page = Paginator(runs, ROWS_ON_A_PAGE).get_page(request.GET.get("page"))
    rows = [
        {
            "run": one, "question": plan_words.question(one), "state": plan_words.STATES[one.state],
        }
        for one in page
    ]  # fmt: skip
    context = {"page": page, "rows": rows, "may_ask": policies.permitted(request.user, "move_work")}
    return render(request, "desk/balance_list.html", context)


@require_http_methods(["GET", "POST"])
def ask(request: HttpRequest) -> HttpResponse:
    """Put a question; the board stays as it is until a move is accepted."""
    pages.demand(policies.permitted(request.user, "move_work"))
    today = records.today()
    rates = selectors.planning_rates(today)
    form = PlanForm(
        pages.posted(request), rates=rates, plants=machine_selectors.plants(today),
        initial=initial(today, request.GET, rates.overtime_hours),
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        try:
            run = balancing.plan_ask(by=request.user, **form.asked())
            return redirect("plan", run.pk)
        except ValidationError as refused:
            form.add_error(None, list(refused.messages))
    return render(request, "desk/balance_ask.html", {"form": form, "weeks": balancing.WEEKS})


@require_GET
def plan(request: HttpRequest, plan: int) -> HttpResponse:
    """How far a plan is, what it would change, and its moves."""
    run = run_of(request, plan)
    moves = list(run.moves.select_related("by"))
    open_moves = any(one.state == PROPOSED for one in moves)
    news = _news(run) if run.state == DONE and open_moves else ""
    may = policies.permitted(request.user, "move_work")
    stages = [_stage(one) for one in run.stages]
    beside = overloads(run, [one for one in moves if one.state == PROPOSED]) if open_moves and not news else {}
    rows = [_row(one, may and not news, beside.get(one.number, ())) for one in _with_parts(moves)]
    context = {
        "run": run, "question": plan_words.question(run), "state": plan_words.STATES[run.state],
        "stage": plan_words.STAGES.get(run.stage, ""), "unit": plan_words.UNITS.get(run.stage, ""),
        "took": (run.ended_at - run.began_at).total_seconds() if run.ended_at and run.began_at else None,
        # One that was started just now needs a moment for its first sign of life.
        "nobody": run.going and timezone.now() - run.at > DEAD_AFTER and not living().exists(),
        "may": may, "news": news,
        "may_again": may and (run.state in (CANCELLED, FAILED) or run.going),
        "stages": stages, "moves": [one for one in rows if one["move"].reason != WEEKS_ALONE],
        "weeks_alone": [one for one in rows if one["move"].reason == WEEKS_ALONE],
        "figures": _figures(run), "late": run.late[:LATE_SHOWN], "late_more": max(0, len(run.late) - LATE_SHOWN),
        "stuck": [plan_words.stuck(one) for one in (run.blame or {}).get("stuck", [])],
        "shortages": [plan_words.shortage(one) for one in (run.blame or {}).get("shortages", [])],
        "where": _where(run), "premiums": _premiums(run), "down": _down(request, run),
    }  # fmt: skip
    return render(request, "desk/balance.html", context)


def _premiums(run: PlanRun) -> list[tuple[str, Decimal]]:
    return [(plant, Decimal(share)) for plant, share in sorted(run.premiums.items())]


def _down(request: HttpRequest, run: PlanRun) -> dict | None:
    """Down time that can be written as maintenance, on the clock of the plant; and what has become of it."""
    if run.kind != MACHINE_DOWN:
        return None
    zone = ZoneInfo(run.machine.plant.time_zone)
    left = () if run.window_at or run.going else down_time.to_write(run)
    stretches = [(_on_the_clock(start, zone), _on_the_clock(end, zone)) for start, end in left]
    return {
        "stretches": stretches, "zone": zone, "over": down_time.is_over(run),
        "may": bool(left) and policies.may_move_work(request.user, run.machine.plant),
    }  # fmt: skip


def _on_the_clock(moment: datetime, zone: ZoneInfo) -> str:
    there = moment.astimezone(zone)
    return f"{day(there)}, {there:%H:%M}"


def run_of(request: HttpRequest, plan: int) -> PlanRun:
    pages.demand(policies.may_see_loading(request.user))
    return get_object_or_404(PlanRun.objects.select_related("by", "machine__plant", "plant", "window_by"), pk=plan)


def _news(run: PlanRun) -> str:
    """Why no move of this plan can be accepted any longer; empty where they can."""
    if monday(records.today()) != run.first:
        return f"This plan begins with the week of {day(run.first)}, which is over; ask the question again."
    found = changed(run.basis, shop_of(run, selectors.rates(run.on).freight).basis)
    return balancing.changed_words(found) if found else ""


def _figures(run: PlanRun) -> list[dict]:
    """Everything staying where it is, the greedy assignment, and the plan, side by side."""
    known = bool(run.jobs)  # these two are worked out before balancing begins
    rows = (
        ("As booked, nothing moved", run.before, "does not fit in these weeks" if known else "not worked out yet"),
        ("Job by job, each where it fits best", run.greedy, "finds no plan" if known else "not worked out yet"),
        ("This plan" if run.state == DONE else "Best plan so far", run.best, "none" if run.ended_at else "none yet"),
    )
    return [{"label": label, "is": one, "none": none} for label, one, none in rows]


def _stage(one: dict) -> dict:
    proven = one["gap"] <= balancing.PROVEN
    return one | {"label": plan_words.STAGES[one["name"]], "unit": plan_words.UNITS[one["name"]], "proven": proven}


def _with_parts(moves: list[PlanMove]) -> list[PlanMove]:
    quotes = {job for one in moves for job in one.jobs}
    parts = dict(Job.objects.filter(quote__in=quotes).values_list("quote", "part"))
    for one in moves:
        one.named = [
            shift | {
                "part": parts.get(shift["job"], ""), "was": plan_words.weeks(shift["weeks"]),
                "is": plan_words.weeks(shift["to_weeks"]),
            }
            for shift in one.shifts
        ]  # fmt: skip
    return moves


def _row(move: PlanMove, may: bool, beside: tuple[Overload, ...]) -> dict:
    return {
        "move": move, "why": plan_words.reason(move), "may": may and move.state == PROPOSED,
        "beside": plan_words.overloads(beside),
    }  # fmt: skip


def _where(run: PlanRun) -> str:
    """Where the work of a quote that is taken as won would run."""
    found = sorted({(one[1], one[2]) for one in run.placed if run.quote and one[0] == run.quote})
    if not found:
        return ""
    days = [(run.first + week * balancing.WEEK).isoformat() for _, week in found]
    return f"{run.quote} would run on {found[0][0]}, {plan_words.weeks([days[0], days[-1]])}."


def told(view: Callable[..., str]) -> Callable[..., HttpResponse]:
    """A deed on a plan: what was done, or why not, is said on its page."""

    @require_POST
    @wraps(view)
    def guarded(request: HttpRequest, plan: int, **more: int) -> HttpResponse:
        run = run_of(request, plan)
        pages.demand(policies.permitted(request.user, "move_work"))
        try:
            messages.success(request, view(request, run, **more))
        except ValidationError as refused:
            messages.error(request, " ".join(refused.messages))
        return redirect("plan", plan)

    return guarded


@told
def down(request: HttpRequest, run: PlanRun) -> str:
    written = down_time.plan_down_write(run=run, **_given(request))
    return f"The down time is maintenance of {written.machine.code} now: answers and the board count without it."


def _given(request: HttpRequest) -> dict:
    return {"by": request.user, "version": pages.told_version(request)}


@told
def cancel(request: HttpRequest, run: PlanRun) -> str:
    balancing.plan_cancel(run=run, **_given(request))
    run.refresh_from_db(fields=["best"])
    if run.best is None:
        return "Balancing is cancelled, before a plan was found."
    return "Balancing is cancelled; the best plan so far is shown, but its moves can't be accepted."


@told
def again(request: HttpRequest, run: PlanRun) -> str:
    balancing.plan_again(run=run, **_given(request))
    return "Balancing begins anew."


@told
def accept(request: HttpRequest, run: PlanRun, move: int) -> str:
    found = balancing.move_accept(move=_move(run, move), **_given(request))
    are = "are" if len(found.jobs) > 1 else "is"
    if found.reason == WEEKS_ALONE:
        return f"Line {found.number} is made: {', '.join(found.jobs)} {are} booked in the weeks of the plan."
    return f"Move {found.number} is made: {', '.join(found.jobs)} {are} booked anew."


@told
def refuse(request: HttpRequest, run: PlanRun, move: int) -> str:
    return f"Move {balancing.move_refuse(move=_move(run, move), **_given(request)).number} is refused."


def _move(run: PlanRun, number: int) -> PlanMove:
    found = run.moves.filter(number=number).first()
    if found is None:
        raise Http404
    return found
