"""From a stored answer (plain dict) to what one role's page shows. Nothing is computed here but order and grouping."""

from datetime import date
from decimal import Decimal

from quoting.documents.lead_chart import lead_shown
from quoting.documents.metal import metal_table
from quoting.documents.price_shown import advice_for_rep
from quoting.documents.reasons import in_the_way, steps_short
from quoting.quotes.fronts import obstacles, route

DECISIONS = {
    "quote": "We can make it",
    "not_a_fit": "Not a fit for our machines",
    "needs_information": "We need more information",
}
NO_DATE = {
    "not_a_fit": "No lead time is given, since no way of making it here passes. Once what stands in the way is "
    "changed, a new answer gives the weeks step by step.",
    "needs_information": "Nor can a lead time: weeks for tool, sheet, the queue at a machine, forming, trim, assembly "
    "and the road follow from what is missing.",
}
STATUS_ORDER = {"fails": 0, "not_assessed": 1, "fits_if": 2, "fits": 3}
BREAK_FOR_REP = ("quantity", "unit_price", "freight_per_part", "landed_unit_price", "lead_time_weeks")
OPTION_FOR_REP = ("name", "low", "high")
TOOLING_FOR_REP = ("name", "price", "lead_time_weeks")
MOST_QUESTIONS = 8
FIRST_FITTING, FIRST_OTHERS = 25, 15
NOT_ASKED = ""  # a rule that says nothing of a candidate, which was refused before it


def picked(source: dict, keys: tuple[str, ...]) -> dict:
    return {key: source[key] for key in keys}


def answer_for_rep(snapshot: dict) -> dict:
    """What a sales rep may see: decision, prices and reasons; no cost line, no hour rate, no margin."""
    chosen = snapshot["chosen"]
    cost = chosen["cost"] if chosen else None
    return {
        **picked(snapshot, ("decision", "summary", "conditions", "missing", "assumptions", "doubts", "cautions")),
        "headline": DECISIONS[snapshot["decision"]],
        "answered_on": snapshot["answered_on"],
        "referral": snapshot["referral"],
        "metal": metal_table(snapshot["metal_comparison"]),
        "route": route(chosen) if chosen else None,
        "breaks": [picked(one, BREAK_FOR_REP) for one in cost["breaks"]] if cost else [],
        "tooling": [picked(one, TOOLING_FOR_REP) for one in cost["tooling"]] if cost else [],
        "amortised": cost.get("amortised") if cost else None,  # answers stored before it was kept have neither
        "options": [picked(one, OPTION_FOR_REP) for one in cost.get("options", ())] if cost else [],
        "advice": advice_for_rep(snapshot.get("advice")),
        "obstacles": obstacles_of(snapshot),
        "no_date": NO_DATE.get(snapshot["decision"], ""),
    }


def lead_of(snapshot: dict, *, inside: bool) -> list[dict]:
    """Lead time of each release by steps, with its chart; for a customer whole stages. Empty in older answers."""
    chosen = snapshot["chosen"]
    cost = chosen["cost"] if chosen else None
    return lead_shown(cost["breaks"], snapshot["answered_on"], inside=inside) if cost else []


def obstacles_of(answer: dict) -> dict | None:
    """What stood in the way: kept in the front of an answer, found among the candidates of a whole one."""
    if "obstacles" in answer:
        return answer["obstacles"]
    return obstacles(answer) if answer["decision"] == "not_a_fit" else None


def landed(priced: dict) -> str | None:
    """Landed unit price at the largest release: what candidates are compared by."""
    return priced["cost"]["breaks"][-1]["landed_unit_price"] if priced["cost"] else None


def arrival(priced: dict) -> dict:
    """Day on which the first release would be there, and days after the one asked for; None in older answers."""
    arrives = priced["cost"]["breaks"][0].get("arrives") if priced["cost"] else None
    needed = priced["judged"]["planned"]["request"]["needed_by"]
    late = (date.fromisoformat(arrives) - date.fromisoformat(needed)).days if arrives and needed else 0
    return {"arrives": arrives, "late": max(0, late)}


def candidate_rows(snapshot: dict) -> list[dict]:
    """Every candidate: fits in time before late and by landed price, the others by how few rules they fail; last those
    that were refused before they were planned."""
    chosen = snapshot["chosen"]
    rows = [
        {
            "number": number,
            "route": route(priced),
            "fits": not in_the_way(priced),
            "landed": landed(priced),
            **arrival(priced),
            "failures": len(in_the_way(priced)),
            "short": steps_short(priced),
            "marks": {verdict["rule"]: verdict for verdict in priced["judged"]["verdicts"]},
            "chosen": bool(chosen) and same_route(priced, chosen),
        }
        for number, priced in enumerate(snapshot["candidates"])
    ]
    return sorted(rows, key=_place)


