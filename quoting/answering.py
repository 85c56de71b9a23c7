"""From a typed inquiry and a catalog to an answer: one pure function, the clock and the database left outside."""

from dataclasses import replace
from datetime import date

from quoting.answer import NEEDS_INFORMATION, NOT_A_FIT, QUOTE, Answer, PricedCandidate
from quoting.catalog import Catalog
from quoting.choosing import best_layouts
from quoting.conversion import metal_comparison
from quoting.costing.advice import PriceAdvice, price_advice
from quoting.costing.cost_range import cost_range
from quoting.costing.pace import pace
from quoting.intake.part import PartRequest
from quoting.intake.reading_result import Reading
from quoting.qualifying import GENERAL_CAUTIONS, cautions, conditions, hazards, weeks_late
from quoting.routing.candidate import CandidateGroup
from quoting.routing.candidates import laid_out, proposals
from quoting.routing.judging import JudgedGroup, judged
from quoting.routing.other_polymers import others_that_stand_the_heat
from quoting.routing.plan import planned
from quoting.routing.referral import deciding_verdict, has_wrong_skins, referral
from quoting.routing.refusing import EarlyRules, RefusedGroup
from quoting.routing.studying import forming_study
from quoting.targeting import target_advice
from quoting.words import Words, words


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
    return answered_of(reading, judged_groups(reading.request, catalog, on), catalog, on)


def answered_of(reading: Reading, groups: tuple[JudgedGroup, ...], catalog: Catalog, on: date) -> Answer:
    """Answer a complete inquiry whose candidates are planned and judged already.

    Parameters
    ----------
    reading : Reading
        With its request [-].
    groups : tuple of JudgedGroup
        As they come from ``judged_groups`` [-].
    catalog : Catalog
        Plants, machines, polymers, sheet, rates and booked work [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    answer : Answer
        A quote or not a fit [-].
    """
    priced = _priced(groups, catalog, on)
    fitting = [one for one in priced if one.cost is not None]
    if not fitting:
        return _not_a_fit(reading, priced, catalog, on)
    return _quote(reading, priced, min(fitting, key=lambda one: choice_key(one, on)), catalog, on)


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
    return _priced(judged_groups(request, catalog, on), catalog, on)


def judged_groups(request: PartRequest, catalog: Catalog, on: date) -> tuple[JudgedGroup | RefusedGroup, ...]:
    """All candidates, planned and judged, before any is priced. No rate has a part in this.

    What rules refuse that read no heat is not planned where some other candidate fits. Where none does, it is planned
    and judged by every rule too, so that the answer can say what would help; all but a process that makes another
    number of skins than the part has, which nothing can help.

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
    groups : tuple of JudgedGroup or RefusedGroup
        One group for each process, machine, polymer and sheet, in the order of ``proposals`` [-].
    """
    early, proposed = EarlyRules(request, on), proposals(request, catalog, on)

    def on_blanks(places: list[int]) -> dict[int, CandidateGroup]:
        return dict(zip(places, laid_out(request, [proposed[place] for place in places]), strict=True))

    def in_full(laid: dict[int, CandidateGroup]) -> dict[int, JudgedGroup]:
        return dict(zip(laid, judged(planned(request, tuple(laid.values()), catalog, on)), strict=True))

    refused = early.of_proposals(proposed)
    laid = on_blanks([place for place in range(len(proposed)) if place not in refused])
    refused |= early.of_blanks(laid)
    groups = refused | in_full({place: group for place, group in laid.items() if place not in refused})
    if not any(one.fits for one in groups.values()):
        groups |= in_full(on_blanks(sorted(place for place, one in groups.items() if not has_wrong_skins(one[0]))))
    return tuple(groups[place] for place in range(len(proposed)))


def _priced(groups: tuple[JudgedGroup, ...], catalog: Catalog, on: date) -> tuple[PricedCandidate, ...]:
    return tuple(sorted(best_layouts(groups, catalog, on), key=lambda one: display_key(one, on)))


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
    candidate, cost = priced.judged.planned.candidate, priced.cost
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


def display_key(priced: PricedCandidate, on: date) -> tuple:
    """The order on the screen: candidates that fit in their order of choice, then the others by failed rules.

    Those that were refused before they were planned come after these, whatever else there might be against them: first
    those that had a blank.

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
        1 + (priced.judged.planned.plan is None) + (candidate.layout is None),
        priced.judged.failures,
        candidate.plant.code,
        candidate.machine.code,
        candidate.polymer.name,
        offer,
        candidate.process,
    )


def _asking_back(reading: Reading, on: date) -> Answer:
    first = ", ".join(missing.field for missing in reading.missing)
    summary = words(f"We need more information before we can answer: {first}.")
    return _answer(reading, NEEDS_INFORMATION, summary, on)


def _not_a_fit(reading: Reading, priced: tuple[PricedCandidate, ...], catalog: Catalog, on: date) -> Answer:
    referred = referral(tuple(one.judged for one in priced), reading.request)
    verdict = deciding_verdict(tuple(one.judged for one in priced))
    summary = Words(
        f"This part is not a fit for our forming: {verdict.reason.text}. We would send it to {referred.process}.",
        verdict.reason.figures,
    )
    asked_back = others_that_stand_the_heat(reading.request, catalog.polymers, verdict)
    reading = replace(reading, doubts=(*reading.doubts, *asked_back))
    return _answer(reading, NOT_A_FIT, summary, on, candidates=priced, referral=referred, deciding=verdict)


def _quote(
    reading: Reading, priced: tuple[PricedCandidate, ...], chosen: PricedCandidate, catalog: Catalog, on: date
) -> Answer:
    candidate, cost = chosen.judged.planned.candidate, chosen.cost
    process = candidate.process.replace("_", "-")
    advice = advised(chosen, priced, catalog, on)
    summary = words(
        f"We can make this by {process} forming in {candidate.polymer.name} at {candidate.plant.name} on machine "
        f"{candidate.machine.code}, at {{price}} landed for {cost.breaks[-1].quantity:,} parts.",
        price=(float(cost.ranking_price), "$"),
    )
    return _answer(
        reading,
        QUOTE,
        summary,
        on,
        candidates=priced,
        chosen=chosen,
        conditions=conditions(chosen, reading.request, on, advice),
        metal_comparison=metal_comparison(chosen.judged.planned),
        cautions=cautions(chosen),
        hazards=hazards(chosen),
        study=forming_study(chosen.judged.planned),
        range=cost_range(chosen.judged.planned, cost, catalog),
        pace=pace(chosen.judged.planned, catalog),
        advice=advice,
    )


def advised(chosen: PricedCandidate, priced: tuple[PricedCandidate, ...], catalog: Catalog, on: date) -> PriceAdvice:
    """Advice on the price of the chosen candidate, with a word on the target where one was given.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].
    priced : tuple of PricedCandidate
        All candidates [-].
    catalog : Catalog
        All that we know [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    advice : PriceAdvice
        [$]
    """
    advice = price_advice(chosen.judged.planned, chosen.cost, catalog)
    return replace(advice, target=target_advice(chosen, priced, advice.release, catalog, on))


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
