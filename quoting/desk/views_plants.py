"""Pages beside the board: chances of open quotes, plants compared with what each figure rests on, the Monday page."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from quoting.desk import board_rows, chance_words, charts, labels, pages
from quoting.desk.board_filters import Chosen, filter_of, weeks_asked
from quoting.desk.views_board import inquiry_numbers, promise_words
from quoting.planning.models import WON
from quoting.planning.promises import LATE, NOT_BOOKED, OVERDUE, promises
from quoting.quotes import chances, models, plant_figures, policies, records, selectors
from quoting.quotes.boards import SeenBoard, seen_board

WEEKS_ON_A_STRIP = 13  # as many as a printed page is wide
MOST_LISTED = 40
ROWS_A_PAGE = 200


@require_GET
def chances_page(request: HttpRequest) -> HttpResponse:
    """Every open quote with its chance and the four things it rests on."""
    pages.demand(policies.may_see_loading(request.user))
    today = records.today()
    book = chances.book(today)
    bands = chance_words.bands(book.rates)
    rows = sorted(book.open.values(), key=lambda one: (-one.chance.chance, one.quote))
    page = Paginator(rows, ROWS_A_PAGE).get_page(_page_asked(request, rows))
    context = {
        "rows": [chance_row(one, bands) for one in page],
        "page": page,
        "house": book.records.house,
        "bands": [(name, book.records.bands.get(number, chances.NOTHING)) for number, name in enumerate(bands)],
        "given": chance_words.given(book.rates),
        "missing": chance_words.missing(book.rates),
        "since": chances.since(today, book.rates),
    }
    return render(request, "desk/loading_chances.html", context)


def _page_asked(request: HttpRequest, rows: list[chances.OpenQuote]) -> str | int | None:
    """The page named, or that on which a quote stands that is named."""
    quote = request.GET.get("quote")
    places = (place // ROWS_A_PAGE + 1 for place, one in enumerate(rows) if one.quote == quote)
    return next(places, request.GET.get("page")) if quote else request.GET.get("page")


def chance_row(one: chances.OpenQuote, bands: tuple[str, ...]) -> dict:
    house, customer, size, age = one.chance.basis
    return {
        "quote": one.quote, "inquiry": one.inquiry, "company": one.company, "state": one.state, "sent": one.sent,
        "age": one.age, "size": one.size, "chance": one.chance.chance,
        "band": bands[one.band] if one.band is not None else "size not known",
        "house": house, "customer": customer, "at_size": size, "waited": age,
    }  # fmt: skip


@require_GET
def plants(request: HttpRequest) -> HttpResponse:
    """Plants compared on load, margin, promises kept, quotes won and days to a quote."""
    pages.demand(policies.may_see_loading(request.user))
    today = records.today()
    seen = seen_board(today, plant_figures.FAR, today)
    context = {"found": plant_figures.compared(seen, today), "since": chances.since(today, seen.book.rates)}
    return render(request, "desk/loading_plants.html", context)


@require_GET
def plant(request: HttpRequest, plant: str) -> HttpResponse:
    """What the figures of one plant rest on, row by row."""
    pages.demand(policies.may_see_loading(request.user))
    today = records.today()
    seen = seen_board(today, plant_figures.FAR, today)
    found = plant_figures.compared(seen, today)
    one = next((each for each in found.plants if each.code == plant), None)
    if one is None:
        raise Http404
    page = Paginator(range(one.most), ROWS_A_PAGE).get_page(request.GET.get("page"))
    rates = seen.book.rates
    rows = plant_figures.rows_of(plant, today, rates, max(0, page.start_index() - 1), page.end_index())
    quotes = [*(job.quote for job in rows.promises), *(row.quote for row in rows.decided)]
    context = {
        "one": one, "rows": rows, "page": page, "inquiries": inquiry_numbers(quotes),
        "since": chances.since(today, rates), "words": {job.quote: promise_words(job) for job in rows.promises},
    }  # fmt: skip
    return render(request, "desk/loading_plant.html", context)


@require_GET
def meeting(request: HttpRequest) -> HttpResponse:
    """The page to print for Monday: plants, load by week, over-loads, late jobs, idle weeks, clashes, what waits.

    Weeks and opened plants are those of the board that it was asked from; the other filters do not thin it out.
    """
    pages.demand(policies.may_see_loading(request.user))
    today = records.today()
    seen = seen_board(today, weeks_asked(request.GET), today)
    _, asked = filter_of(request.GET, seen)
    chosen = Chosen(weeks=asked.weeks, opened=asked.opened)
    view = board_rows.shown(seen, chosen)
    late = [one for one in promises(today, state=WON) if one.standing in (LATE, OVERDUE, NOT_BOOKED)]
    over, idle = runs(seen, "over"), runs(seen, "idle")
    formers = labels.RESOURCES[board_rows.FORMING]
    idle, beside = [run for run in idle if run.kind == formers], [run for run in idle if run.kind != formers]
    clashes, clash_count = board_rows.clash_rows(view, MOST_LISTED)
    answered = selectors.inquiry_list(person=request.user, state=models.ANSWERED).order_by("answered_at")
    context = {
        "today": today, "weeks": seen.weeks, "chosen": chosen, "found": plant_figures.compared(seen, today),
        "strips": strips(seen.weeks, board_rows.plant_rows(view)),
        "over": over[:MOST_LISTED], "over_more": max(0, len(over) - MOST_LISTED),
        "idle": idle[:MOST_LISTED], "idle_more": max(0, len(idle) - MOST_LISTED),
        "idle_beside": sorted(f"{run.plant}: {run.resource}" for run in beside if run.weeks == len(seen.weeks)),
        "late": [(one, promise_words(one)) for one in late[:MOST_LISTED]],
        "late_more": max(0, len(late) - MOST_LISTED),
        "clashes": clashes, "clashes_more": clash_count - len(clashes),
        "for_manager": selectors.waiting_for_manager()[:MOST_LISTED], "answered": answered[:MOST_LISTED],
    }  # fmt: skip
    return render(request, "desk/loading_meeting.html", context)


def strips(weeks: list[date], plants: list[dict]) -> list[dict]:
    """The board cut into tables as wide as a page: each its weeks and lines, a plant's own before its resources'."""
    lines = []
    for one in plants:
        opened = [(row["code"], False, row["cells"]) for kind in one["kinds"] for row in kind["rows"]]
        lines += [(one["name"], True, one["cells"]), *opened]
    cuts = [slice(at, at + WEEKS_ON_A_STRIP) for at in range(0, len(weeks), WEEKS_ON_A_STRIP)]
    return [
        {
            "weeks": weeks[cut],
            "rows": [{"name": name, "is_plant": is_plant, "cells": cells[cut]} for name, is_plant, cells in lines],
        }
        for cut in cuts
    ]


@dataclass(frozen=True)
class Run:
    """Weeks in a row in which one resource has the same word."""

    plant: str
    resource: str
    kind: str
    first: date
    last: date
    weeks: int
    expected: float
    available: float

    @property
    def over(self) -> float:
        return self.expected - self.available

    @property
    def free(self) -> float:
        return self.available - self.expected

    @property
    def load(self) -> float:
        return charts.load_percent(self.expected, self.available)


def runs(seen: SeenBoard, word: str) -> list[Run]:
    """Stretches of overloaded or idle weeks; the most hours above or below what is available first."""
    board, found = seen.board, []
    if word == "over":
        marked = board_rows.is_over(seen)
    else:
        marked = (board.available > 0) & (100 * board.expected < charts.IDLE * board.available)
    for number, row in enumerate(board.resources):
        for first, end in stretches(marked[number]):
            expected, available = (float(array[number, first:end].sum()) for array in (board.expected, board.available))
            code = row.code.removeprefix(f"{row.plant}/")
            found.append(
                Run(seen.plants.get(row.plant, row.plant), code, labels.RESOURCES[row.kind], seen.weeks[first],
                    seen.weeks[end - 1], end - first, expected, available)
            )  # fmt: skip
    return sorted(found, key=lambda run: (-abs(run.over), run.resource, run.first))


def stretches(marked: np.ndarray) -> list[tuple[int, int]]:
    """First and end of each stretch of true values.

    >>> stretches(np.array([True, True, False, True]))
    [(0, 2), (3, 4)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([False], marked, [False])).astype(int)))
    return [(int(first), int(end)) for first, end in zip(edges[::2], edges[1::2], strict=True)]
