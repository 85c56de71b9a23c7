"""Which of former and trimmer holds up the other, and what trimming by hand would take instead of the router."""

from dataclasses import dataclass, replace
from decimal import Decimal
from math import floor

from machines.machine import Plant, Trimmer
from quoting.catalog import PARTS_FORMED, Catalog, Sources
from quoting.costing.correcting import (
    RUN_CORRECTION,
    SCRAP_CORRECTION,
    TRIM_CORRECTION,
    corrected,
    corrected_scrap,
    factor_of,
    shown,
)
from quoting.costing.inputs import plant_that_trims, trim_inputs
from quoting.costing.labour import TrimInputs
from quoting.costing.money import PLANT_DATA, Input, exact, given
from quoting.costing.sheet import form_scrap
from quoting.costing.tooling import kinds_needed, tool_price, tooling_rate
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled

FIXTURES = ("trim_fixture", "hand_trim_jig", "drill_fixture")  # what each way of trimming is held in


@dataclass(frozen=True)
class Resource:
    """A machine on the way of the part. ``parts_per_hour`` counts good parts, less what is lost in and after it."""

    kind: str  # former, five_axis, hand
    code: str
    plant: str
    parts_per_hour: float
    inputs: tuple[Input, ...]


@dataclass(frozen=True)
class TrimWay:
    """One way of trimming this part. Times of one piece [s]; money [$]."""

    kind: str
    code: str
    plant: str
    used: bool
    cutting: float
    operator: float
    cycle: float
    parts_per_hour: float
    per_part: Decimal  # running, without set-up
    setup: Decimal  # once a release
    fixtures: Decimal  # once
    inputs: tuple[Input, ...]


@dataclass(frozen=True)
class Pace:
    """``governs`` is the slower of the two, former or trimmer; None where both are equally fast.

    ``by_hand_up_to``: parts, with one set-up, up to which the hand bench costs less in all, its jig counted; None where
    it always costs less, 0 where it never does or where there is no bench to compare.
    """

    former: Resource
    trimmer: Resource
    governs: str | None
    ways: tuple[TrimWay, ...]
    by_hand_up_to: int | None


def pace(planned: PlannedCandidate, catalog: Catalog) -> Pace:
    """Former against trimmer, and router against hand bench, for one candidate.

    Former: ``parts per hour of the cycle x (1 - form scrap) x (1 - trim scrap)``; trimmer:
    ``pieces per hour x (1 - trim scrap)``. One of each is counted, both at their efficiency.

    Parameters
    ----------
    planned : PlannedCandidate
        A candidate that has a trimmer [-].
    catalog : Catalog
        Plants and rates [-].

    Returns
    -------
    pace : Pace
        [1/h, s, $]
    """
    plant, sources = plant_that_trims(planned, catalog), catalog.rates.told
    ways = tuple(_way(one, planned, plant, catalog, sources) for one in _trimmers(planned, plant))
    former, used = _former(planned, catalog, sources), ways[0]
    trimmer = Resource(used.kind, used.code, used.plant, used.parts_per_hour, used.inputs)
    slower = None
    if former.parts_per_hour != trimmer.parts_per_hour:
        slower = "former" if former.parts_per_hour < trimmer.parts_per_hour else "trimmer"
    return Pace(former, trimmer, slower, ways, _by_hand_up_to(ways))


def _trimmers(planned: PlannedCandidate, plant: Plant) -> tuple[Trimmer, ...]:
    """The trimmer of the plan, then the cheapest hand bench of the plant where it trims."""
    used = planned.plan.trim.trimmer
    benches = sorted((one for one in plant.trimmers if one.kind == "hand"), key=lambda one: (one.hour_rate, one.code))
    return (used,) if used.kind == "hand" else (used, *benches[:1])


