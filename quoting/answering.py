"""From a typed inquiry and a catalog to an answer: one pure function, the clock and the database left outside."""

from collections.abc import Iterable
from datetime import date, timedelta

from materials.stiffness import METALS as METAL_DATA
from materials.stiffness import equal_stiffness_thickness, stiffness_ratio
from quoting.answer import (
    NEEDS_INFORMATION,
    NOT_A_FIT,
    QUOTE,
    Answer,
    Condition,
    MetalComparison,
    PricedCandidate,
)
from quoting.catalog import Catalog
from quoting.costing.price_breaks import landed_cost
from quoting.intake.part import PartRequest
from quoting.intake.reading_result import Reading
from quoting.routing.candidates import candidates
from quoting.routing.judging import judged
from quoting.routing.referral import deciding_verdict, referral
from quoting.words import Words, words

GENERAL_CAUTIONS = (
    "Prices rest on the assumptions and the drawing revision named here; when one of them is wrong, the price changes.",
    "The customer confirms that polymer, design, loads and end use are right; no structural, lifting, pressure, "
    "potable-water, medical-implant or aircraft use is accepted unless agreed in writing.",
    "Local codes and licensed practice govern installation and use; this answer is no engineering advice.",
)
PRESSURE_CAUTION = (
    "Pressure forming stores compressed air behind the sheet: interlocks, a proven lock before air is admitted and a "
    "proven vent before unlocking are required; whether the box falls under a pressure-equipment code is for the "
    "local authority and a qualified engineer to decide."
)
TRIM_CAUTION = (
    "Trimming and regrinding make combustible dust and sharp edges: dust collection, housekeeping and protective "
    "equipment follow local fire and safety codes."
)
FUME_CAUTION = (
    "Heated sheet is hot and gives off fumes, acid gas when PVC is overheated: exhaust, temperature limits and the "
    "sheet maker's safety data sheet apply on the shop floor."
)
AGENCY_CAUTION = (
    "Food-contact and flame claims belong to the sheet grade, its colour and its thickness; a listing of the finished "
    "part can only come from the certifier, and forming thins the wall."
)


def answered(reading: Reading, catalog: Catalog, on: date) -> Answer:
    """Answer one inquiry that was read.

    Parameters
    ----------
    reading : Reading
        The inquiry as values, or what it lacks [-].
    catalog : Catalog
        Plants, machines, polymers, sheet, rates and booked work [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    answer : Answer
        A quote, not a fit, or a request for what is missing [-].
    """
    if reading.request is None:
        return _asking_back(reading, on)
    priced = best_of_groups(reading.request, catalog, on)
    fitting = [one for one in priced if one.cost is not None]
    if not fitting:
        return _not_a_fit(reading, priced, on)
    return _quote(reading, priced, min(fitting, key=lambda one: choice_key(one, on)), on)


def best_of_groups(request: PartRequest, catalog: Catalog, on: date) -> tuple[PricedCandidate, ...]:
    """For each process, machine, polymer and sheet: its best blank layout, judged, and priced where it fits.

    Parameters
    ----------
    request : PartRequest
        What was asked [-].
    catalog : Catalog
        All that we know [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    priced : tuple of PricedCandidate
        Those that fit by landed price, then the others by failed rules [-].
    """
    groups = judged(request, candidates(request, catalog, on), catalog, on)
    priced = [_best_layout(group, catalog, on) for group in groups]
    return tuple(sorted(priced, key=lambda one: display_key(one, on)))


def _best_layout(group: Iterable, catalog: Catalog, on: date) -> PricedCandidate:
    group = tuple(group)
    fitting = [one for one in group if one.fits]
    if not fitting:
        closest = min(group, key=lambda one: (_failures(one), one.planned.candidate.layout.turned))
        return PricedCandidate(closest, None, len(group))
    priced = [PricedCandidate(one, landed_cost(one.planned, catalog, on), len(group)) for one in fitting]
    return min(priced, key=lambda one: programme_cost(one, catalog) + (one.judged.planned.candidate.layout.turned,))


