"""Rows of a rate table, cell by cell right already, to dated figures: by key, by hour, by sheet."""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from machines.hour_rates import INSPECTOR, KINDS, LABOUR
from quoting import units
from quoting.intake.rate_tables import (
    CODE,
    COLOUR,
    FREIGHT,
    FROM_WEIGHT,
    HOURLY,
    LEAST_ORDER,
    OVERHEAD,
    PLANT,
    PRICE,
    RATE,
    RATE_FOR,
    REGRIND,
    SHEET,
    SOURCE,
    TABLES,
    VALID_FROM,
    Entry,
    Figure,
    RateTable,
    WrongCell,
    table_of,
)
from quoting.intake.rates_file import rate_kind

Read = list[tuple[int, dict[str, Any], bool]]


def keyed_rows(name: str) -> Callable[[Read, list[WrongCell]], list[Entry]]:
    def build(read: Read, wrong: list[WrongCell]) -> list[Entry]:
        entries = []
        for number, values, is_wrong in read:
            key = values.get(RATE, "")
            if key and (rate_kind(key) is None or table_of(key) != name):
                other = TABLES[table_of(key)].label if rate_kind(key) else ""
                accepted = f"a rate of this table; this one stands in {other}" if other else "a rate of this table"
                wrong.append(WrongCell(number, RATE, units.shortened(key), f"{accepted}, such as {_EXAMPLES[name]}"))
            elif not is_wrong:
                entries.append(_entry(key, (key,), values, (values["Value"],), number))
        return entries

    return build


_EXAMPLES = {FREIGHT: "freight.ltl_minimum", OVERHEAD: "price.overhead"}


def _entry(subject: str, of: tuple[str, ...], values: Mapping[str, Any], figures: tuple, *rows: int) -> Entry:
    return Entry(subject, of, values[VALID_FROM], figures, values.get(SOURCE) or "", rows)


def hour_subject(kind: str, plant: str, code: str) -> str:
    """How an hour rate is called in previews and histories.

    Parameters
    ----------
    kind, plant, code : str
        As in ``machines.hour_rates`` [-].

    Returns
    -------
    subject : str
        [-]

    Examples
    --------
    >>> hour_subject("labour", "P-1", ""), hour_subject("machine", "P-1", "M-7")
    ('P-1, labour', 'P-1, machine M-7')
    """
    return f"{plant}, {kind}" + (f" {code}" if code else "")


def hour_rows(read: Read, wrong: list[WrongCell]) -> list[Entry]:
    entries = []
    for number, values, is_wrong in read:
        kind, code = str(values.get(RATE_FOR, "")).lower(), values.get(CODE, "")
        if RATE_FOR in values and kind not in KINDS:
            wrong.append(WrongCell(number, RATE_FOR, units.shortened(values[RATE_FOR]), "one of " + ", ".join(KINDS)))
        elif RATE_FOR in values and CODE in values and bool(code) == (kind in (LABOUR, INSPECTOR)):
            accepted = f"nothing for {kind}" if code else f"the code of the {kind}"
            wrong.append(WrongCell(number, CODE, units.shortened(code) if code else "nothing", accepted))
        elif not is_wrong:
            of = (kind, values[PLANT], code)
            entries.append(_entry(hour_subject(*of), of, values, (values[HOURLY],), number))
    return entries


ONCE_PER_SHEET = (COLOUR, LEAST_ORDER, REGRIND)


def tier_name(from_mass: str) -> str:
    """How the price of one tier is called.

    Parameters
    ----------
    from_mass : str
        Least order mass with its unit [-].

    Returns
    -------
    name : str
        [-]
    """
    return f"From {from_mass} ($/lb)"


