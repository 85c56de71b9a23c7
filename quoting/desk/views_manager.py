"""Screens of the manager: how full each machine is, week by week, and what waits for a decision."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from machines import selectors as machines
from quoting.desk import charts, pages
from quoting.quotes import models, policies, records, selectors

WEEKS_ON_THE_BOARD = 12
MOST_WAITING = 8


@require_GET
def loading(request: HttpRequest) -> HttpResponse:
    """Plants by machines by weeks: hours won, quoted and available."""
    pages.demand(policies.may_see_loading(request.user))
    loads = selectors.plant_loading(records.today(), WEEKS_ON_THE_BOARD)
    counts = selectors.state_counts(person=request.user)
    waiting = selectors.inquiry_list(person=request.user, state=models.ANSWERED).order_by("answered_at")
    context = {
        "plants": [plant_rows(plant) for plant in loads],
        "weeks": [one.week for one in loads[0].weeks] if loads else [],
        "states": [(code, count) for code, count in counts.items() if count],
        "waiting": waiting[:MOST_WAITING],
        "rates_address": reverse("rates") if policies.may_edit_rates(request.user) else "",
    }
    return render(request, "desk/loading.html", context)


def plant_rows(plant: selectors.PlantLoad) -> dict:
    """One plant: its machines' weeks, its totals, and how many machine-weeks are overfull."""
    rows = [{"code": one.code, "cells": [cell(week) for week in one.weeks]} for one in plant.machines]
    return {
        "code": plant.code,
        "name": plant.name,
        "machines": rows,
        "totals": [cell(week) for week in plant.weeks],
        "total": hours(
            sum(week.booked for week in plant.weeks),
            sum(week.quoted for week in plant.weeks),
            sum(week.available for week in plant.weeks),
        ),
        "weeks_over": sum(one["bar"]["word"] == "over" for row in rows for one in row["cells"]),
    }


def cell(week: selectors.WeekLoad) -> dict:
    return {"week": week.week, **hours(week.booked, week.quoted, week.available)}


def hours(won: float, quoted: float, available: float) -> dict:
    return {"won": won, "quoted": quoted, "available": available, "bar": charts.load_bar(won, quoted, available)}


@require_GET
def loading_week(request: HttpRequest, machine: str, week: date) -> HttpResponse:
    """The jobs behind one cell of the board."""
    pages.demand(policies.may_see_loading(request.user))
    load = next(
        (one for plant in selectors.plant_loading(week, 1) for one in plant.machines if one.code == machine), None
    )
    if load is None or load.weeks[0].week != week:
        raise Http404
    jobs = [one for one in machines.bookings(since=week) if (one.machine, one.week) == (machine, week)]
    numbers = inquiry_numbers([one.label.partition(" ")[0] for one in jobs])
    context = {
        "machine": machine,
        "week": week,
        "cell": cell(load.weeks[0]),
        "jobs": [
            {
                "label": one.label, "firm": one.firm, "hours": one.hours,
                "inquiry": numbers.get(one.label.partition(" ")[0]),
            }
            for one in sorted(jobs, key=lambda one: (-one.hours, one.label))
        ],
    }  # fmt: skip
    return render(request, "desk/loading_week.html", context)


def inquiry_numbers(quote_numbers: list[str]) -> dict[str, str]:
    """Inquiry number by quote number, so that a job leads to its route and costs."""
    rows = models.Quote.objects.filter(number__in=quote_numbers)
    return dict(rows.values_list("number", "inquiry__number"))
