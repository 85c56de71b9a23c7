"""A rate table from its file: what it says rate by rate, and every wrong cell with row, heading and accepted form."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from quoting import units
from quoting.intake.catalog_values import RefusedError, read_value
from quoting.intake.rate_rows import hour_rows, keyed_rows, sheet_rows, without_doubles
from quoting.intake.rate_tables import (
    DATE_FORM,
    LABOUR_TABLE,
    LONGEST_SOURCE,
    MONEY_FORM,
    RATE,
    RESIN,
    VALID_FROM,
    Column,
    Entry,
    Figure,
    RateTable,
    WrongCell,
)
from quoting.intake.rates_file import rate_kind
from quoting.intake.table_file import Cell, FileRow, Unread, read_table, refuse

DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)  # of the forms of ISO 8601 the one that everybody writes


MOST_DAYS = 24  # every day is checked for rates that contradict each other


@dataclass(frozen=True)
class ReadTable:
    entries: tuple[Entry, ...]
    wrong: tuple[WrongCell, ...]


def read_rate_table(content: bytes, table: RateTable, effective: date | None) -> ReadTable:
    """What a file says, rate by rate, and every cell of it that is wrong.

    Parameters
    ----------
    content : bytes
        CSV or XLSX [-].
    table : RateTable
        Which table it should be [-].
    effective : date or None
        A day that goes before the column "Valid from" [-].

    Returns
    -------
    read : ReadTable
        Entries in the order of the file [-].

    Raises
    ------
    InputErrors
        The file as a whole cannot be read, or its headings are not those of the table.
    """
    heading, *rows = read_table(content)
    places = _places(heading, table)
    wrong: list[WrongCell] = []
    read = []
    for row in rows:
        values, mistakes = _row_values(row, table, places)
        if effective is not None:
            values[VALID_FROM] = effective
        wrong += mistakes
        read.append((row.number, values, bool(mistakes)))
    days = {values[VALID_FROM] for _, values, _ in read if values.get(VALID_FROM)}
    if len(days) > MOST_DAYS:
        raise refuse(f"a table with {len(days):,} days", f"at most {MOST_DAYS} different days in one file")
    build = {RESIN: sheet_rows, LABOUR_TABLE: hour_rows}.get(table.name) or keyed_rows(table.name)
    entries = build(read, wrong)
    return ReadTable(tuple(without_doubles(entries, table, wrong)), tuple(sorted(wrong, key=lambda one: one.row)))


def _places(heading: FileRow, table: RateTable) -> dict[str, int]:
    """Heading -> column; case and spaces around do not matter, order does not either."""
    known = {one.casefold(): one for one in table.headings}
    accepted = "the headings " + ", ".join(table.headings)
    places: dict[str, int] = {}
    for place, cell in enumerate(heading.cells):
        if cell == "":
            continue
        name = known.get(cell.strip().casefold()) if isinstance(cell, str) else None
        if name is None or name in places:
            raise refuse(f"the heading {units.shortened(cell)}" + (" twice" if name else ""), accepted)
        places[name] = place
    missing = [one.heading for one in table.columns if one.heading not in places and not one.may_be_empty]
    if missing:
        raise refuse("no heading " + ", ".join(missing), accepted)
    return places


def _row_values(row: FileRow, table: RateTable, places: Mapping[str, int]) -> tuple[dict[str, Any], list[WrongCell]]:
    values: dict[str, Any] = {}
    wrong = []
    beyond = [cell for place, cell in enumerate(row.cells) if cell != "" and place not in places.values()]
    if beyond:
        wrong.append(WrongCell(row.number, "", _shown(beyond[0]), "cells below a heading only"))
    for column in table.columns:
        place = places.get(column.heading)
        cell: Cell = row.cells[place] if place is not None and place < len(row.cells) else ""
        try:
            values[column.heading] = _value(cell, column, values)
        except RefusedError as refused:
            wrong.append(WrongCell(row.number, column.heading, _shown(cell), refused.accepted))
    return values, wrong


def _shown(cell: Cell) -> str:
    if isinstance(cell, Unread):
        return cell.given
    if isinstance(cell, date):
        return f"the date {cell.isoformat()}"
    return units.shortened(cell) if cell else "nothing"


def _value(cell: Cell, column: Column, before: Mapping[str, Any]) -> Any:
    if isinstance(cell, Unread):
        raise RefusedError(DATE_FORM if column.kind == "date" else cell.accepted)
    if cell == "" and column.may_be_empty:
        return None if column.kind == "date" else ""
    if column.kind == "date":
        return cell if isinstance(cell, date) else _day(cell)
    if isinstance(cell, date):
        raise RefusedError("text or a number; the spreadsheet has made a date of it")
    if column.kind in ("text", "source"):
        return _text(cell, LONGEST_SOURCE)
    if column.kind == "value":
        kind = rate_kind(before.get(RATE, ""))
        return Figure("Value", cell.strip(), _read(cell.strip(), kind)) if kind else cell
    return Figure(column.heading, cell.strip(), _read(cell.strip(), column.kind))


def _day(text: str) -> date:
    try:
        return read_value(text.strip() if DAY.fullmatch(text.strip()) else "", "date")
    except RefusedError as refused:
        raise RefusedError(DATE_FORM) from refused


def _text(text: str, longest: int) -> str:
    text = text.strip()
    if not text or len(text) > longest or not text.isprintable():
        raise RefusedError(f"one line of text of at most {longest} characters")
    return text


def _read(text: str, kind: str) -> Any:
    try:
        return read_value(text, kind)
    except RefusedError as refused:
        raise (RefusedError(MONEY_FORM) if kind == "money" else refused) from refused
