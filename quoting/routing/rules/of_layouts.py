"""What the rules that look at the blank say of many layouts at once: only whether each fails, and nothing in words.

Every way to lay parts out on every machine is asked about, and few of them are kept or shown; the rules themselves
speak only of these. A rule of the layout is written a second time here, by the same measures and limits, and a test
holds the two to each other on many inquiries: ``test_failures_of_layouts_are_counted_as_the_rules_say``.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from types import SimpleNamespace
from typing import Any

import numpy as np

from machines.envelope import (
    Area,
    Room,
    heated_area,
    rooms_in_heated_area,
    rooms_in_largest_opening,
    rooms_over_smallest_opening,
    tightest_of_each,
)
from machines.press import force_on_lock, forming_pressure
from materials.sag import sag
from quoting.intake.part import PartRequest
from quoting.routing.candidate import CandidateGroup, Layout
from quoting.routing.nesting import clamp_width, formed_depth, free_spans
from quoting.routing.rules import ability, customer_tool, frame, gauge, heat
from quoting.routing.rules.all_rules import Rule
from quoting.routing.rules.comparing import each_reaches
from quoting.routing.rules.depth import TOOL_BASE

OF_MACHINE = (
    "largest_opening_length", "largest_opening_width", "smallest_opening_length", "smallest_opening_width",
    "platen_length", "platen_width", "tool_height_below", "tool_height_above", "draw_depth_above", "vacuum_pressure",
    "lock_force",
)  # fmt: skip
OF_LAYOUT = ("blank_length", "blank_width", "cavities", "turned")
WEB = ("widest", "longest")  # of an offer


@dataclass(frozen=True)
class Blanks:
    """The layouts of some groups of one process, one after the other: arrays with a value for each layout.

    The names are those of the candidates: ``layout.blank_length``, ``machine.lock_force``. Where no mill offers the
    sheet, ``offered`` is False and the sizes of the offer are 0.
    """

    request: PartRequest
    process: str
    layout: SimpleNamespace  # what OF_LAYOUT names
    machine: SimpleNamespace
    polymer: SimpleNamespace
    offer: SimpleNamespace
    offered: np.ndarray
    clamp: np.ndarray  # m

    @property
    def pressure(self) -> np.ndarray:
        """As the plan has it [Pa]."""
        return forming_pressure(self.process, self.machine.vacuum_pressure, self.request.part.texture_depth > 0)

    @property
    def sag(self) -> np.ndarray:
        """As the plan has it [m]."""
        return sag(self.polymer.density, self.polymer.hot_modulus, *free_spans(self.layout, self.clamp))


def _fits(room: Room) -> np.ndarray:
    return each_reaches(room.given, room.needed)


def _size(blanks: Blanks) -> tuple[np.ndarray, np.ndarray]:
    return blanks.layout.blank_length, blanks.layout.blank_width


def _in_clamp_frame(blanks: Blanks) -> np.ndarray:
    return _fits(tightest_of_each(*rooms_in_largest_opening(blanks.machine, *_size(blanks))))


def _on_smallest_frame(blanks: Blanks) -> np.ndarray:
    return _fits(tightest_of_each(*rooms_over_smallest_opening(blanks.machine, *_size(blanks))))


def _under_heaters(blanks: Blanks) -> np.ndarray:
    return _fits(tightest_of_each(*rooms_in_heated_area(blanks.machine.heated_area, *_size(blanks))))


def _tool_on_platen(blanks: Blanks) -> np.ndarray:
    tool, machine, turned = blanks.request.tool, blanks.machine, blanks.layout.turned
    if not customer_tool.base_known(tool):
        return np.ones(turned.shape, dtype=bool)
    along, across = np.where(turned > 0, tool.width, tool.length), np.where(turned > 0, tool.length, tool.width)
    return _fits(tightest_of_each(Room(along, machine.platen_length), Room(across, machine.platen_width)))


def _off_the_web(blanks: Blanks) -> np.ndarray:
    """Either way round; a blank that goes neither way fails the way that lacks less, so it fails both."""
    (length, width), offer = _size(blanks), blanks.offer
    ways = (
        _fits(tightest_of_each(Room(across, offer.widest), Room(along, offer.longest)))
        for across, along in ((width, length), (length, width))
    )
    return np.logical_or(*ways) & blanks.offered


def _clears_heaters(blanks: Blanks) -> np.ndarray:
    return each_reaches(blanks.machine.clearance_below, blanks.sag)


def _clears_tool(blanks: Blanks) -> np.ndarray:
    hangs_down, machine, twin = blanks.sag, blanks.machine, blanks.process == "twin_sheet"
    drawn = formed_depth(blanks.request.part.depth, twin)
    tool = drawn + TOOL_BASE
    standing = np.maximum(machine.tool_height_below - tool, 0.0)
    above = each_reaches(machine.tool_height_above, tool) & each_reaches(machine.draw_depth_above, drawn)
    may_hang = above & (not twin)
    clears = each_reaches(standing, hangs_down)
    return clears | (may_hang & each_reaches(machine.tool_height_below, hangs_down))


def _lock_holds(blanks: Blanks, process: str, area: np.ndarray | float) -> np.ndarray:
    return each_reaches(blanks.machine.lock_force, force_on_lock(process, blanks.pressure, area))


def _lock_holds_parts(blanks: Blanks) -> np.ndarray:
    part = blanks.request.part
    return _lock_holds(blanks, blanks.process, blanks.layout.cavities * part.length * part.width)


def _lock_holds_box(blanks: Blanks) -> np.ndarray:
    along, across = free_spans(blanks.layout, blanks.clamp)
    return _lock_holds(blanks, "pressure", along * across if blanks.process == "pressure" else 0.0)


def _lock_holds_tool(blanks: Blanks) -> np.ndarray:
    tool = blanks.request.tool
    known = customer_tool.base_known(tool)
    return _lock_holds(blanks, blanks.process, tool.length * tool.width if known else 0.0)


PASSES: dict[Rule, Callable[[Blanks], np.ndarray]] = {
    frame.blank_in_clamp_frame: _in_clamp_frame,
    frame.blank_on_smallest_frame: _on_smallest_frame,
    customer_tool.tool_on_platen: _tool_on_platen,
    gauge.size_of_offer: _off_the_web,
    frame.heated_area_covers_blank: _under_heaters,
    heat.sag_clears_heaters: _clears_heaters,
    heat.sag_over_tool: _clears_tool,
    ability.lock_holds_parts: _lock_holds_parts,
    ability.lock_holds_box: _lock_holds_box,
    customer_tool.lock_holds_tool: _lock_holds_tool,
}


def failures_of_layouts(request: PartRequest, groups: Sequence[CandidateGroup]) -> list[np.ndarray]:
    """How many rules of the layout each layout fails.

    Parameters
    ----------
    request : PartRequest
        What was asked [SI].
    groups : sequence of CandidateGroup
        Of any processes, ordered by process [-].

    Returns
    -------
    failures : list of array
        For each group, in their order, a number for each of its layouts [count].
    """
    found: list[np.ndarray] = []
    for process, some in _by_process(groups):
        blanks = blanks_of(request, process, some)
        failed = sum((~passes(blanks)).astype(int) for passes in PASSES.values())
        found += np.split(failed, np.cumsum([len(one) for one in some])[:-1])
    return found


def _by_process(groups: Sequence[CandidateGroup]) -> Iterator[tuple[str, list[CandidateGroup]]]:
    for process, some in groupby(groups, key=lambda one: one.first.process):
        yield process, list(some)


def blanks_of(request: PartRequest, process: str, groups: Sequence[CandidateGroup]) -> Blanks:
    """The layouts of groups of one process as arrays.

    Parameters
    ----------
    request : PartRequest
        What was asked [SI].
    process : str
        vacuum, pressure or twin_sheet [-].
    groups : sequence of CandidateGroup
        At least one [-].

    Returns
    -------
    blanks : Blanks
        [SI]
    """
    firsts, counts = [one.first for one in groups], np.array([len(one) for one in groups])
    longest, twin = max(request.part.length, request.part.width), process == "twin_sheet"
    machines, offers = (_Stack([getattr(one, name) for one in firsts], counts) for name in ("machine", "offer"))
    polymers = _Stack([one.polymer for one in firsts], counts)
    machine = SimpleNamespace(**{name: machines.column(attrgetter(name)) for name in OF_MACHINE})
    machine.clearance_below = machines.column(attrgetter("oven.clearance_below"))
    machine.heated_area = Area(*(machines.column(lambda one, side=side: heated_area(one)[side]) for side in (0, 1)))
    sizes = np.concatenate(list(map(_Sizes(), (one.layouts for one in groups)))).T
    return Blanks(
        request,
        process,
        SimpleNamespace(**dict(zip(OF_LAYOUT, sizes, strict=True))),
        machine,
        SimpleNamespace(**{name: polymers.column(attrgetter(name)) for name in ("density", "hot_modulus")}),
        SimpleNamespace(**{name: offers.column(lambda one, name=name: getattr(one, name, 0.0)) for name in WEB}),
        offers.column(lambda one: one is not None),
        np.repeat([clamp_width(one.gauge, twin, longest) for one in firsts], counts),
    )


class _Stack:
    """One thing of each group, the same in many of them, to be read as arrays with a value for each layout."""

    def __init__(self, things: list[Any], counts: np.ndarray) -> None:
        places: dict[int, int] = {}
        self._distinct: list[Any] = []
        for one in things:
            if places.setdefault(id(one), len(places)) == len(self._distinct):
                self._distinct.append(one)
        self._places = np.repeat([places[id(one)] for one in things], counts)

    def column(self, read: Callable[[Any], float]) -> np.ndarray:
        return np.array([read(one) for one in self._distinct])[self._places]


class _Sizes:
    """What is read of layouts, as a row for each; groups that share their layouts share the rows."""

    def __init__(self) -> None:
        self._known: dict[int, np.ndarray] = {}

    def __call__(self, layouts: tuple[Layout, ...]) -> np.ndarray:
        if id(layouts) not in self._known:
            self._known[id(layouts)] = np.array([[getattr(one, name) for name in OF_LAYOUT] for one in layouts])
        return self._known[id(layouts)]
