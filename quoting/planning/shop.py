"""The shop as a balancing problem: won work, what else is booked, calendars, and the ways of tools between plants."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np
from django.core.exceptions import ValidationError

from machines import selectors
from machines.models import Booking, Machine, Plant
from machines.movable import Job as Work
from machines.movable import Option, Problem, Transport, machine_down, quote_won, tool_moves
from quoting.catalog import FreightRates
from quoting.contract import digest
from quoting.costing.freight import MILE, road_distance, truckload_price
from quoting.costing.money import exact, to_cent
from quoting.planning.models import QUOTED, WON, Job
from quoting.planning.plan_models import MACHINE_DOWN, QUOTE_WON, TOOL_MOVES, PlanRun
from quoting.planning.selectors import hours_of_days
from quoting.planning.weeks import DAYS_IN_WEEK, WEEK, monday

LEAST_HOURS = 0.01  # h of a job below which it is through


@dataclass(frozen=True)
class Shop:
    """The problem, the rows behind its jobs by quote, and a fingerprint of each thing that it rests on, by name."""

    problem: Problem
    rows: dict[str, Job]
    basis: dict[str, str]
    week_left: dict[str, float]  # share of the first week's hours that is still to come, by machine


def shop(
    on: date, weeks: int, overtime: float, freight: FreightRates, premiums: Mapping[str, Decimal] | None = None
) -> Shop:
    """Won work from a day on, in the weeks from that day's Monday; of the first only the days that are left count.

    Hours of a job are those still booked, in proportion to all that is booked for it. Firm hours of no such job stay
    where they are. A tool rides between plants in a truck of its own, since no table holds its mass. An hour of
    overtime costs the premium of its plant, a share of the labour rate of the day, for each of the machine's crew.
    """
    first, machines = monday(on), list(Machine.objects.select_related("plant").order_by("code"))
    codes, plants = tuple(one.code for one in machines), tuple(one.plant.code for one in machines)
    left, capacity = _hours(machines, on, first, weeks)
    booked: dict[str, list[Booking]] = defaultdict(list)
    for each in Booking.objects.filter(firm=True).select_related("machine").order_by("week", "pk"):
        booked[each.quote].append(each)
    rows = {row.quote: row for row in _won(first + weeks * WEEK)}
    works = {}
    for quote, row in rows.items():
        share = _share_left(booked.get(quote, []), first, left)
        if share * row.hours > LEAST_HOURS:
            works[quote] = work_of(row, codes, first, share)
    fixed = np.zeros_like(capacity)
    for each in (each for quote, many in booked.items() if quote not in works for each in many):
        week = (each.week - first) // WEEK
        if 0 <= week < weeks:
            hours = each.hours * (left[each.machine.code] if week == 0 else 1.0)
            fixed[codes.index(each.machine.code), week] += hours
    extra = np.where(capacity > 0, overtime, 0.0) - np.maximum(fixed - capacity, 0.0)
    problem = Problem(
        codes, plants, np.maximum(capacity - fixed, 0.0), np.maximum(extra, 0.0), tuple(works.values()),
        _transports([rows[quote] for quote in works], sorted({one.plant for one in machines}, key=lambda one: one.code),
                    freight), _overtime_prices(machines, on, premiums or {}),
    )  # fmt: skip
    return Shop(problem, rows, _basis(problem), left)


def _overtime_prices(machines: list[Machine], on: date, premiums: Mapping[str, Decimal]) -> tuple[float, ...]:
    """What an hour of overtime costs more [$/h], by machine; empty where nothing does."""
    if not any(premiums.values()):
        return ()
    labour = {one.code: one.labour_rate for one in selectors.plants(on)}
    return tuple(
        float(premiums.get(one.plant.code, Decimal(0)) * labour[one.plant.code]) * one.crew for one in machines
    )


def _won(end: date) -> list[Job]:
    rows = Job.objects.filter(state=WON, ready__lt=end).select_related("machine__plant", "tool_plant")
    return list(rows.order_by("quote"))


def _hours(machines: list[Machine], on: date, first: date, weeks: int) -> tuple[dict[str, float], np.ndarray]:
    """Share of the first week that is left, by machine, and the (machines, weeks) hours from the day on.

    What was booked for the week counts as worked by the days that have passed. Maintenance to come takes hours, but
    does not make booked work done: so a machine that breaks down keeps what it has not worked.
    """
    calendars, left, found = selectors.calendars(), {}, np.zeros((len(machines), weeks))
    for row, machine in enumerate(machines):
        days = hours_of_days(
            calendars[machine.plant.code], machine.code, first, DAYS_IN_WEEK * weeks, machine.retired_on
        )
        passed = (on - first).days
        standing = replace(calendars[machine.plant.code], maintenance=())
        to_come = hours_of_days(standing, machine.code, first, DAYS_IN_WEEK, machine.retired_on)[passed:].sum()
        whole = days[:passed].sum() + to_come
        days[:passed] = 0.0
        left[machine.code] = float(to_come / whole) if whole > 0 else 0.0
        found[row] = days.reshape(weeks, DAYS_IN_WEEK).sum(axis=1)
    return left, found


def _share_left(bookings: list[Booking], first: date, left: dict[str, float]) -> float:
    """How much of its booked hours are still to come; all of them where nothing is booked."""
    whole = sum(one.hours for one in bookings)
    if whole <= 0:
        return 1.0
    to_come = sum(
        one.hours * (left[one.machine.code] if one.week == first else 1.0) for one in bookings if one.week >= first
    )
    return to_come / whole


def work_of(row: Job, machines: tuple[str, ...], first: date, share: float = 1.0, placed: bool = True) -> Work:
    """A job as the model knows it: what it costs to go elsewhere counts from where it is, and never below nothing."""
    listed = {one["machine"]: one for one in row.options if one["machine"] in machines}
    here = Decimal(listed[row.machine.code]["cost"]) if row.machine.code in listed else Decimal(0)
    options = [Option(row.machine.code, share * row.hours, Decimal(0))]
    options += [
        Option(code, share * one["hours"], max(Decimal(0), Decimal(one["cost"]) - here))
        for code, one in sorted(listed.items())
        if code != row.machine.code
    ]
    return Work(
        row.quote, tuple(options), row.machine.code if placed else None, max(0, (monday(row.ready) - first) // WEEK),
        (monday(row.due) - first) // WEEK, tool=row.tool if row.tool_plant else "", locked=row.locked and placed,
    )  # fmt: skip


def _transports(rows: list[Job], plants: list[Plant], freight: FreightRates) -> tuple[Transport, ...]:
    at = {row.tool: row.tool_plant for row in rows if row.tool and row.tool_plant}
    return tuple(
        Transport(tool, plant.code, tool_transport(home, plant, freight)) for tool, home in sorted(at.items())
        for plant in plants
    )  # fmt: skip


def tool_transport(start: Plant, end: Plant, freight: FreightRates) -> Decimal:
    """One truck for the tool alone [$]; nothing where it is already."""
    if start.code == end.code:
        return Decimal(0)
    places = (start.latitude, start.longitude), (end.latitude, end.longitude)
    distance = road_distance(*places, freight.circuity, freight.least_distance)
    return to_cent(truckload_price(1, exact(distance / MILE), freight))


def _basis(problem: Problem) -> dict[str, str]:
    found = {f"job {job.code}": digest(_plain(job)) for job in problem.jobs}
    for row, code in enumerate(problem.machines):
        hours = [[round(float(one), 6) for one in each[row]] for each in (problem.capacity, problem.overtime)]
        price = [round(problem.premiums[row], 6)] if problem.premiums else []  # plans of before had none
        found[f"machine {code}"] = digest(hours + price)
    sent: dict[str, list] = defaultdict(list)
    for each in problem.transports:
        sent[each.tool].append([each.plant, str(each.cost)])
    return found | {f"tool {tool}": digest(rows) for tool, rows in sent.items()}


def _plain(job: Work) -> list:
    options = [[one.machine, round(one.hours, 6), str(one.cost)] for one in job.options]
    return [options, job.current, job.release, job.due, job.tool, job.locked]


def changed(old: dict[str, str], new: dict[str, str]) -> list[str]:
    """What is not as it was, in words; empty where everything is."""
    words = [f"{name} is new" for name in sorted(new.keys() - old.keys())]
    words += [f"{name} is gone" for name in sorted(old.keys() - new.keys())]
    return words + [f"{name} changed" for name in sorted(old.keys() & new.keys()) if old[name] != new[name]]


def shop_of(run: PlanRun, freight: FreightRates) -> Shop:
    """The shop as it stands now, seen from the day of a plan."""
    premiums = {plant: Decimal(each) for plant, each in run.premiums.items()}
    return shop(run.on, run.weeks, run.overtime, freight, premiums)


def asked(run: PlanRun, there: Shop) -> Problem:
    """The problem with the question's change in it; ProblemError or ValidationError where that cannot be."""
    if run.kind == MACHINE_DOWN:
        return machine_down(there.problem, run.machine.code, (run.down_from - run.first) // WEEK, run.down_weeks)
    if run.kind == TOOL_MOVES:
        return tool_moves(there.problem, run.tool, run.plant.code)
    if run.kind == QUOTE_WON:
        return _with_quote(run, there.problem)
    return there.problem


def _with_quote(run: PlanRun, problem: Problem) -> Problem:
    """With the release of a quote; its tool is built where it runs, so it has no transport yet."""
    row = Job.objects.filter(quote=run.quote, state=QUOTED).select_related("machine", "tool_plant").first()
    if row is None:
        raise ValidationError(f"Quote {run.quote} is no longer open, so it cannot be taken as won.")
    return quote_won(problem, (replace(work_of(row, problem.machines, run.first, placed=False), tool=""),))


def stretch(weeks: list[date]) -> list[str]:
    """First and last of some Mondays as text; empty where there are none."""
    return [min(weeks).isoformat(), max(weeks).isoformat()] if weeks else []