def programme_cost(priced: PricedCandidate, catalog: Catalog) -> tuple:
    """What the parts and tools of the whole programme cost: by this the number of cavities is chosen.

    Parameters
    ----------
    priced : PricedCandidate
        A candidate that fits [-].
    catalog : Catalog
        For the programme's years [-].

    Returns
    -------
    key : tuple
        (landed cost of all parts plus tooling [$], cavities [-])
    """
    planned = priced.judged.planned
    years = catalog.rates.price.programme_years
    tooling = sum(line.price for line in priced.cost.tooling)
    parts = priced.cost.ranking_price * planned.request.annual * years
    return (parts + tooling, planned.candidate.layout.cavities)


def choice_key(priced: PricedCandidate, on: date) -> tuple:
    """The order of choice: meets the date, lowest landed price, least tooling, then plant, machine, polymer, sheet.

    When no candidate meets the date the quickest comes first, so that the customer hears the earliest we can do.

    Parameters
    ----------
    priced : PricedCandidate
        A candidate that fits [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    key : tuple
        [-]
    """
    planned, cost = priced.judged.planned, priced.cost
    candidate = planned.candidate
    return (
        weeks_late(priced, on),
        cost.ranking_price,
        sum(line.price for line in cost.tooling),
        candidate.plant.code,
        candidate.machine.code,
        candidate.polymer.name,
        candidate.offer.name,
        candidate.process,
    )


def weeks_late(priced: PricedCandidate, on: date) -> float:
    """By how many weeks the first release would come after the date it is needed.

    Parameters
    ----------
    priced : PricedCandidate
        A candidate that fits [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    late : float
        0 when it comes in time or no date was given [weeks].
    """
    needed = priced.judged.planned.request.needed_by
    if needed is None:
        return 0.0
    return max(0.0, priced.cost.breaks[0].lead_time_weeks - (needed - on).days / 7)


def display_key(priced: PricedCandidate, on: date) -> tuple:
    """The order on the screen: candidates that fit in their order of choice, then the others by failed rules.

    Parameters
    ----------
    priced : PricedCandidate
        Any candidate [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    key : tuple
        [-]
    """
    if priced.cost is not None:
        return (0, *choice_key(priced, on))
    candidate = priced.judged.planned.candidate
    offer = candidate.offer.name if candidate.offer else ""
    return (
        1,
        _failures(priced.judged),
        candidate.plant.code,
        candidate.machine.code,
        candidate.polymer.name,
        offer,
        candidate.process,
    )


def _failures(one: object) -> int:
    return sum(not verdict.passed for verdict in one.verdicts)


def _asking_back(reading: Reading, on: date) -> Answer:
    first = ", ".join(missing.field for missing in reading.missing)
    summary = words(f"We need more information before we can answer: {first}.")
    return _answer(reading, NEEDS_INFORMATION, summary, on)


def _not_a_fit(reading: Reading, priced: tuple[PricedCandidate, ...], on: date) -> Answer:
    referred = referral(tuple(one.judged for one in priced), reading.request)
    verdict = deciding_verdict(tuple(one.judged for one in priced))
    summary = Words(
        f"This part is not a fit for our forming: {verdict.reason.text} We would send it to {referred.process}.",
        verdict.reason.figures,
    )
    return _answer(reading, NOT_A_FIT, summary, on, candidates=priced, referral=referred, deciding=verdict)


def _quote(reading: Reading, priced: tuple[PricedCandidate, ...], chosen: PricedCandidate, on: date) -> Answer:
    candidate, cost = chosen.judged.planned.candidate, chosen.cost
    process = candidate.process.replace("_", "-")
    summary = words(
        f"We can make this by {process} forming in {candidate.polymer.name} at {candidate.plant.name} on machine "
        f"{candidate.machine.code}, at {{price}} landed for {cost.breaks[-1].quantity} parts.",
        price=(float(cost.ranking_price), "$"),
    )
    return _answer(
        reading,
        QUOTE,
        summary,
        on,
        candidates=priced,
        chosen=chosen,
        conditions=_conditions(chosen, reading.request, on),
        metal_comparison=_metal(chosen),
        cautions=cautions(chosen),
    )


def _answer(reading: Reading, decision: str, summary: Words, on: date, **parts: object) -> Answer:
    empty = {
        "chosen": None,
        "candidates": (),
        "referral": None,
        "metal_comparison": None,
        "conditions": (),
        "cautions": GENERAL_CAUTIONS if decision == NOT_A_FIT else (),
        "deciding": None,
    }
    return Answer(
        decision=decision,
        summary=summary,
        answered_on=on,
        request=reading.request,
        missing=reading.missing,
        assumptions=reading.assumptions,
        doubts=reading.doubts,
        **(empty | parts),
    )


