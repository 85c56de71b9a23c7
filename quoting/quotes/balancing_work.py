"""Working at a plan: claim it, balance it, and save how far it is and the best so far every second."""

import secrets
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from time import monotonic
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.db.models import F, Q
from django.db.models.functions import Now

from machines import moves as pure_moves
from machines.balance import Progress, balanced, greedy_plan
from machines.balance_greedy import Placed
from machines.balance_plan import Plan
from machines.blame import Blame, blamed
from machines.models import Booking
from machines.movable import Problem, ProblemError, kept_at
from machines.staying import Staying, staying
from quoting.planning.plan_models import (
    DONE,
    FAILED,
    GOING,
    IMPOSSIBLE,
    RUNNING,
    WAITING,
    WEEKS_ALONE,
    PlanMove,
    PlanRun,
)
from quoting.planning.shop import WEEK, Shop, asked, shop_of, stretch
from quoting.quotes import selectors
from quoting.quotes.balancing_time import SECONDS, PlanTime
from quoting.quotes.trying_again import tried_again
from quoting.quotes.workers import living

GAP = 0.01  # of a stage's value, up to which it counts as proven
SAVE_EVERY = 1.0  # s
LEASE = timedelta(minutes=3)  # within which something is saved, or the worker is taken for lost
MOST_CLAIMS = 3  # of one plan: it may be what kills its workers


def work_off(run_id: int, worker: str) -> None:
    """Balance a plan that waits, or whose worker is lost; harmless where another worker is at it or it is over."""
    run = claimed(run_id, worker)
    if run is None:
        return
    try:
        _worked(run)
    except (ProblemError, ValidationError) as refused:
        _end(run, FAILED, reason=_sentence(refused))
    except DatabaseError:
        raise
    except Exception as failed:
        _end(run, FAILED, reason=f"{type(failed).__name__}: {failed}")
        raise


@tried_again
def claimed(run_id: int, worker: str) -> PlanRun | None:
    """The plan under a new token, if it is free."""
    free = Q(state=WAITING) | Q(state=RUNNING) & (
        Q(seen_at__lt=Now() - LEASE) | ~Q(worker__in=living().values("worker"))
    )
    with transaction.atomic():
        run = PlanRun.objects.select_for_update(of=("self",)).filter(free, pk=run_id).first()
        if run is None:
            return None
        if run.claims >= MOST_CLAIMS:
            _end(run, FAILED, reason=f"begun {run.claims} times and never ended; each time its worker was lost")
            return None
        token = secrets.token_hex(16)
        PlanRun.objects.filter(pk=run.pk).update(
            state=RUNNING, token=token, worker=worker, claims=F("claims") + 1, began_at=Now(), seen_at=Now(),
            ended_at=None, best=None, bound=None, seconds=0, stage="",
        )  # fmt: skip
    return PlanRun.objects.select_related("machine", "plant").get(pk=run_id)


def _worked(run: PlanRun) -> None:
    time = PlanTime()
    there = shop_of(run, selectors.rates(run.on).freight)
    problem = asked(run, there)
    if not problem.jobs:
        _end(run, FAILED, reason="No won work is booked in these weeks, so there is nothing to balance.")
        return
    saving = _Saving(run)
    if not saving.put(
        jobs=len(problem.jobs), machines=len(problem.machines), basis=there.basis, greedy=figures(greedy_plan(problem)),
        before=figures(as_booked(problem, time.before)),
    ):  # fmt: skip
        return
    plan = balanced(problem, time.balancing, GAP, saving.told)
    if not saving.mine:
        return
    if plan is None:
        _without_plan(run, problem, time)
    elif saving.put(stage="", best=figures(plan), placed=placed_rows(plan)):
        found = pure_moves.moves(problem, plan, time.left)  # worked out before anything is locked
        _found(run, plan, found, staying(problem, plan, booked_hours(run, there)))


def booked_hours(run: PlanRun, there: Shop) -> dict[str, dict[int, float]]:
    """Hours of each job by week as booked, of the running week those that are still to come."""
    found: dict[str, dict[int, float]] = {}
    rows = Booking.objects.filter(quote__in=[job.code for job in there.problem.jobs], firm=True, week__gte=run.first)
    for quote, machine, week, hours in rows.values_list("quote", "machine__code", "week", "hours"):
        number, weeks = (week - run.first) // WEEK, found.setdefault(quote, {})
        weeks[number] = weeks.get(number, 0.0) + hours * (there.week_left[machine] if number == 0 else 1.0)
    return found


def as_booked(problem: Problem, seconds: float) -> Plan | None:
    """The plan in which all that has a place stays there, late or not; None where it does not fit."""
    return balanced(kept_at(problem, {job.code: job.current for job in problem.jobs if job.current}), seconds)


def figures(plan: Plan | None) -> dict[str, Any] | None:
    return plan and {
        "late": plan.weeks_late, "cost": str(plan.cost), "overtime": round(plan.overtime, 2),
        "premium": str(plan.premium),
    }  # fmt: skip


