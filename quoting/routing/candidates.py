"""Every way to make the part that is worth a word: process x machine x polymer x sheet offer x layout."""

from collections.abc import Iterable, Iterator
from datetime import date

from machines.machine import Machine
from materials.polymer import Polymer
from materials.sheet import SheetOffer
from quoting.catalog import Catalog
from quoting.intake.part import Part, PartRequest
from quoting.routing.candidate import PROCESSES, Candidate, CandidateGroup, Layout
from quoting.routing.gauge import Gauge, starting_gauge
from quoting.routing.nesting import MOST_CAVITIES, layouts
from quoting.routing.recalled import Recalled


def candidates(request: PartRequest, catalog: Catalog, on: date) -> tuple[CandidateGroup, ...]:
    """Groups of candidates, one group per process, machine, polymer and sheet offer, holding its layouts.

    Parameters
    ----------
    request : PartRequest
        [-]
    catalog : Catalog
        [-]
    on : date
        Day of the answer: only sheet offered on it is proposed [-].

    Returns
    -------
    groups : tuple of CandidateGroup
        In the order of ``proposals`` [-].
    """
    return laid_out(request, proposals(request, catalog, on))


def proposals(request: PartRequest, catalog: Catalog, on: date) -> tuple[Candidate, ...]:
    """Every process on every machine in every polymer and sheet offer, before any blank is laid out.

    All three processes are proposed on every machine: the rules say which of them work, and why not the others.

    Parameters
    ----------
    request : PartRequest
        [-]
    catalog : Catalog
        [-]
    on : date
        Day of the answer: only sheet offered on it is proposed [-].

    Returns
    -------
    proposals : tuple of Candidate
        Without a layout; ordered by process, plant, machine, polymer, offer [-].
    """
    plants = {plant.code: plant for plant in catalog.plants}
    machines = sorted(catalog.machines, key=lambda machine: (machine.plant, machine.code))
    stock = {process: tuple(_stock(request, process, catalog, on)) for process in PROCESSES}
    return tuple(
        Candidate(process, plants[machine.plant], machine, polymer, offer, None, gauge.starting, gauge.required)
        for process in PROCESSES
        for machine in machines
        for polymer, offer, gauge in stock[process]
    )


def laid_out(request: PartRequest, proposed: Iterable[Candidate]) -> tuple[CandidateGroup, ...]:
    """Proposals with every way to lay their parts out on a blank.

    Parameters
    ----------
    request : PartRequest
        [-]
    proposed : iterable of Candidate
        As ``proposals`` gives them [-].

    Returns
    -------
    groups : tuple of CandidateGroup
        One for each, in the same order [-].
    """
    # Polymers of one gauge and web nest alike. A tool that exists has its cavities; we count one until it is seen.
    most = 1 if request.tooling == "transfer" else MOST_CAVITIES
    nested = Recalled()
    groups = []
    for one in proposed:
        twin = one.process == "twin_sheet"
        found = nested.of(_layouts_of, request.part, most, twin, one.machine, one.gauge, *_web(one.offer))
        first = Candidate(
            one.process, one.plant, one.machine, one.polymer, one.offer, found[0], one.gauge, one.required_gauge
        )
        groups.append(CandidateGroup(first, found))
    return tuple(groups)


def _stock(
    request: PartRequest, process: str, catalog: Catalog, on: date
) -> Iterator[tuple[Polymer, SheetOffer | None, Gauge]]:
    for polymer in sorted(catalog.polymers, key=lambda polymer: polymer.name):
        if not request.polymers or polymer.name in request.polymers:
            for offer in offers_of(polymer, request.colour, catalog, on) or (None,):
                yield polymer, offer, starting_gauge(request.part, process, offer)


def offers_of(polymer: Polymer, colour: str, catalog: Catalog, on: date) -> tuple[SheetOffer, ...]:
    """What mills offer of one polymer in one kind of colour on one day, by name of the offer.

    Parameters
    ----------
    polymer : Polymer
        [-]
    colour : str
        natural, stock or custom [-].
    catalog : Catalog
        [-]
    on : date
        The first and the last day of an offer count [-].

    Returns
    -------
    offers : tuple of SheetOffer
        [-]
    """
    found = (offer for offer in catalog.offers if (offer.polymer, offer.colour) == (polymer.name, colour))
    valid = (offer for offer in found if offer.valid_from <= on and (offer.valid_to is None or on <= offer.valid_to))
    return tuple(sorted(valid, key=lambda offer: offer.name))


def _web(offer: SheetOffer | None) -> tuple[float, ...]:
    return () if offer is None else (offer.widest, offer.longest)


def _layouts_of(
    part: Part, most: int, twin_sheet: bool, machine: Machine, gauge: float, *web: float
) -> tuple[Layout, ...]:
    found = layouts(
        part.length, part.width, part.depth, gauge=gauge, twin_sheet=twin_sheet, machine=machine, web=web or None,
        tool_side="female" if twin_sheet else part.tool_side,
    )  # fmt: skip
    return tuple(layout for layout in found if layout.cavities <= most) or found[:1]