def pounds(mass: float) -> str:
    """A mass [kg] in pounds, with as many digits as it takes to read the same mass again.

    Parameters
    ----------
    mass : float
        [kg], from 0 to some 1e6.

    Returns
    -------
    text : str
        [-]

    Examples
    --------
    >>> pounds(0.0), pounds(226.796185)
    ('0 lb', '500 lb')
    """
    exact = Decimal(repr(float(mass))) / Decimal("0.45359237")  # kg, exact: international pound
    for digits in range(12):
        text = f"{round(exact, digits):f} lb"
        if units.read(text, "mass") == mass:
            return text
    return f"{round(exact, 12):f} lb"


def sheet_rows(read: Read, wrong: list[WrongCell]) -> list[Entry]:
    """Rows of one sheet and day together are its price table; where one of them is wrong, none of them counts."""
    spoiled = {values[SHEET]: number for number, values, is_wrong in read if is_wrong and SHEET in values}
    groups: dict[tuple[str, date | None], list[tuple[int, dict[str, Any]]]] = {}
    for number, values, is_wrong in read:
        if is_wrong or SHEET not in values:
            continue
        if values[SHEET] in spoiled:
            accepted = f"row {spoiled[values[SHEET]]} right too: the prices of a sheet count together"
            wrong.append(WrongCell(number, SHEET, units.shortened(values[SHEET]), accepted))
        else:
            groups.setdefault((values[SHEET], values[VALID_FROM]), []).append((number, values))
    return [one for (name, _), rows in groups.items() if (one := _sheet(name, rows, wrong)) is not None]


def _sheet(name: str, rows: list[tuple[int, dict[str, Any]]], wrong: list[WrongCell]) -> Entry | None:
    before = len(wrong)
    rows = sorted(rows, key=lambda row: row[1][FROM_WEIGHT].value)
    first = rows[0][1]
    for number, values in rows:
        for heading in ONCE_PER_SHEET:
            if values[heading].value != first[heading].value:
                accepted = f"the same as in the other rows of {name}, {first[heading].text}"
                wrong.append(WrongCell(number, heading, units.shortened(values[heading].text), accepted))
    masses = [values[FROM_WEIGHT].value for _, values in rows]
    if masses[0] != 0:
        wrong.append(
            WrongCell(
                rows[0][0], FROM_WEIGHT, units.shortened(first[FROM_WEIGHT].text), "0 lb in one row of each sheet"
            )
        )
    for (_, upper), (number, values) in zip(rows, rows[1:], strict=False):
        if upper[FROM_WEIGHT].value == values[FROM_WEIGHT].value:
            given = units.shortened(values[FROM_WEIGHT].text)
            wrong.append(WrongCell(number, FROM_WEIGHT, given, f"a weight that {name} has once on this day"))
    if len(wrong) > before:
        return None
    tiers = tuple(
        Figure(tier_name(pounds(values[FROM_WEIGHT].value)), values[PRICE].text, values[PRICE].value)
        for _, values in rows
    )
    source = next((values[SOURCE] for _, values in rows if values.get(SOURCE)), "")
    once = tuple(first[heading] for heading in ONCE_PER_SHEET)
    of = (name, *(repr(mass) for mass in masses))
    return Entry(name, of, first[VALID_FROM], (*tiers, *once), source, tuple(sorted(number for number, _ in rows)))


def without_doubles(entries: list[Entry], table: RateTable, wrong: list[WrongCell]) -> list[Entry]:
    """Entries that stand once. Where a rate has two rows for one day, neither counts: nobody knows which is meant."""
    rows: dict[tuple[str, date | None], list[int]] = {}
    for one in entries:
        rows.setdefault((one.subject, one.valid_from), []).append(one.rows[0])
    for one in entries:
        alike = rows[one.subject, one.valid_from]
        if len(alike) > 1:
            accepted = f"each rate once a day; row {alike[1] if one.rows[0] == alike[0] else alike[0]} has it too"
            wrong.append(WrongCell(one.rows[0], table.columns[0].heading, units.shortened(one.subject), accepted))
    return [one for one in entries if len(rows[one.subject, one.valid_from]) == 1]
