"""The jobs of quotes: written when a quote is approved, made firm when it is won, gone when it is no longer on offer.

Called within the deed's own transaction, which writes the audit row. Hours go into free hours of the plant's calendar.
"""

from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from machines.models import Booking, Machine, Plant
from quoting.planning import selectors
from quoting.planning.beside import TOOL_ROOM, free_in_tool_room
from quoting.planning.models import GONE, QUOTED, WON, BenchHours, Job
from quoting.planning.occupying import Occupied
from quoting.planning.weeks import DAYS_IN_WEEK, Hours, NoRoomError, laid_out, monday, shared

LABEL = 120  # characters that a booking's label holds
LATEST = 156  # weeks from when it can begin in which a release must find room; our choice


@transaction.atomic
def job_write(
    *, quote: str, part: str, customer: str, occupied: Occupied, since: date, won: bool, valid_until: date | None = None
) -> Job:
    """The job of a quote in place of the one that it had, with its hours on the board.

    ``since`` is the day of the quote, or of the order once won. ValidationError where the machine has no free hours.
    """
    machine = _machine_locked(occupied.machine)
    job = Job.objects.filter(quote=quote).first() or Job(quote=quote)
    job.part, job.customer, job.state = part[:200], customer[:200], WON if won else QUOTED
    job.machine, job.process, job.polymer = machine, occupied.process, occupied.polymer
    job.quantity, job.hours = occupied.quantity, occupied.hours
    job.options = [one.plain() for one in occupied.options]
    job.tool, job.tool_plant = f"tool of {quote}", machine.plant
    job.since, job.ready, job.due = since, occupied.ready(since), occupied.due(since)
    job.value, job.margin, job.valid_until = occupied.value, occupied.margin, valid_until
    job.full_clean()
    job.save()
    _lay_out(job, occupied)
    return job


@transaction.atomic
def jobs_drop(*, quotes: tuple[str, ...]) -> int:
    """Quoted work of these quotes leaves the board: lost, revised, replaced or expired. How many jobs it was.

    Won work stays: an order is not undone by what becomes of an inquiry.
    """
    Booking.objects.filter(quote__in=quotes, firm=False).delete()
    BenchHours.objects.filter(job__quote__in=quotes, job__state=QUOTED).delete()
    return Job.objects.filter(quote__in=quotes, state=QUOTED).update(state=GONE)


def _machine_locked(code: str) -> Machine:
    """The machine, locked until the commit, so that nobody lays other work into the same free hours."""
    rows = Machine.objects.select_related("plant").select_for_update(of=("self",), no_key=True)
    return rows.get(code=code)


def _lay_out(job: Job, occupied: Occupied) -> None:
    Booking.objects.filter(quote=job.quote).delete()
    job.bench_hours.all().delete()
    run = room_for(job)
    label, firm = str(job)[:LABEL], job.state == WON
    for taken in run:
        booking = Booking(
            machine=job.machine, week=taken.week, hours=taken.hours, firm=firm, label=label, quote=job.quote
        )
        booking.full_clean()
        booking.save()
    trims = Plant.objects.get(code=occupied.trim_plant)
    _keep_bench(job, trims, "router", occupied.trimmer, shared(occupied.trim_hours, run))
    _keep_bench(job, trims, "assembly", "", shared(occupied.assembly_hours, run))
    if occupied.tool_room_hours:
        _keep_tool_room(job, occupied)


def room_for(job: Job) -> tuple[Hours, ...]:
    """The weeks of a job on its machine, in the hours that its calendar has beside firm work of others.

    ValidationError, naming the machine, where three years do not hold it.
    """
    first, due = monday(job.ready), monday(job.due)
    weeks = max(LATEST, (due - first) // timedelta(days=DAYS_IN_WEEK) + 1)
    free = selectors.free_hours(job.machine, job.ready, weeks, without=job.quote)
    try:
        return laid_out(job.hours, first, job.due, free)
    except NoRoomError as error:
        retired = job.machine.retired_on
        why = f"it is retired from {retired:%d %b %Y} on" if retired else "it is booked, or its plant's calendar closed"
        raise ValidationError(
            f"{job}: {job.machine.code} has no free hours for {error.left:.1f} of its {error.hours:.1f} h in the "
            f"{weeks} weeks from {job.ready:%d %b %Y} on; {why}. Free hours there, or answer the inquiry again."
        ) from error


def _keep_tool_room(job: Job, occupied: Occupied) -> None:
    """Hours in the tool room of the plant that forms, in the weeks before the tool is there.

    A plant that has given up its tool room since the quote buys its tools, and nothing is booked. ValidationError where
    three years do not hold them. The plant is locked, so that nobody lays other work into the same free hours.
    """
    plant = Plant.objects.select_for_update(of=("self",), no_key=True).get(pk=job.machine.plant_id)
    if not plant.tool_room_places:
        return
    free = free_in_tool_room(plant, job.since, LATEST, without=job.quote)
    try:
        hours = laid_out(occupied.tool_room_hours, monday(job.since), occupied.tool_there(job.since), free)
    except NoRoomError as error:
        raise ValidationError(
            f"{job}: the tool room of {plant.code} has no free hours for {error.left:.1f} of its {error.hours:.1f} h "
            f"in the {error.weeks} weeks from {job.since:%d %b %Y} on. Free hours there, or answer the inquiry again."
        ) from error
    _keep_bench(job, plant, TOOL_ROOM, "", hours)


def _keep_bench(job: Job, plant: Plant, kind: str, code: str, hours: tuple[Hours, ...]) -> None:
    for one in hours:
        row = BenchHours(job=job, plant=plant, kind=kind, code=code, week=one.week, hours=one.hours)
        row.full_clean()
        row.save()
