"""What changed between the data behind an answer and today's, and what that does to the answer; in readable lines."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from quoting.contract import to_plain
from quoting.quotes import master_data, selectors
from quoting.quotes.answers import outcome
from quoting.quotes.models import Inquiry
from quoting.quotes.steps import effective

NAMED_BY = ("code", "name", "key", "need")  # what tells two rows of a list apart
PLACES = {
    "rates": "Rates", "plants": "Plants", "machines": "Machines", "polymers": "Polymers", "offers": "Sheet offers",
    "workload": "Booked work",
}  # fmt: skip
ROUTE = {"plant": "name", "machine": "code", "polymer": "name"}
ABSENT = "–"
MOST_LINES = 200


@dataclass(frozen=True)
class Line:
    """One thing that differs: where it stands, what it was, what it is."""

    section: str
    what: str
    old: str
    new: str


@dataclass(frozen=True)
class Changed:
    """Everything that the estimator sees before answering anew. ``known`` is false where no data were kept."""

    known: bool
    data: tuple[Line, ...]
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


def data_lines(old: dict, new: dict) -> tuple[Line, ...]:
    """Every value of two plain catalogs that differs, by section, row and field.

    >>> data_lines({"rates": {"price": {"margin": "0.14"}}}, {"rates": {"price": {"margin": "0.15"}}})
    (Line(section='Rates', what='price.margin', old='0.14', new='0.15'),)
    """
    found = []
    for section, name in PLACES.items():
        if section == "workload":
            found += _booked(old.get(section, []), new.get(section, []))
            continue
        before, after = (dict(_leaves(_without_sources(one.get(section)), "")) for one in (old, new))
        for what in dict.fromkeys((*before, *after)):
            if before.get(what, ABSENT) != after.get(what, ABSENT):
                found.append(Line(name, what, _said(before.get(what)), _said(after.get(what))))
    return tuple(found)


def _without_sources(section: Any) -> Any:
    """Where a rate comes from is not what it is."""
    if isinstance(section, dict):
        return {key: value for key, value in section.items() if key != "sources"}
    return section


def _leaves(tree: Any, path: str) -> Any:
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from _leaves(value, f"{path}.{key}" if path else key)
    elif isinstance(tree, list) and any(isinstance(one, dict) for one in tree):
        for place, one in enumerate(tree):
            name = next((str(one[key]) for key in NAMED_BY if key in one), str(place + 1))
            yield from _leaves({key: value for key, value in one.items() if key != "name" or "code" in one},
                               f"{path} {name}".strip())  # fmt: skip
    else:
        yield path, tree


def _booked(old: list, new: list) -> list[Line]:
    """Hours of each machine and week, since one job more moves them."""
    before, after = _hours(old), _hours(new)
    moved = [key for key in sorted(before.keys() | after.keys()) if round(before.get(key, 0) - after.get(key, 0), 6)]
    return [
        Line("Booked work", f"{machine}, week of {week}, hours", _said(before.get((machine, week))),
             _said(after.get((machine, week))))
        for machine, week in moved
    ]  # fmt: skip


def _hours(rows: list) -> dict[tuple[str, str], float]:
    found: dict[tuple[str, str], float] = {}
    for row in rows:
        key = (row["machine"], row["week"])
        found[key] = found.get(key, 0.0) + row["hours"]
    return found


def _said(value: Any) -> str:
    if value is None:
        return ABSENT
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, list):
        return ", ".join(map(_said, value))
    return str(value)


def answer_lines(old: dict | None, new: dict | None) -> tuple[Line, ...]:
    """Decision, route, prices and dates of two stored answers, where they differ.

    The last line says so where none of these differs but something beneath them does.
    """
    before, after = _headline(old), _headline(new)
    found = tuple(
        Line("Answer", what, before.get(what, ABSENT), after.get(what, ABSENT))
        for what in dict.fromkeys((*before, *after))
        if before.get(what) != after.get(what)
    )
    return found or (Line("Answer", "figures beneath price and route", "as stored", "slightly different"),)


def _headline(snapshot: dict | None) -> dict[str, str]:
    if snapshot is None:
        return {"decision": "bad input"}
    rows = {"decision": snapshot["decision"].replace("_", " ")}
    chosen = snapshot.get("chosen")
    if not chosen or not chosen.get("cost"):
        return rows
    candidate = chosen["judged"]["planned"].get("candidate", {})
    rows |= {what: candidate[what][inner] for what, inner in ROUTE.items() if what in candidate}
    for one in chosen["cost"]["breaks"]:
        rows[f"{one['quantity']:,} parts, landed price each"] = f"${one['landed_unit_price']}"
        rows[f"{one['quantity']:,} parts, lead time"] = f"{one['lead_time_weeks']:g} weeks"
    for tool in chosen["cost"].get("tooling", ()):
        rows[f"tooling, {tool['name'].replace('_', ' ')}"] = f"${tool['price']}"
    return rows
