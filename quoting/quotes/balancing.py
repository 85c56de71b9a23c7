"""What a manager does with a plan: ask, cancel, begin again, accept or refuse a move. Accepting changes the board."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from decimal import Decimal

import numpy as np
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import F

from machines import moves as pure_moves
from machines.models import Booking, Machine, Plant
from machines.staying import furthest_beyond
from quoting.planning.beside import TOOL_ROOM
from quoting.planning.models import QUOTED, WON, BenchHours, Job
from quoting.planning.plan_models import (
    ACCEPTED,
    CANCELLED,
    DONE,
    FAILED,
    MACHINE_DOWN,
    OVERTAKEN,
    PROPOSED,
    QUOTE_WON,
    REFUSED,
    TOOL_MOVES,
    WAITING,
    WEEKS_ALONE,
    PlanMove,
    PlanRun,
)
from quoting.planning.shop import WEEK, Shop, asked, changed, monday, shop_of
from quoting.quotes import policies, selectors
from quoting.quotes.background import enqueue
from quoting.quotes.balancing_tasks import balance
from quoting.quotes.balancing_work import GAP, booked_hours, plan_from
from quoting.quotes.models import Quote
from quoting.quotes.records import audit, now, today
from quoting.quotes.steps import ConflictError, StateError, save
from quoting.quotes.trying_again import tried_again

WEEKS = 26  # that a plan looks ahead
MOST_CHANGES_NAMED = 4
PROVEN = GAP  # a stage that reached what was asked for


@tried_again
@transaction.atomic
def plan_ask(
    *,
    kind: str,
    overtime: float,
    by: object,
    machine: Machine | None = None,
    down_from: date | None = None,
    down_weeks: int | None = None,
    quote: str = "",
    tool: str = "",
    plant: Plant | None = None,
    premiums: Mapping[str, Decimal] | None = None,
) -> PlanRun:
    """Keep a question and have it balanced in the background; nothing on the board changes by it.

    ``premiums`` by plant are shares of the labour rate; overtime of a plant without one costs nothing more.
    """
    policies.require(by, "move_work")
    on = today()
    run = PlanRun(kind=kind, overtime=overtime, by=by, at=now(), on=on, first=monday(on), weeks=WEEKS)
    run.premiums = {code: str(share) for code, share in (premiums or {}).items()}
    if kind == MACHINE_DOWN:
        run.machine, run.down_from, run.down_weeks = machine, down_from and monday(down_from), down_weeks
        if down_from and not run.first <= run.down_from < run.first + WEEKS * WEEK:
            raise ValidationError({"down_from": [
                f"Down from: got {down_from}; accepted is a day from {run.first} to {run.first + WEEKS * WEEK}."
            ]})  # fmt: skip
    elif kind == QUOTE_WON:
        run.quote = quote
        if not Job.objects.filter(quote=quote, state=QUOTED).exists():
            raise ValidationError({"quote": [f"Quote: got {quote!r}; accepted is an open quote with hours booked."]})
    elif kind == TOOL_MOVES:
        run.tool, run.plant = tool, plant
        if not Job.objects.filter(tool=tool, state=WON).exists():
            raise ValidationError({"tool": [f"Tool: got {tool!r}; accepted is the tool of won work."]})
    save(run)
    named = {"machine": run.machine and run.machine.code, "of_quote": run.quote, "tool": run.tool,
             "plant": run.plant and run.plant.code}  # fmt: skip
    named = {key: one for key, one in named.items() if one}
    audit("plan_ask", by=by, plan=run.pk, question=kind, overtime=overtime, premiums=run.premiums, **named)
    enqueue(balance, run.pk)
    return run


@tried_again
@transaction.atomic
def plan_cancel(*, run: PlanRun, by: object, version: str) -> None:
    """Stop balancing; the best plan so far stays to be looked at. A second call is harmless."""
    policies.require(by, "move_work")
    kept = PlanRun.objects.select_for_update(of=("self",)).get(pk=run.pk)
    if kept.state == CANCELLED:
        return
    if not kept.going:
        raise StateError(f"This plan is {kept.state}; only one that is under way can be cancelled.")
    _same_version(kept, version)
    PlanRun.objects.filter(pk=kept.pk).update(state=CANCELLED, ended_at=now(), version=F("version") + 1)
    audit("plan_cancel", by=by, plan=kept.pk)


@tried_again
@transaction.atomic
def plan_again(*, run: PlanRun, by: object, version: str) -> None:
    """Begin anew with a plan that was cancelled or failed, or that nobody is at any longer."""
    policies.require(by, "move_work")
    kept = PlanRun.objects.select_for_update(of=("self",)).get(pk=run.pk)
    _same_version(kept, version)
    if kept.state not in (CANCELLED, FAILED) and not kept.going:
        raise StateError(f"This plan is {kept.state}; ask the question again for a new one.")
    _same_week(kept)
    PlanRun.objects.filter(pk=kept.pk).update(
        state=WAITING, token="", worker="", claims=0, reason="", ended_at=None, version=F("version") + 1
    )
    audit("plan_again", by=by, plan=kept.pk)
    enqueue(balance, kept.pk)


@tried_again
@transaction.atomic
def move_accept(*, move: PlanMove, by: object, version: str) -> PlanMove:
    """Carry a move out: machine, tool's plant and weeks of its jobs change. Refused where the data changed since."""
    kept, run = _locked(move, by, version)
    machines = _machines_of(kept)
    _may_move(by, machines)
    freight = selectors.rates(run.on).freight
    there = shop_of(run, freight)
    if news := changed(run.basis, there.basis):
        raise ConflictError(changed_words(news))
    (_has_room if kept.reason == WEEKS_ALONE else _fits)(run, kept, there)
    for shift in kept.shifts:
        _carried_out(run, shift, kept.tool, machines, there)
    _decide(kept, ACCEPTED, by)
    for other in PlanMove.objects.filter(state=PROPOSED).exclude(run=run):
        if set(other.jobs) & set(kept.jobs):
            PlanMove.objects.filter(pk=other.pk).update(state=OVERTAKEN)
    PlanRun.objects.filter(pk=run.pk).update(version=F("version") + 1, basis=shop_of(run, freight).basis)
    _told("plan_move_accept", kept, by)
    return kept


