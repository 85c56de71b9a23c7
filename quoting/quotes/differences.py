"""What changed between the data behind an answer and today's, and what that does to the answer, figure by figure."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from quoting.contract import to_plain
from quoting.quotes import master_data, selectors
from quoting.quotes.answers import outcome
from quoting.quotes.fronts import obstacles
from quoting.quotes.models import Inquiry
from quoting.quotes.steps import effective
from quoting.units import show

NAMED_BY = ("code", "operation", "name", "key", "need", "measure")  # what tells two rows of a list apart
PLACES = {
    "rates": "Rates", "plants": "Plants", "machines": "Machines", "polymers": "Polymers", "offers": "Sheet offers",
    "corrections": "Correction factors", "workload": "Booked work",
}  # fmt: skip
ROUTE = {"plant": "name", "machine": "code", "polymer": "name"}
ABSENT = "–"
MOST_LINES = 200
BENEATH = "figures behind decision, route, prices and dates, which stay"


@dataclass(frozen=True)
class Line:
    """One thing that differs: where it stands, what it was, what it is."""

    section: str
    what: str
    old: str
    new: str


@dataclass(frozen=True)
class DataLine:
    """One stored value that differs, as it is stored: SI, or text of money and dates; None where there was none.

    ``rows`` name what it belongs to, from the outside in; ``keys`` lead to it through the stored data, without them.
    """

    section: str
    rows: tuple[str, ...]
    keys: tuple[str, ...]
    old: Any
    new: Any


@dataclass(frozen=True)
class Changed:
    """Everything that the estimator sees before answering anew. ``known`` is false where no data were kept."""

    known: bool
    data: tuple[DataLine, ...]
    answer: tuple[Line, ...]
    left_out: int = 0

    @property
    def same_answer(self) -> bool:
        return not self.answer


def what_changed(inquiry: Inquiry, on: date) -> Changed:
    """Data then against now, and the stored answer against the one that today's data give. Nothing is stored."""
    catalog = selectors.catalog(on)
    kept = master_data.kept_plain(inquiry.catalog_digest)
    lines = data_lines(kept, to_plain(master_data.behind(catalog))) if kept else ()
    again = outcome(effective(inquiry), catalog, inquiry.answered_on or on)
    told = () if again.digest == inquiry.data_digest else answer_lines(inquiry.snapshot, again.snapshot)
    return Changed(kept is not None, lines[:MOST_LINES], told, max(0, len(lines) - MOST_LINES))


def data_lines(old: dict, new: dict) -> tuple[DataLine, ...]:
    """Every value of two plain catalogs that differs, by section, row and field.

    >>> data_lines({"rates": {"price": {"margin": "0.14"}}}, {"rates": {"price": {"margin": "0.15"}}})
    (DataLine(section='Rates', rows=(), keys=('price', 'margin'), old='0.14', new='0.15'),)
    """
    found = []
    for section, name in PLACES.items():
        if section == "workload":
            found += _booked(old.get(section, []), new.get(section, []))
            continue
        before, after = (dict(_leaves(_without_sources(one.get(section)))) for one in (old, new))
        found += [
            DataLine(name, *place, before.get(place), after.get(place))
            for place in dict.fromkeys((*before, *after))
            if before.get(place) != after.get(place) and _matters(section, place[1])
        ]
    return tuple(found)


def _matters(section: str, keys: tuple[str, ...]) -> bool:
    """Of corrections only what changes a figure: how many runs stand behind a factor does not."""
    return section != "corrections" or keys[-1:] in (("version",), ("factor",), ("least",), ("most",))


def _without_sources(section: Any) -> Any:
    """Where a value comes from is not what it is."""
    if isinstance(section, dict):
        return {key: value for key, value in section.items() if key != "sources"}
    if isinstance(section, list):
        return [_without_sources(one) for one in section]
    return section


def _leaves(tree: Any, rows: tuple[str, ...] = (), keys: tuple[str, ...] = ()) -> Any:
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from _leaves(value, rows, (*keys, key))
    elif isinstance(tree, list) and any(isinstance(one, dict) for one in tree):
        for place, one in enumerate(tree):
            called = next((key for key in NAMED_BY if key in one), "")
            name = str(one[called]) if called else str(place + 1)
            yield from _leaves({key: value for key, value in one.items() if key != called}, (*rows, name), keys)
    else:
        yield (rows, keys), tree


def _booked(old: list, new: list) -> list[DataLine]:
    """Hours of each machine and week, since one job more moves them."""
    before, after = _hours(old), _hours(new)
    moved = [key for key in sorted(before.keys() | after.keys()) if round(before.get(key, 0) - after.get(key, 0), 6)]
    return [DataLine(PLACES["workload"], key, ("hours",), before.get(key), after.get(key)) for key in moved]


def _hours(rows: list) -> dict[tuple[str, str], float]:
    found: dict[tuple[str, str], float] = {}
    for row in rows:
        key = (row["machine"], row["week"])
        found[key] = found.get(key, 0.0) + row["hours"]
    return found


def answer_lines(old: dict | None, new: dict | None) -> tuple[Line, ...]:
    """Decision, route, prices and dates of two stored answers, where they differ.

    One line says so where none of these differs but something behind them does.
    """
    before, after = _headline(old), _headline(new)
    found = tuple(
        Line("Answer", what, before.get(what, ABSENT), after.get(what, ABSENT))
        for what in dict.fromkeys((*before, *after))
        if before.get(what) != after.get(what)
    )
    return found or (Line("Answer", BENEATH, "as stored", "slightly different"),)


def _headline(snapshot: dict | None) -> dict[str, str]:
    """What a person would read first: decision, route, prices and times, or what stands in the way."""
    if snapshot is None:
        return {"decision": "bad input"}
    rows = {"decision": snapshot["decision"].replace("_", " ")}
    rows |= {f"to be asked for: {one['field']}": "missing" for one in snapshot.get("missing", ())}
    chosen = snapshot.get("chosen")
    if chosen and chosen.get("cost"):
        return rows | _offered(chosen)
    return rows | _in_the_way(obstacles(snapshot))


def _offered(chosen: dict) -> dict[str, str]:
    candidate = chosen["judged"]["planned"].get("candidate", {})
    rows = {what: candidate[what][inner] for what, inner in ROUTE.items() if what in candidate}
    for one in chosen["cost"]["breaks"]:
        rows[f"{one['quantity']:,} parts, landed price each"] = _dollars(one["landed_unit_price"])
        rows[f"{one['quantity']:,} parts, lead time"] = show(one["lead_time_weeks"], "weeks")
    for tool in chosen["cost"].get("tooling", ()):
        rows[f"tooling, {tool['name'].replace('_', ' ')}"] = _dollars(tool["price"])
    return rows


def _in_the_way(closest: dict | None) -> dict[str, str]:
    """The closest way to make it and each rule that it breaks, with what was measured and the limit."""
    if closest is None:
        return {}
    route = closest["route"]
    rows = {"ways tried": str(closest["tried"]), "closest way": f"{route['machine']}, {route['polymer']}"}
    for one in closest["verdicts"]:
        measured, limit = (
            ABSENT if one[name] is None else show(one[name], one["unit"], "both") for name in ("measured", "limit")
        )
        rows[f"{one['rule'].replace('_', ' ')}, this part against the limit"] = f"{measured} against {limit}"
    return rows


def _dollars(amount: str) -> str:
    return f"${Decimal(amount):,.2f}"
