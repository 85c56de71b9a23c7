"""The answer as a person reads it in a terminal."""

from decimal import Decimal

from quoting.answer import Answer, PricedCandidate
from quoting.contract import to_plain
from quoting.conversion import MetalComparison
from quoting.costing.cost_range import CostRange
from quoting.costing.lines import Amortised
from quoting.costing.pace import Pace
from quoting.desk.labels import said
from quoting.documents.labels import STRENGTHS
from quoting.documents.metal import metal_table
from quoting.routing.candidate import PlannedCandidate
from quoting.units import show, spoken


def readable(answer: Answer) -> str:
    """The answer in plain lines [-].

    Parameters
    ----------
    answer : Answer
        [-]

    Returns
    -------
    text : str
        [-]
    """
    sections = [
        [answer.decision.replace("_", " ").upper(), spoken(answer.summary)],
        _making(answer.chosen, answer.range) if answer.chosen else [],
        _pace(answer.pace) if answer.pace else [],
        _metal(answer.metal_comparison) if answer.metal_comparison else [],
        _titled("Conditions", (f"{spoken(one.what)}: {spoken(one.why)}" for one in answer.conditions)),
        _titled("Missing", (f"{one.field}: {one.why}" for one in answer.missing)),
        _refused(answer),
        _titled("Assumptions", (f"{one.field} = {spoken(one.value)} ({one.why})" for one in answer.assumptions)),
        _titled("Please check", (f"{one.field}: {spoken(one.text)}" for one in answer.doubts)),
        _titled("Cautions", (*answer.cautions, *(spoken(hazard) for hazard in answer.hazards))),
    ]
    return "\n\n".join("\n".join(section) for section in sections if section)


def _titled(title: str, lines: object) -> list[str]:
    listed = [f"  - {line}" for line in lines]
    return [title, *listed] if listed else []


def _range(found: CostRange | None) -> list[str]:
    if found is None:
        return []
    labels = {one.name: one.label for one in found.inputs}
    lines = [
        f"Landed unit price, low to high ($; {found.low_percent} of 100 cases lie below the low end, "
        f"{100 - found.high_percent} above the high one), and what moves it most"
    ]
    for one in found.releases:
        most = ", ".join(labels[effect.name] for effect in one.matter_most)
        lines.append(f"{one.quantity:>8,} {one.landed.low:>12.2f} to {one.landed.high:.2f}: {most}")
    return [*lines, ""]


def _making(chosen: PricedCandidate, found: CostRange | None) -> list[str]:
    planned, cost = chosen.judged.planned, chosen.cost
    layout, plan = planned.candidate.layout, planned.plan
    lines = [
        f"Blank {show(layout.blank_length, 'm')} x {show(layout.blank_width, 'm')}, gauge "
        f"{show(planned.candidate.gauge, 'm')}, {layout.cavities} per blank, "
        f"selvedge {show(plan.selvedge_fraction, 'share')}",
        f"Walls{_over(planned)}: mean {show(plan.thinning.mean_wall, 'm')}, thinnest "
        f"{show(plan.thinning.thinnest_wall, 'm')}",
        f"Heating {show(plan.heating.time, 's')}, cooling {show(plan.cooling.time, 's')}, index "
        f"{show(plan.cycle.index, 's')} set by {plan.cycle.governing_station}, "
        f"{plan.cycle.parts_per_hour:.1f} parts an hour",
        "",
        f"{'release':>8} {'unit price $':>12} {'freight $':>10} {'landed $':>12} {'weeks':>11}",
    ]
    lines += [
        f"{one.quantity:>8,} {one.unit_price:>12.2f} {one.freight_per_part:>10.2f} {one.landed_unit_price:>12.2f} "
        f"{one.lead_time_weeks:>11.1f}"
        for one in cost.breaks
    ]
    return lines + [
        "",
        *_range(found),
        *(
            f"Tooling: {said(one.name)}, ${one.price:,.2f}, {show(one.lead_time_weeks, 'weeks')}"
            for one in cost.tooling
        ),
        *(f"Beside it, in no sum: {said(one.name)}, {_between(one.low, one.high)}" for one in cost.options),
        *_paid(cost.amortised),
    ]


def _over(planned: PlannedCandidate) -> str:
    return " over a male tool" if planned.request.part.tool_side == "male" else ""


def _paid(amortised: Amortised | None) -> list[str]:
    if amortised is None:
        return ["Tooling is billed separately."]
    return [
        f"Tooling is in the unit price: ${amortised.per_part:,.2f} in each of the first {amortised.parts:,} parts, "
        f"with a carrying charge of ${amortised.carrying:,.2f}."
    ]


def _between(low: Decimal, high: Decimal) -> str:
    return f"${low:,.2f}" if low == high else f"${low:,.2f} to ${high:,.2f}"


def _pace(pace: Pace) -> list[str]:
    word = {"former": "the former", "trimmer": "the trimmer", None: "neither"}[pace.governs]
    return [
        f"Bottleneck: {word}; {pace.former.code} {pace.former.parts_per_hour:.1f} and {pace.trimmer.code} "
        f"{pace.trimmer.parts_per_hour:.1f} good parts an hour",
        *(
            f"Trim on {one.code} ({said(one.kind)}): {one.cycle:.0f} s a piece, ${one.per_part:,.2f} a part, fixtures "
            f"${one.fixtures:,.2f}" + (", used" if one.used else "")
            for one in pace.ways
        ),
    ]


def _metal(comparison: MetalComparison) -> list[str]:
    """The comparison's own sentences; its tables stand in ``--json`` and on the pages."""
    table = metal_table(to_plain(comparison))
    return [f"Against the part in {table['metal']}", *(f"  {sentence}" for sentence in table["sums"])]


def _refused(answer: Answer) -> list[str]:
    if answer.referral is None:
        return []
    lines = [f"Where it should go instead: {answer.referral.process}", f"  {spoken(answer.referral.why)}"]
    if answer.referral.process in STRENGTHS:
        lines.append(f"  {STRENGTHS[answer.referral.process]}")
    if answer.deciding:
        lines.append(f"What would change it: {spoken(answer.deciding.remedy)}")
    return lines
