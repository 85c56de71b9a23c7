"""Which rows of the board are shown and what stands in each cell, ready to print: a page has thousands of them."""

from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

import numpy as np
from django.urls import reverse

from machines.board import KINDS
from machines.loads import Loads
from machines.weeks import HOUR_SLACK
from quoting.desk import charts, labels
from quoting.desk.board_filters import Chosen
from quoting.quotes.boards import SeenBoard, quotes_about

TOLD = ("over", "may_over", "tight", "idle", "closed")  # words that are written into the cell
FORMING = "forming"


@dataclass(frozen=True)
class Shown:
    """Rows of the board by the filters. ``totals`` are those summed for a plant: of one kind, and never thinned out."""

    seen: SeenBoard
    chosen: Chosen
    rows: tuple[int, ...]
    totals: tuple[int, ...]
    found: np.ndarray | None  # hours of the work that was searched for

    @property
    def total_kind(self) -> str:
        return self.chosen.kind or FORMING


def is_over(seen: SeenBoard) -> np.ndarray:
    """Whether the expected hours go beyond those available, by resource and week."""
    return seen.board.expected > seen.board.available + HOUR_SLACK


def shown(seen: SeenBoard, chosen: Chosen) -> Shown:
    """The rows that the filters leave."""
    resources = seen.board.resources
    inside = [
        number for number, row in enumerate(resources)
        if chosen.plant in ("", row.plant) and chosen.kind in ("", row.kind)
        and (not chosen.machine_kind or seen.machine_kinds.get(row.code) == chosen.machine_kind)
    ]  # fmt: skip
    totals = tuple(number for number in inside if resources[number].kind == (chosen.kind or FORMING))
    rows, found = inside, None
    if chosen.text:
        found = seen.of(_about(seen, chosen.text))
        rows = [number for number in rows if found[number].any()]
    if chosen.only_over:
        over = is_over(seen).any(axis=1)
        rows = [number for number in rows if over[number]]
    return Shown(seen, chosen, tuple(rows), totals, found)


def _about(seen: SeenBoard, text: str) -> Loads:
    quotes, words, loads = quotes_about(text), text.lower().split(), seen.loads
    found = [
        quote in quotes or all(word in label.lower() for word in words)
        for quote, label in zip(loads.quote, loads.label, strict=True)
    ]
    return loads.where(np.array(found, dtype=bool))


def plant_rows(view: Shown) -> list[dict]:
    """Each plant that the filters leave: its total by week, and where it is open its resources."""
    resources, over = view.seen.board.resources, is_over(view.seen)
    rows = []
    for code, name in view.seen.plants.items():
        if view.chosen.plant not in ("", code):
            continue
        total = [number for number in view.totals if resources[number].plant == code]
        own = [number for number in view.rows if resources[number].plant == code]
        is_open = view.chosen.is_open(code)
        rows.append(
            {
                "code": code, "name": name, "is_open": is_open, "resources": len(own),
                "over": int(over[own].sum()), "toggle": view.chosen.toggled(code).query,
                "cells": _cells(view, total), "load": _load(view, total),
                "none": "" if total else f"no {labels.RESOURCES[view.total_kind]} here",
                "kinds": _kinds(view, own) if is_open else [],
            }
        )  # fmt: skip
    return rows


def _kinds(view: Shown, own: list[int]) -> list[dict]:
    resources, found = view.seen.board.resources, []
    for kind in KINDS:
        members = [number for number in own if resources[number].kind == kind]
        if members:
            rows = [_resource(view, number) for number in members]
            found.append({"kind": labels.RESOURCES[kind], "rows": rows})
    return found


def _resource(view: Shown, number: int) -> dict:
    resource = view.seen.board.resources[number]
    return {
        "code": resource.code.removeprefix(f"{resource.plant}/"),
        "about": labels.said(view.seen.machine_kinds.get(resource.code, "")),
        "cells": _cells(view, [number], resource.code),
    }


def named(seen: SeenBoard, code: str) -> str:
    """A resource as people call it; a tool, and what is not there any more, by its code."""
    kind = next((row.kind for row in seen.board.resources if row.code == code), FORMING)
    return code if kind == FORMING else labels.beside(code)


def week_address(resource: str, week: date) -> str:
    """Address of a resource's week; put together here, since reversing thousands would take longer than the page."""
    return f"{reverse('loading')}{quote(resource)}/{week.isoformat()}/"


def _cells(view: Shown, rows: list[int], resource: str = "") -> list[dict]:
    """One cell a week, of one resource with the address of its jobs, or of several together."""
    board = view.seen.board
    sums = (array[rows].sum(axis=0).tolist() for array in (board.available, board.booked, board.quoted, board.weighted))
    found = view.found[rows].sum(axis=0).tolist() if view.found is not None else [0.0] * board.available.shape[1]
    base = f"{reverse('loading')}{quote(resource)}/" if resource else ""
    return [
        cell(week, *hours, found=about, address=f"{base}{week.isoformat()}/" if base else "")
        for week, about, *hours in zip(view.seen.weeks, found, *sums, strict=True)
    ]


def cell(
    week: date, available: float, won: float, quoted: float, weighted: float, found: float = 0.0, address: str = ""
) -> dict:
    """What one cell says: load with its word, hours won, quoted and available, hours of what was searched for."""
    word = charts.load_word(won, weighted, available, quoted)
    load = charts.load_percent(won + weighted, available)
    return {
        "week": week, "word": word, "said": labels.LOAD_WORDS[word] if word in TOLD else "",
        "percent": "no hours" if load >= 999 and available <= 0 else f"{load:.0f} %",
        "taken": f"{won:,.0f}+{quoted:,.0f}" if quoted else f"{won:,.0f}", "of": f"of {available:,.0f} h",
        "found": f"found: {found:,.0f} h" if found else "", "address": address,
    }  # fmt: skip


def _load(view: Shown, rows: list[int]) -> float:
    """Load of these rows over all weeks [%]."""
    board = view.seen.board
    return charts.load_percent(float(board.expected[rows].sum()), float(board.available[rows].sum()))


def clash_rows(view: Shown, most: int | None = None) -> tuple[list[dict], int]:
    """What cannot be, in words, of the plants and kinds that are shown: the first so many, and how many there are."""
    resources = {row.code: number for number, row in enumerate(view.seen.board.resources)}
    filtered = view.chosen.plant or view.chosen.kind or view.chosen.machine_kind or view.chosen.text
    codes = {view.seen.board.resources[number].code for number in view.rows} if filtered else set(resources)
    found = [one for one in view.seen.clashes if one.where in codes or one.kind not in ("overbooked", "booked_twice")]
    rows = [
        {
            "what": labels.CLASHES[one.kind], "where": one.where, "place": named(view.seen, one.where),
            "week": one.week, "measured": one.measured, "limit": one.limit, "over": one.measured - one.limit,
            "jobs": list(dict.fromkeys(filter(None, one.labels))),
            "address": week_address(one.where, one.week) if one.where in resources else "",
        }
        for one in found[:most]
    ]  # fmt: skip
    return rows, len(found)