@tried_again
@transaction.atomic
def move_refuse(*, move: PlanMove, by: object, version: str) -> PlanMove:
    """Say no to a move; the others stay proposed, and whether they still hold is asked when one is accepted."""
    kept, run = _locked(move, by, version)
    _may_move(by, _machines_of(kept))
    _decide(kept, REFUSED, by)
    PlanRun.objects.filter(pk=run.pk).update(version=F("version") + 1)
    _told("plan_move_refuse", kept, by)
    return kept


def changed_words(news: list[str]) -> str:
    more = len(news) - MOST_CHANGES_NAMED
    named = "; ".join(news[:MOST_CHANGES_NAMED]) + (f"; and {more} more" if more > 0 else "")
    return f"The data behind this plan have changed: {named}. Nothing was moved; ask the question again."


def _locked(move: PlanMove, by: object, version: str) -> tuple[PlanMove, PlanRun]:
    policies.require(by, "move_work")
    run = PlanRun.objects.select_for_update(of=("self",)).select_related("machine", "plant").get(pk=move.run_id)
    kept = PlanMove.objects.get(pk=move.pk)
    if run.state != DONE:
        raise StateError(f"This plan is {run.state}; only moves of one that is done are decided.")
    if kept.state != PROPOSED:
        raise StateError(f"Move {kept.number} is {kept.state} already{_by_whom(kept)}; nothing was done.")
    _same_version(run, version)
    _same_week(run)
    return kept, run


def _by_whom(move: PlanMove) -> str:
    return f" by {move.by.get_full_name() or move.by.get_username()} at {move.at:%H:%M}" if move.by else ""


def _same_version(run: PlanRun, version: str) -> None:
    if version == str(run.version):
        return
    last = run.moves.exclude(at=None).order_by("-at").select_related("by").first()
    told = f"; last, move {last.number} was {last.state}{_by_whom(last)}" if last else ""
    raise ConflictError(f"This plan was changed while the page was open{told}. Look at it as it is now.")


def _same_week(run: PlanRun) -> None:
    if monday(today()) != run.first:
        raise StateError(f"This plan begins with the week of {run.first}, which is over; ask the question again.")


def _machines_of(move: PlanMove) -> dict[str, Machine]:
    """Its machines, locked by code until the commit, so that nobody lays other work into the same hours."""
    codes = {code for one in move.shifts for code in (one["machine"], one["to"])}
    rows = Machine.objects.select_for_update(of=("self",)).select_related("plant").order_by("code")
    return {one.code: one for one in rows.filter(code__in=codes)}


def _may_move(by: object, machines: dict[str, Machine]) -> None:
    if not policies.may_move_work(by, *{one.plant for one in machines.values()}):
        raise PermissionDenied("Only a manager of both plants may decide this move.")


