"""The study of one planned candidate: its curves, its walls by every way of forming, its numbers opened."""

from materials.cavity import FormingMethod
from materials.cooling import cooling_times
from quoting.intake.part import Part
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.gauge import gauge_for_wall
from quoting.routing.gauge_study import gauge_cases, gauge_effects, gauge_heats
from quoting.routing.heat_study import cooling_curve, heating_study, tool_cases, tool_effects
from quoting.routing.nesting import formed_depth
from quoting.routing.numbers import explained
from quoting.routing.other_heat import heated_as_planned
from quoting.routing.rules.detail import male_draft_limits
from quoting.routing.sag_study import sag_effects, sag_heats
from quoting.routing.study import FormingStudy, WallPlace, WallsByMethod
from quoting.routing.wall_plan import BUBBLE, bubble_folds, shares_by, walls_of

PLACES = ("web", "rim", "side", "base", "edge", "corner")
FUZZ = 1e-9

WAYS = (
    ("female tool", FormingMethod()),
    ("female tool with plug", FormingMethod(plug=True)),
    ("female tool, sheet blown up before", FormingMethod(pre_stretch=BUBBLE)),
    ("female tool with plug, sheet blown up before", FormingMethod(plug=True, pre_stretch=BUBBLE)),
    ("male tool", FormingMethod("male")),
    ("male tool, sheet blown up before", FormingMethod("male", pre_stretch=BUBBLE)),
)


def forming_study(planned: PlannedCandidate) -> FormingStudy | None:
    """All that an engineer wants to see behind a candidate.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]

    Returns
    -------
    study : FormingStudy or None
        None where the sheet does not reach its window: there is nothing to follow [-].
    """
    if planned.plan.heating.mean_at_contact is None:
        return None
    part, candidate = planned.request.part, planned.candidate
    used = walls_of(part, candidate.process, candidate.gauge)
    cooling_times((*tool_cases(planned), *gauge_cases(planned)))  # one march for all: below they are remembered
    heats = sag_heats(planned)
    heated = heated_as_planned(planned, (*heats, *gauge_heats(planned)))
    return FormingStudy(
        heating=heating_study(planned),
        cooling_curve=cooling_curve(planned),
        walls=_places(used.shares, candidate.gauge),
        methods=_methods(part, planned, used.method),
        tools=tool_effects(planned),
        sags=sag_effects(planned, heated[: len(heats)]),
        numbers=explained(planned),
        gauges=gauge_effects(planned, heated[len(heats) :]),
    )


def _places(shares: object, gauge: float) -> tuple[WallPlace, ...]:
    return tuple(WallPlace(place, gauge * getattr(shares, place)) for place in PLACES)


def _methods(part: Part, planned: PlannedCandidate, used: FormingMethod) -> tuple[WallsByMethod, ...]:
    process, gauge = planned.candidate.process, planned.candidate.gauge
    found = []
    for name, way in WAYS:
        shares = shares_by(part, process, gauge, way)
        why_not = "" if way == used else _why_not(part, planned, way)
        walls = _places(shares, gauge)
        needed = None if why_not else _gauge_needed(part, planned, way)
        found.append(WallsByMethod(name, walls, gauge * shares.thinnest, way == used, why_not, needed))
    return tuple(found)


def _gauge_needed(part: Part, planned: PlannedCandidate, way: FormingMethod) -> float | None:
    """The stocked gauge that leaves the wall asked for when formed so [m]."""
    if part.minimum_wall is None:
        return None
    return gauge_for_wall(part, planned.candidate.process, planned.candidate.gauge_tolerance, way).starting


def _why_not(part: Part, planned: PlannedCandidate, way: FormingMethod) -> str:
    """What speaks against a way of forming here, before anybody has looked at the tool; '' where nothing does."""
    male, twin = way.tool_side == "male", planned.candidate.process == "twin_sheet"
    against = (
        (twin and (way.plug or male), "two sheets are drawn into two female tools, with no room for it"),
        (
            bubble_folds(part, planned.candidate.process, planned.candidate.gauge, way),
            "so large a bubble has more sheet than the part takes, and would fold",
        ),
        (male and part.texture_depth > 0, "a male tool prints no texture on the outside"),
        (
            male and part.draft_angle < male_draft_limits(planned.candidate.polymer.semicrystalline)[0] - FUZZ,
            "with so little draft the part does not come off a male tool",
        ),
        (male and _webs(part, planned), "parts would need to stand further apart, or the sheet webs between them"),
    )
    return next((why for holds, why in against if holds), "")


def _webs(part: Part, planned: PlannedCandidate) -> bool:
    """Male tools stand their whole depth apart, female ones half of it: common practice, no source."""
    layout = planned.candidate.layout
    depth = formed_depth(part.depth, planned.candidate.process == "twin_sheet")
    return layout.cavities > 1 and layout.gap < depth - FUZZ