@dataclass
class _Saving:
    """What is saved of a plan under way; ``mine`` is False once it was cancelled or taken up by another worker."""

    run: PlanRun
    mine: bool = True
    saved: float = field(default=-SAVE_EVERY)

    def put(self, **values: Any) -> bool:
        own = PlanRun.objects.filter(pk=self.run.pk, token=self.run.token, state=RUNNING)
        self.mine = bool(own.update(seen_at=Now(), **values))
        return self.mine

    def told(self, progress: Progress) -> bool:
        if monotonic() - self.saved < SAVE_EVERY:
            return self.mine
        self.saved, best = monotonic(), progress.best
        return self.put(
            stage=progress.stage, seconds=progress.seconds, bound=progress.bound, best=figures(best),
            placed=placed_rows(best) if best else [],
        )  # fmt: skip


def placed_rows(plan: Plan) -> list[list]:
    return [[one.job, one.machine, one.week, round(one.hours, 6)] for one in plan.placed]


def plan_from(run: PlanRun) -> Plan:
    """A kept plan, as far as its moves need it: where and when each job runs."""
    placed = tuple(Placed(*one) for one in run.placed)
    places = tuple(sorted({one.job: one.machine for one in placed}.items()))
    return Plan(places, placed, tuple(map(tuple, run.late)), Decimal(run.best["cost"]), run.best["overtime"])


def _without_plan(run: PlanRun, problem: Problem, time: PlanTime) -> None:
    found = blamed(problem, time.left)
    if found.stuck or found.shortages:
        _end(run, IMPOSSIBLE, blame=plain_blame(found, run.first))
    else:
        _end(run, FAILED, reason=f"No plan was found within {SECONDS:g} s, though there may be one.")


def plain_blame(found: Blame, first: date) -> dict[str, list]:
    """What stands in the way, with Mondays in place of weeks."""
    return {
        "stuck": [{"job": one.job, "reason": one.reason, "detail": list(one.detail)} for one in found.stuck],
        "shortages": [
            {
                "machine": one.machine, "hours": round(one.hours, 1), "jobs": list(one.jobs),
                "available": round(one.available, 1),
                "from": (first + one.first * WEEK).isoformat(), "to": (first + one.last * WEEK).isoformat(),
            }
            for one in found.shortages
        ],
    }  # fmt: skip


@tried_again
@transaction.atomic
def _found(run: PlanRun, plan: Plan, moved: tuple[pure_moves.Move, ...], stays: tuple[Staying, ...]) -> None:
    """Close the plan and write its moves and what changes its weeks alone, all or nothing."""
    stages = [{"name": one.name, "value": one.value, "bound": one.bound, "gap": one.gap} for one in plan.stages]
    if not _end(run, DONE, stages=stages, placed=placed_rows(plan), late=list(plan.late), best=figures(plan)):
        return
    rows = [*map(_move_row, moved), *(_weeks_row(one, run.first) for one in stays)]
    booked: dict[str, list[date]] = {}
    quotes = [shift["job"] for row in rows for shift in row.shifts]
    for quote, week in Booking.objects.filter(quote__in=quotes, week__gte=run.first).values_list("quote", "week"):
        booked.setdefault(quote, []).append(week)
    for number, row in enumerate(rows, start=1):
        row.run, row.number = run, number
        for shift in row.shifts:
            planned = [run.first + each.week * WEEK for each in plan.placed if each.job == shift["job"]]
            shift |= {"weeks": stretch(booked.get(shift["job"], [])), "to_weeks": stretch(planned)}
        row.full_clean()
        row.save()


def _move_row(move: pure_moves.Move) -> PlanMove:
    return PlanMove(
        shifts=[{"job": one.job, "machine": one.machine, "to": one.to} for one in move.shifts],
        tool=move.tool, cost=move.cost, reason=move.reason, weeks_late_saved=move.weeks_late_saved,
        overtime_saved=move.overtime_saved, premium_saved=move.premium_saved, is_estimate=move.is_estimate,
    )  # fmt: skip


def _weeks_row(one: Staying, first: date) -> PlanMove:
    lacks = {} if one.week is None else {
        "week": (first + one.week * WEEK).isoformat(), "hours": round(one.hours, 1), "limit": round(one.limit, 1),
    }  # fmt: skip
    return PlanMove(
        shifts=[{"job": job, "machine": one.machine, "to": one.machine} for job in one.jobs], reason=WEEKS_ALONE,
        cost=Decimal(0), weeks_late_saved=one.weeks_late_saved, overtime_saved=0.0, detail=lacks,
    )  # fmt: skip


def _end(run: PlanRun, state: str, **values: Any) -> bool:
    """Close a plan, where it is still ours."""
    own = PlanRun.objects.filter(pk=run.pk, token=run.token, state__in=GOING)
    values["reason"] = values.get("reason", "")[:400]
    return bool(own.update(state=state, ended_at=Now(), version=F("version") + 1, **values))


def _sentence(refused: Exception) -> str:
    return " ".join(refused.messages) if isinstance(refused, ValidationError) else str(refused)
