"""Margin by risk: a base margin, and a stated adder for each thing that may go wrong at our expense."""

from collections.abc import Iterator
from decimal import Decimal

from quoting.catalog import MarginRates, PriceRates
from quoting.costing.lines import Risk
from quoting.costing.tooling import needs_machined_tool
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.depth import AREAL_LIMIT, DEPTH_LIMIT, drawn_depth
from quoting.routing.rules.detail import CAST_TOOL, formed_tolerance
from quoting.routing.wall_plan import depth_ratio
from quoting.words import Words, words

AGENCY_NEEDS = frozenset(("food_contact", "flame_v0"))


def risks_of(planned: PlannedCandidate, rates: MarginRates) -> tuple[Risk, ...]:
    """The risks that this candidate carries, each with its adder and its reason.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    rates : MarginRates
        Adders as shares of the price, and from which share of its limit a draw counts as near it [-].

    Returns
    -------
    risks : tuple of Risk
        None for a plain part [-].
    """
    return tuple(_risks(planned, rates))


def _risks(planned: PlannedCandidate, rates: MarginRates) -> Iterator[Risk]:
    request, process = planned.request, planned.candidate.process
    if process == "twin_sheet":
        why = words("two skins must be hot together and weld in one closing: scrap is seldom one skin alone")
        yield Risk("margin.twin_sheet", "twin-sheet", rates.twin_sheet, why)
    if needs_machined_tool(planned):
        yield Risk("margin.tight_tolerance", "tight tolerance", rates.tight_tolerance, _tolerance_words(planned))
    if request.tooling == "transfer":
        why = words("a tool that we have not seen: its wear, cooling and cycle are known after its arrival inspection")
        yield Risk("margin.transferred_tool", "transferred tool", rates.transferred_tool, why)
    deep = _deep_words(planned, rates.near_limit)
    if deep:
        yield Risk("margin.deep_draw", "draw near its limit", rates.deep_draw, deep)
    if request.colour == "custom":
        why = words("sheet in a colour of its own cannot be sold to another job, and lots differ in shade")
        yield Risk("margin.custom_colour", "custom colour", rates.custom_colour, why)
    if AGENCY_NEEDS.intersection(request.needs):
        why = words("food or flame certificates: sheet must be kept apart and traced, and a mixed lot is lost")
        yield Risk("margin.agency", "certified sheet", rates.agency, why)


def _tolerance_words(planned: PlannedCandidate) -> Words:
    part, soft = planned.request.part, planned.candidate.polymer.semicrystalline
    return words(
        "the tolerance of plus or minus {asked} is tighter than the {cast} of a cast tool: parts fail inspection",
        asked=(part.tolerance, "m"),
        cast=(formed_tolerance(max(part.length, part.width), CAST_TOOL, soft), "m"),
    )


def _deep_words(planned: PlannedCandidate, near: Decimal) -> Words | None:
    """The draw that comes nearest to its limit, where that is near; limits are those of the routing rules."""
    process = planned.candidate.process
    areal, depth = planned.plan.thinning.areal_draw_ratio, depth_ratio(planned.request.part, drawn_depth(planned))
    draws = (
        (areal / AREAL_LIMIT[process], "areal draw ratio", areal, AREAL_LIMIT[process]),
        (depth / DEPTH_LIMIT[process], "depth over width", depth, DEPTH_LIMIT[process]),
    )
    used, name, measured, limit = max(draws)
    if used < float(near):
        return None
    return words(
        f"the {name} is {{measured}} and {{limit}} is the most for this process: thin corners and webs are scrap",
        measured=(measured, "-"),
        limit=(limit, "-"),
    )


def margin_share(risks: tuple[Risk, ...], price: PriceRates, rates: MarginRates) -> Decimal:
    """Margin as a share of the price: ``min(base + adders, most)``, and never below the base.

    Parameters
    ----------
    risks : tuple of Risk
        What the part carries [-].
    price : PriceRates
        The base margin [-].
    rates : MarginRates
        The most that base and adders may come to [-].

    Returns
    -------
    share : Decimal
        [-], 0 to below 1
    """
    asked = price.margin + sum((each.adder for each in risks), Decimal(0))
    return max(price.margin, min(asked, rates.most))