def cautions(chosen: PricedCandidate) -> tuple[str, ...]:
    """The usual cautions that go with this process, polymer and need.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].

    Returns
    -------
    cautions : tuple of str
        [-]
    """
    planned = chosen.judged.planned
    agency = {"food_contact", "flame_v0"} & set(planned.request.needs)
    by_process = (PRESSURE_CAUTION,) if planned.candidate.process != "vacuum" else ()
    by_need = (AGENCY_CAUTION,) if agency else ()
    return GENERAL_CAUTIONS + by_process + by_need + (TRIM_CAUTION, FUME_CAUTION)


def _conditions(chosen: PricedCandidate, request: PartRequest, on: date) -> tuple[Condition, ...]:
    from_rules = tuple(
        Condition(verdict.condition, verdict.reason) for verdict in chosen.judged.verdicts if verdict.condition
    )
    return from_rules + _sheet_conditions(chosen) + _commercial_conditions(chosen, request, on)


def _sheet_conditions(chosen: PricedCandidate) -> tuple[Condition, ...]:
    return tuple(
        Condition(
            words(
                f"the release of {excess.quantity} needs less sheet than the mill's minimum order; the surplus is "
                "billed or stored at the customer's risk"
            ),
            words(
                "the release needs {needed} of sheet and the mill's minimum order is {least}",
                needed=(excess.order_mass, "kg"),
                least=(excess.minimum_order, "kg"),
            ),
        )
        for excess in chosen.cost.excess
    )


def _commercial_conditions(chosen: PricedCandidate, request: PartRequest, on: date) -> tuple[Condition, ...]:
    found = []
    late = weeks_late(chosen, on)
    if late > 0:
        earliest = on + timedelta(weeks=chosen.cost.breaks[0].lead_time_weeks)
        found.append(
            Condition(
                words(
                    f"the date asked for cannot be met; the earliest for the first release is {earliest.isoformat()}"
                ),
                words("it would come {late} after the date it is needed", late=(late, "weeks")),
            )
        )
    if request.tooling == "transfer":
        found.append(
            Condition(
                words("piece prices hold only after the transferred tool has passed our arrival inspection"),
                words("repairs and changes to a tool we have not seen are quoted after the inspection"),
            )
        )
    if request.target_price is not None and chosen.cost.ranking_price > request.target_price:
        found.append(
            Condition(
                words("the target price is not met"),
                words(
                    "the landed price at the largest release is {price} and the target is {target}",
                    price=(float(chosen.cost.ranking_price), "$"),
                    target=(float(request.target_price), "$"),
                ),
            )
        )
    return tuple(found)


def _metal(chosen: PricedCandidate) -> MetalComparison | None:
    planned = chosen.judged.planned
    metal = planned.request.replaces_metal
    if metal is None:
        return None
    data, polymer, plan = METAL_DATA[metal.metal], planned.candidate.polymer, planned.plan
    metal_mass = planned.request.part.surface_area * metal.thickness * data.density
    return MetalComparison(
        metal=metal.metal,
        metal_thickness=metal.thickness,
        metal_mass=metal_mass,
        plastic_mass=plan.part_mass,
        mass_ratio=plan.part_mass / metal_mass,
        stiffness_ratio=stiffness_ratio(
            polymer.flexural_modulus, plan.thinning.mean_wall, data.modulus, metal.thickness
        ),
        equal_stiffness_wall=equal_stiffness_thickness(data.modulus, metal.thickness, polymer.flexural_modulus),
        assumptions=(
            words("the metal part has the same formed surface of one skin, {area}, and one thickness",
                  area=(planned.request.part.surface_area, "m2")),
            words("stiffness is that of flat panels of equal width: modulus times thickness cubed; the mean wall after "
                  "forming counts, and form height, ribs and flanges, which make plastic parts stiff, do not"),
            words("plastics creep: under lasting load count on 30 to 50 % of this stiffness (common practice, no source)"),
        ),
    )  # fmt: skip