def _former(planned: PlannedCandidate, catalog: Catalog, sources: Sources) -> Resource:
    candidate, forming, trim = planned.candidate, catalog.rates.forming, catalog.rates.trim
    stated_scrap = form_scrap(candidate.process, forming)
    more = corrected(planned, PARTS_FORMED, catalog, Recalled())
    lost = corrected_scrap(stated_scrap, more)
    slower = corrected(planned, "run_hours", catalog, Recalled())
    stated = planned.plan.cycle.parts_per_hour
    inputs = (
        given("parts an hour at the machine's efficiency", stated, "1/h"),
        *shown(slower, RUN_CORRECTION),
        given("form scrap", stated_scrap, "-", sources.of(f"forming.scrap_{candidate.process}")),
        *shown(more, SCRAP_CORRECTION),
        given("trim scrap", trim.scrap, "-", sources.of("trim.scrap")),
    )
    good = stated / factor_of(slower) * float((1 - lost) * (1 - trim.scrap))
    return Resource("former", candidate.machine.code, candidate.plant.code, good, inputs)


def _way(trimmer: Trimmer, planned: PlannedCandidate, plant: Plant, catalog: Catalog, sources: Sources) -> TrimWay:
    rates = catalog.rates
    through = planned.candidate.gauge * planned.plan.cycle.blanks_per_part
    slower = corrected(planned, "trim_time", catalog, Recalled())
    trim = trim_inputs(planned.request.part, through, trimmer, plant, rates, slower)
    hourly = trim.hour_rate + exact(trim.crew) * trim.labour_rate
    good = 1 - rates.trim.scrap
    inputs = (
        given("piece-to-piece time", trim.time.cycle, "s"),
        *shown(slower, TRIM_CORRECTION),
        given("efficiency", trim.efficiency, "-", PLANT_DATA),
        given("pieces an hour", trim.pieces_per_hour, "1/h"),
        given("trim scrap", rates.trim.scrap, "-", sources.of("trim.scrap")),
        given("trimmer rate", trim.hour_rate, "$/h", PLANT_DATA),
        given("crew", trim.crew, "people", PLANT_DATA),
        given("labour rate", trim.labour_rate, "$/h", PLANT_DATA),
        given("set-up", trim.setup_hours, "h", PLANT_DATA),
    )
    return TrimWay(
        kind=trimmer.kind,
        code=trimmer.code,
        plant=plant.code,
        used=trimmer is planned.plan.trim.trimmer,
        cutting=trim.time.cutting,
        operator=trim.time.operator,
        cycle=trim.time.cycle,
        parts_per_hour=float(trim.pieces_per_hour * good),
        per_part=hourly / trim.pieces_per_hour / good,
        setup=_setup(trim, hourly),
        fixtures=_fixtures(trimmer, planned, catalog),
        inputs=inputs,
    )


def _setup(trim: TrimInputs, hourly: Decimal) -> Decimal:
    return exact(trim.setup_hours) * hourly


def _fixtures(trimmer: Trimmer, planned: PlannedCandidate, catalog: Catalog) -> Decimal:
    """Price of what this way of trimming holds the part in, as the tooling would be with it."""
    plan = replace(planned.plan, trim=replace(planned.plan.trim, trimmer=trimmer))
    part, cavities = planned.request.part, planned.candidate.layout.cavities
    kinds = (one for one in kinds_needed(replace(planned, plan=plan), catalog.rates) if one in FIXTURES)
    prices = (
        tool_price(tooling_rate(kind, catalog.rates), part.length, part.width, part.depth, cavities) for kind in kinds
    )
    return sum(prices, Decimal(0))


def _by_hand_up_to(ways: tuple[TrimWay, ...]) -> int | None:
    """Parts at which the router has earned its dearer fixture and set-up."""
    if len(ways) < 2:
        return 0
    router, bench = ways
    saved = router.fixtures + router.setup - bench.fixtures - bench.setup
    dearer = bench.per_part - router.per_part
    if dearer <= 0:
        return None if saved >= 0 else 0
    return max(0, floor(saved / dearer))