def _fits(run: PlanRun, move: PlanMove, there: Shop) -> None:
    """This move on top of those that were accepted leaves a plan for everything else."""
    shifts = tuple(pure_moves.Shift(one["job"], one["machine"], one["to"]) for one in move.shifts)
    made = pure_moves.Move(shifts, move.tool, move.cost, move.reason)
    if pure_moves.with_moves(asked(run, there), plan_from(run), (made,)) is None:
        raise StateError(
            f"Move {move.number} alone leaves no plan in {run.weeks} weeks: it needs another move of this plan first. "
            "Accept those before it that have no other way or no room."
        )


def _has_room(run: PlanRun, move: PlanMove, there: Shop) -> None:
    """The plan's weeks of work that stays have room beside all that is booked on its machine as it stands now."""
    machine, jobs, problem = move.shifts[0]["to"], set(move.jobs), asked(run, there)
    load = np.zeros(problem.weeks)
    others = [job.code for job in problem.jobs if job.current == machine and job.code not in jobs]
    booked = booked_hours(run, there)
    for job in others:
        for week, hours in booked.get(job, {}).items():
            load[week] += hours if week < problem.weeks else 0.0
    for job, _, week, hours in run.placed:
        load[week] += hours if job in jobs else 0.0
    if beyond := furthest_beyond(problem, machine, load):
        week, hours, limit = beyond
        here = ", ".join(job for job in sorted(others) if booked.get(job, {}).get(week))
        raise StateError(
            f"{machine} would have {hours:.1f} h of {limit:.1f} h in the week of {run.first + week * WEEK:%d %b %Y}, "
            f"overtime allowed included, with {here} still there. Decide the moves that take work away from {machine} "
            "first, or ask the question again."
        )


def _carried_out(run: PlanRun, shift: dict, tool: str, machines: dict[str, Machine], there: Shop) -> None:
    job, to = Job.objects.select_for_update(of=("self",)).get(quote=shift["job"]), machines[shift["to"]]
    if job.machine.code not in {one["machine"] for one in job.options}:
        job.options = [*job.options, {"machine": job.machine.code, "hours": job.hours, "cost": "0"}]
    job.hours = next(one["hours"] for one in job.options if one["machine"] == to.code)
    job.machine = to
    if tool:
        job.tool_plant = to.plant
    save(job)
    hours = {run.first + one[2] * WEEK: one[3] for one in run.placed if one[0] == job.quote}
    _book(run, job, hours, there.week_left)
    _bench(run, job, hours)


def _book(run: PlanRun, job: Job, hours: dict[date, float], week_left: dict[str, float]) -> None:
    """The hours to come go to the new machine; what the running week has seen already stays where it was."""
    old = list(Booking.objects.filter(quote=job.quote, week__gte=run.first).select_related("machine"))
    label = old[0].label if old else str(job)[:120]
    for one in old:
        worked = one.hours * (1 - week_left[one.machine.code]) if one.week == run.first else 0.0
        one.delete()
        if worked > 0:
            save(Booking(machine=one.machine, week=one.week, hours=worked, firm=True, label=label, quote=job.quote))
    for week, taken in sorted(hours.items()):
        save(Booking(machine=job.machine, week=week, hours=taken, firm=True, label=label, quote=job.quote))


def _bench(run: PlanRun, job: Job, hours: dict[date, float]) -> None:
    """Hours beside the former follow its weeks, in proportion; where they are worked stays as it was quoted.

    Those of the tool room stay, since the tool is made for the job wherever and whenever that runs.
    """
    to_come, whole = defaultdict(float), sum(hours.values())
    rows = BenchHours.objects.filter(job=job, week__gte=run.first).exclude(kind=TOOL_ROOM)
    for one in rows:
        to_come[one.plant_id, one.kind, one.code] += one.hours
    rows.delete()
    for (plant, kind, code), total in sorted(to_come.items()):
        for week, taken in sorted(hours.items()):
            save(BenchHours(job=job, plant_id=plant, kind=kind, code=code, week=week, hours=total * taken / whole))


def _decide(move: PlanMove, state: str, by: object) -> None:
    move.state, move.by, move.at = state, by, now()
    save(move)


def _told(action: str, move: PlanMove, by: object) -> None:
    for shift in move.shifts:
        quote = Quote.objects.filter(number=shift["job"]).select_related("inquiry").only("inquiry").first()
        audit(
            action, by=by, inquiry=quote.inquiry if quote else None, quote=quote, plan=move.run_id, move=move.number,
            job=shift["job"], machine=shift["machine"], to=shift["to"], tool=move.tool,
        )  # fmt: skip
