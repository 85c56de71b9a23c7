"""What the two pages of an inquiry show of its answer, written once in each process for each stored answer.

Pieces end where the pages put in what does not rest on the answer alone: questions with the customer's address, runs,
the model, links.
"""

from dataclasses import dataclass

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from quoting.desk import fragments, present
from quoting.documents.forming_charts import stations_chart
from quoting.documents.forming_study import study_shown
from quoting.documents.lead_chart import lead_shown
from quoting.documents.price_shown import advice_shown
from quoting.documents.range_strip import range_shown
from quoting.quotes.fronts import StoredFront


@dataclass(frozen=True)
class Shown:
    """``facts`` are what a page asks of the answer: decision, answered_on, missing, chosen, study, steps, compared."""

    facts: dict
    markup: dict[str, SafeString]  # decision, ways, terms


def shown_to_rep(front: StoredFront, *, draft: bool) -> Shown:
    """Without cost, rate or margin; ``draft`` where nobody has approved the prices yet."""
    part = "rep-draft" if draft else "rep"
    return Shown(*fragments.kept_parts(part, front, lambda stored: _rep_written(stored, draft=draft)))


def shown_to_office(front: StoredFront) -> Shown:
    """With every figure behind the price."""
    return Shown(*fragments.kept_parts("office", front, _office_written))


def _rep_written(front: dict, *, draft: bool) -> tuple[dict, fragments.Markup]:
    answer = present.answer_for_rep(front)
    lead = present.lead_of(front, inside=True)  # nothing for answers stored before there were steps
    context = {"answer": answer, "draft": draft, "lead": lead, "one_column": True}
    return _facts(front), _written(context, "desk/parts/ways_for_rep.html")


def _office_written(front: dict) -> tuple[dict, fragments.Markup]:
    context = {"answer": present.answer_for_rep(front)}
    if front["chosen"]:
        context |= priced_page(front["chosen"], front.get("study"), front["answered_on"]) | {
            "chosen": True,
            "range": range_shown(front.get("range")),  # answers stored before there were ranges have none
            "advice": advice_shown(front),
            "hazards": front.get("hazards", ()),  # nor have they hazards
            "pace": front.get("pace"),  # nor a pace
        }
    return _facts(front), _written(context, "desk/parts/ways_for_office.html")


def _facts(front: dict) -> dict:
    chosen = front["chosen"]
    return {key: front[key] for key in ("decision", "answered_on", "missing")} | {
        "chosen": bool(chosen),
        "study": bool(front.get("study")),
        "steps": bool(chosen) and has_steps(chosen),
        "compared": front.get("compared"),
    }


def _written(context: dict, ways: str) -> fragments.Markup:
    templates = {"decision": "desk/parts/decision.html", "ways": ways, "terms": "desk/parts/metal_and_terms.html"}
    return {name: render_to_string(template, context) for name, template in templates.items()}


def has_steps(priced: dict) -> bool:
    """Whether a candidate has a lead time by steps; answers stored before there were such have none."""
    return bool(priced["cost"]) and any(one.get("timing") for one in priced["cost"]["breaks"])


def priced_page(priced: dict, study: dict | None, answered_on: str) -> dict:
    """Forming plan, verdicts, cost and lead time of one candidate; its study where the answer holds one for it."""
    planned, cost = priced["judged"]["planned"], priced["cost"]
    return {
        "candidate": planned["candidate"],
        "plan": planned["plan"],
        "stations": stations_chart(planned["plan"]["cycle"]) if planned["plan"] else None,
        "study": study_shown(study, planned),
        "verdicts": present.ordered_verdicts(priced),
        "cost": cost,
        "lead": lead_shown(cost["breaks"], answered_on, inside=True) if cost else [],
        "cost_rows": present.cost_rows(cost) if cost else [],
        "packings": present.packing_rows(cost) if cost else [],
        "tooling_total": present.tooling_total(cost) if cost else None,
    }
