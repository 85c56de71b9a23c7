"""What would reach a target price: each way is priced anew with the rules, the plan and the rates of the answer."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal

from materials.sheet import STOCKED_GAUGES
from quoting.answer import PricedCandidate
from quoting.catalog import Catalog
from quoting.choosing import best_layouts
from quoting.costing.advice import Lever, TargetAdvice, landed_price
from quoting.costing.release_size import ReleaseAdvice
from quoting.intake.part import PartRequest
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.candidates import candidates
from quoting.routing.judging import judged
from quoting.routing.plan import planned
from quoting.routing.recalled import Recalled
from quoting.words import Words, words

MOST_LEVERS = 6
MOST_TOLD = 2  # of the ways that reach it, in the sentence for the customer
NEXT_GAUGE = 0.95  # of the gauge: a thinner one that saves less is no other gauge, it is the same in other units


def target_advice(
    chosen: PricedCandidate, priced: tuple[PricedCandidate, ...], release: ReleaseAdvice, catalog: Catalog, on: date
) -> TargetAdvice | None:
    """Whether the target is met by the landed price at the largest release, and if not, what would reach it.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].
    priced : tuple of PricedCandidate
        All candidates [-].
    release : ReleaseAdvice
        Its price by release size [$].
    catalog : Catalog
        All that we know [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    advice : TargetAdvice or None
        None where no target was given [-].
    """
    target, price = chosen.judged.planned.request.target_price, chosen.cost.ranking_price
    if target is None:
        return None
    dock = chosen.cost.breaks[-1].unit_price
    if price <= target:
        return TargetAdvice(target, price, dock, True, Decimal(0), (), _met(chosen, target))
    levers = _levers(chosen, priced, release, catalog, on)
    said = _verdict(target, price, dock, levers)
    return TargetAdvice(target, price, dock, False, price - target, levers, said)


def _met(chosen: PricedCandidate, target: Decimal) -> Words:
    """From which of the releases asked for on the target is met."""
    above = [one.quantity for one in chosen.cost.breaks if one.landed_unit_price > target]
    least = next(one.quantity for one in chosen.cost.breaks if not above or one.quantity > above[-1])
    return words(
        f"the target of {{target}} is met, landed, from {least:,} parts a release", target=(float(target), "$")
    )


def _levers(
    chosen: PricedCandidate, priced: tuple[PricedCandidate, ...], release: ReleaseAdvice, catalog: Catalog, on: date
) -> tuple[Lever, ...]:
    """The ways that make it cheaper, cheapest first; where none reaches the target, the best of them together."""
    request, price = chosen.judged.planned.request, chosen.cost.ranking_price
    target, quantity = request.target_price, request.releases[-1]
    changed = tuple(_changed(chosen, catalog, on))
    found = [(said, quantity, one.cost.ranking_price) for said, one in changed]
    larger = _larger_release(release, target, quantity)
    found += [larger] if larger else []
    found += _late(chosen, priced, quantity) + _tools_apart(chosen, quantity)
    useful = [one for one in found if one[2] < price]
    if changed and larger and min((one[2] for one in useful), default=price) > target:
        said, best = min(changed, key=lambda one: one[1].cost.ranking_price)
        both = landed_price(best.judged.planned, larger[1], best.cost.amortised, catalog, Recalled())
        useful.append((_both(said, larger[1]), larger[1], both))
    levers = sorted((Lever(*one, reaches=one[2] <= target) for one in useful), key=lambda one: one.landed_unit_price)
    return tuple(levers[:MOST_LEVERS])


def _larger_release(release: ReleaseAdvice, target: Decimal, quantity: int) -> tuple[Words, int, Decimal] | None:
    """The smallest release that reaches the target; where none does, the one with the lowest price."""
    larger = [one for one in release.curve if quantity < one.quantity <= release.annual]
    reaching = [one for one in larger if one.landed_unit_price <= target]
    if not larger:
        return None
    one = reaching[0] if reaching else min(larger, key=lambda one: one.landed_unit_price)
    said = words(f"releases of {one.quantity:,} parts in place of {quantity:,}")
    return said, one.quantity, one.landed_unit_price


def _late(
    chosen: PricedCandidate, priced: tuple[PricedCandidate, ...], quantity: int
) -> list[tuple[Words, int, Decimal]]:
    """A cheaper route that was passed over because it comes after the date."""
    cheaper = [one for one in priced if one.cost is not None and one.cost.ranking_price < chosen.cost.ranking_price]
    if not cheaper:
        return []
    best = min(cheaper, key=lambda one: one.cost.ranking_price)
    candidate = best.judged.planned.candidate
    said = words(
        f"a later date: {candidate.process.replace('_', '-')} forming in {candidate.polymer.name} at "
        f"{candidate.plant.name}, first release after {{weeks}}",
        weeks=(best.cost.breaks[0].lead_time_weeks, "weeks"),
    )
    return [(said, quantity, best.cost.ranking_price)]


def _tools_apart(chosen: PricedCandidate, quantity: int) -> list[tuple[Words, int, Decimal]]:
    """Tooling that was to be paid in the part price, billed by itself."""
    amortised = chosen.cost.amortised
    if amortised is None:
        return []
    said = words("tools billed by themselves at {tooling}", tooling=(float(amortised.tooling), "$"))
    return [(said, quantity, chosen.cost.ranking_price - amortised.per_part)]


def _changed(chosen: PricedCandidate, catalog: Catalog, on: date) -> Iterator[tuple[Words, PricedCandidate]]:
    """The chosen route with one thing of the inquiry changed: gauge, polymer, colour, work after forming."""
    plan = chosen.judged.planned
    request, candidate = plan.request, plan.candidate
    thinner = [gauge for gauge in STOCKED_GAUGES if gauge <= NEXT_GAUGE * candidate.gauge]
    if thinner:
        part = replace(request.part, gauge=thinner[-1], minimum_wall=None)
        alike = replace(request, part=part, polymers=(candidate.polymer.name,))
        for found in _again(alike, chosen, catalog, on):
            yield _with_tooling(_gauge_words(plan, found.judged.planned), chosen, found), found
    if request.polymers:
        for found in _again(replace(request, polymers=()), chosen, catalog, on):
            other = found.judged.planned.candidate.polymer.name
            if other not in request.polymers:
                said = words(f"{other}, if you can use it, in place of {candidate.polymer.name}")
                yield _with_tooling(said, chosen, found), found
    if request.colour == "custom":
        said = words("a colour that the mill keeps in stock, in place of a custom one")
        for found in _again(replace(request, colour="stock"), chosen, catalog, on):
            yield _with_tooling(said, chosen, found), found
    if request.secondary:
        said = words("parts without the work after forming, which you do yourselves")
        for found in _again(replace(request, secondary=()), chosen, catalog, on):
            yield _with_tooling(said, chosen, found), found


def _gauge_words(plan: PlannedCandidate, found: PlannedCandidate) -> Words:
    return words(
        "sheet of {thinner} in place of {gauge}, which leaves {wall} at the thinnest in place of {was}",
        thinner=(found.candidate.gauge, "m"),
        gauge=(plan.candidate.gauge, "m"),
        wall=(found.plan.thinning.thinnest_wall, "m"),
        was=(plan.plan.thinning.thinnest_wall, "m"),
    )


def _with_tooling(said: Words, chosen: PricedCandidate, found: PricedCandidate) -> Words:
    """The sentence, with what the tools then cost more or less, since tools are billed beside the price."""
    before, after = (sum(line.price for line in one.cost.tooling) for one in (chosen, found))
    if before == after:
        return said
    way = "more" if after > before else "less"
    tooling = words(f"{said.text}, tools {{tooling}} {way}", tooling=(float(abs(after - before)), "$"))
    return replace(tooling, figures=said.figures + tooling.figures)


def _again(request: PartRequest, chosen: PricedCandidate, catalog: Catalog, on: date) -> tuple[PricedCandidate, ...]:
    """A changed inquiry answered on the chosen machine by the chosen process: the cheapest that fits; none or one."""
    candidate = chosen.judged.planned.candidate
    shop = replace(catalog, machines=(candidate.machine,))
    groups = tuple(group for group in candidates(request, shop, on) if group.first.process == candidate.process)
    priced = best_layouts(judged(planned(request, groups, catalog, on)), catalog, on)
    fitting = [one for one in priced if one.cost is not None]
    return (min(fitting, key=lambda one: one.cost.ranking_price),) if fitting else ()


def _both(said: Words, quantity: int) -> Words:
    return replace(said, text=f"{said.text}, and releases of {quantity:,} parts")


def _verdict(target: Decimal, price: Decimal, dock: Decimal, levers: tuple[Lever, ...]) -> Words:
    """What the customer reads: the price, the target, and what would reach it, or how much is missing."""
    figures = {"price": (float(price), "$"), "target": (float(target), "$")}
    head = "the landed price at the largest release is {price} and the target is {target}"
    if dock <= target:
        figures["dock"] = (float(dock), "$")
        head += ", which would be met at our dock, {dock} without freight"
    reaching = [one for one in levers if one.reaches]
    if reaching:
        told = ", or by ".join(_at(one, str(number), figures) for number, one in enumerate(reaching[:MOST_TOLD]))
        return words(f"{head}; landed it would be reached by {told}", **figures)
    figures["gap"] = (float((levers[0].landed_unit_price if levers else price) - target), "$")
    nearest = f"; the nearest is {_at(levers[0], '0', figures)}" if levers else ""
    return words(f"{head}; nothing in our hands reaches it landed{nearest}, {{gap}} above the target", **figures)


def _at(lever: Lever, mark: str, figures: dict[str, tuple[float, str]]) -> str:
    """The lever's sentence with its price, its figures taken over under names of their own."""
    text = lever.said.text
    for figure in lever.said.figures:
        text = text.replace(f"{{{figure.name}}}", f"{{{figure.name}{mark}}}")
        figures[f"{figure.name}{mark}"] = (figure.value, figure.unit)
    figures[f"at{mark}"] = (float(lever.landed_unit_price), "$")
    return f"{text} ({{at{mark}}})"
