"""A machine that a plan takes as down, written as its maintenance: then answers, board and later plans see it."""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import F, Q

from machines import selectors as machines
from machines.down_time import DAY, Stretch, days_down, uncovered
from machines.models import Machine, Plant, TimeWindow
from machines.weeks import WEEK
from quoting.planning.plan_models import DONE, MACHINE_DOWN, PlanRun
from quoting.planning.shop import shop_of
from quoting.quotes import policies, selectors
from quoting.quotes.records import audit, now, today
from quoting.quotes.steps import ConflictError, StateError, save
from quoting.quotes.trying_again import tried_again

MAINTENANCE = "maintenance"


def to_write(run: PlanRun) -> tuple[Stretch, ...]:
    """What of the down time is no maintenance of the machine or its plant yet; of a week only from the plan's day on.

    A shift counts to the day on which it starts, as it does on the board and in the plan.
    """
    plant = Plant.objects.prefetch_related(*machines.CALENDAR_ROWS).get(pk=run.machine.plant_id)
    first = max(run.down_from, run.on)
    whole = days_down(plant.to_calendar(), first, (run.down_from + run.down_weeks * WEEK - first) // DAY)
    known = TimeWindow.objects.filter(
        Q(machine=run.machine) | Q(machine=None, trimmer=None), plant=plant, kind=MAINTENANCE,
        start__lt=whole[1], end__gt=whole[0],
    )  # fmt: skip
    return uncovered(whole, known.values_list("start", "end"))


def is_over(run: PlanRun) -> bool:
    return run.down_from + run.down_weeks * WEEK <= today()


@tried_again
@transaction.atomic
def plan_down_write(*, run: PlanRun, by: object, version: str) -> PlanRun:
    """Enter the down time of a plan as maintenance of its machine. A second call is harmless.

    The plan already counts without these hours, so its moves can still be accepted where nothing else has changed.
    """
    policies.require(by, "move_work")
    kept = PlanRun.objects.select_for_update(of=("self",)).get(pk=run.pk)
    if kept.kind != MACHINE_DOWN:
        raise StateError("This plan takes no machine as down, so there is nothing to write.")
    machine = Machine.objects.select_for_update(of=("self",)).select_related("plant").get(pk=kept.machine_id)
    if not policies.may_move_work(by, machine.plant):
        raise PermissionDenied("Only a manager of its plant may enter maintenance of this machine.")
    if kept.window_at:
        return kept
    _may_be_written(kept, version)
    stretches = to_write(kept)
    if not stretches:
        raise StateError(f"The calendar has maintenance of {machine.code} in all of this time already.")
    freight = selectors.rates(kept.on).freight
    is_fresh = kept.state == DONE and shop_of(kept, freight).basis == kept.basis
    for start, end in stretches:
        save(TimeWindow(
            plant=machine.plant, machine=machine, kind=MAINTENANCE, start=start, end=end, reason=f"down, plan {kept.pk}"
        ))  # fmt: skip
    kept.window_at, kept.window_by, kept.version = now(), by, F("version") + 1
    if is_fresh:
        kept.basis = shop_of(kept, freight).basis
    kept.save(update_fields=["window_at", "window_by", "version", "basis"])
    audit(
        "plan_down_write", by=by, plan=kept.pk, machine=machine.code,
        stretches=[[start.isoformat(), end.isoformat()] for start, end in stretches],
    )  # fmt: skip
    return kept


def _may_be_written(run: PlanRun, version: str) -> None:
    if run.going:
        raise StateError("This plan is under way; write the down time once it is there, or cancel it first.")
    if version != str(run.version):
        raise ConflictError("This plan was changed while the page was open. Look at it as it is now.")
    if is_over(run):
        raise StateError(f"The time in which {run.machine.code} was taken as down is over; nothing was written.")