def _place(row: dict) -> tuple:
    price = float(row["landed"] or 0)
    return not row["fits"], row["short"], row["late"], price, row["failures"], row["number"]


def same_route(one: dict, other: dict) -> bool:
    return one["judged"]["planned"]["candidate"] == other["judged"]["planned"]["candidate"]


def candidate_grid(snapshot: dict, wanted: dict[str, str], *, every_row: bool, every_rule: bool) -> dict:
    """The comparison: rules as columns, candidates as rows, narrowed to the wanted plant, process or polymer.

    Unless asked for, rows stop at the first ones, and rules that every candidate shown passes (of those that were asked
    it) are only named.
    """
    rows = candidate_rows(snapshot)
    matching = [row for row in rows if all(row["route"][key] == value for key, value in wanted.items() if value)]
    shown = matching if every_row else first_rows(matching)
    rules = list(dict.fromkeys(rule for row in rows for rule in row["marks"]))
    passed = [rule for rule in rules if all(status_of(row, rule) in ("fits", NOT_ASKED) for row in shown)]
    if not every_rule:
        rules = [rule for rule in rules if rule not in passed]
    return {
        "rules": rules,
        "passed_by_all": [] if every_rule else passed,
        "matching": len(matching),
        "rows": [{**row, "cells": [row["marks"].get(rule) for rule in rules]} for row in shown],
        "total": len(rows),
        "fitting": sum(row["fits"] for row in rows),
        "unplanned": sum(row["short"] > 0 for row in rows),
        "choices": {
            key: sorted({row["route"][key] for row in rows}) for key in ("process", "plant", "machine", "polymer")
        },
    }


def first_rows(rows: list[dict]) -> list[dict]:
    """The best that fit and the nearest that do not, so that both sides of the choice are in view."""
    fitting = [row for row in rows if row["fits"]]
    others = [row for row in rows if not row["fits"]]
    return fitting[:FIRST_FITTING] + others[:FIRST_OTHERS]


def status_of(row: dict, rule: str) -> str:
    return row["marks"][rule]["status"] if rule in row["marks"] else NOT_ASKED


def ordered_verdicts(priced: dict) -> list[dict]:
    """Verdicts of one candidate, what stands in the way first."""
    return sorted(priced["judged"]["verdicts"], key=lambda verdict: STATUS_ORDER[verdict["status"]])


def cost_rows(cost: dict) -> list[dict]:
    """Cost lines by name, one cell per release, each openable to its formula and inputs."""
    quantities = [one["quantity"] for one in cost["breaks"]]
    names = list(dict.fromkeys(line["name"] for line in cost["lines"]))
    by_key = {(line["name"], line["quantity"]): line for line in cost["lines"]}
    return [cost_row(name, [(quantity, by_key.get((name, quantity))) for quantity in quantities]) for name in names]


def cost_row(name: str, cells: list[tuple[int, dict | None]]) -> dict:
    lines = [line for _, line in cells if line]
    return {
        "name": name,
        "cells": [{"quantity": quantity, "per_part": line["per_part"] if line else None} for quantity, line in cells],
        "bases": list(dict.fromkeys(line["basis"] for line in lines)),
        "inputs": input_rows([(line["inputs"] if line else []) for _, line in cells]),
        "totals": [line["total"] if line else None for _, line in cells],
    }


def input_rows(inputs_by_release: list[list[dict]]) -> list[dict]:
    """Inputs of one line side by side for each release; one value where all releases share it."""
    keys = list(dict.fromkeys((one["name"], one["unit"], one["source"]) for many in inputs_by_release for one in many))
    rows = []
    for key in keys:
        values = [
            next((one["value"] for one in many if (one["name"], one["unit"], one["source"]) == key), None)
            for many in inputs_by_release
        ]
        rows.append({"name": key[0], "unit": key[1], "source": key[2], "values": values})
    return rows


def questions_text(missing: list[dict], labels: dict[str, str], name: str) -> str:
    """A ready e-mail that asks the customer for what is missing."""
    lines = [f"- {labels.get(one['field'], one['field'])}: {one['why']}" for one in missing[:MOST_QUESTIONS]]
    return "\n".join(
        [f"To quote {name or 'your part'} we still need:", "", *lines, "", "A reply to this e-mail is enough."]
    )


def tooling_total(cost: dict) -> Decimal:
    """All tools together."""
    return sum((Decimal(one["price"]) for one in cost["tooling"]), Decimal(0))


def packing_rows(cost: dict) -> list[dict]:
    """Packing of each release beside its quantity."""
    return [
        {"quantity": one["quantity"], "packing": packing}
        for one, packing in zip(cost["breaks"], cost["packings"], strict=True)
    ]
