"""The blank in the clamp frame and under the heaters."""

from machines.envelope import (
    Room,
    heated_area,
    room_in_largest_opening,
    room_over_smallest_opening,
    rooms_in_heated_area,
    rooms_in_largest_opening,
    tightest,
)
from materials.sheet import INCH
from quoting.intake.fields import SHORTEST_SIDE
from quoting.routing.candidate import Layout, PlannedCandidate
from quoting.routing.rules.comparing import LEAST_CHANGE, at_least, at_most, either
from quoting.routing.rules.referring import large_or_few
from quoting.routing.verdict import Verdict

LEAST_SPARE = 0.25 * INCH  # saw-cut sheet may run 1/8 in over at each edge: a sheet seller's "Terms and Conditions"


def blank_in_clamp_frame(planned: PlannedCandidate) -> Verdict:
    """A blank larger than the frame opened fully cannot be held; one that just fills it has no room to be laid in."""
    layout, machine = planned.candidate.layout, planned.candidate.machine
    along, across = rooms_in_largest_opening(machine, layout.blank_length, layout.blank_width)
    room = tightest(along, across)
    turned = room_in_largest_opening(machine, layout.blank_width, layout.blank_length)
    tight = room.spare < LEAST_SPARE - 1e-9
    smaller = _smaller(layout, room, room is along)
    return at_most(
        "blank in clamp frame",
        room.needed,
        room.given,
        "m",
        reason="laid as planned, the blank needs {measured} in its tighter direction and the clamp frame opens to "
        "{limit}; laid the other way round it needs {turned} of {turned_limit}",
        remedy=either(
            "a part {over} smaller in this direction" if smaller else "",
            "a machine whose clamp frame opens to {measured}",
            "fewer parts on the blank" if layout.cavities > 1 else "",
            "a part in two pieces",
        )
        if room.spare < 0
        else "none is needed",
        basis="the machine's own data; blank allowances are common practice, no source",
        condition="no spare between blank and frame: the blank takes {measured} of {limit}, so it must be cut to "
        "size, not run over"
        if tight
        else None,
        referral=large_or_few(planned.request),
        over=(smaller, "m"),
        turned=(turned.needed, "m"),
        turned_limit=(turned.given, "m"),
    )


def blank_on_smallest_frame(planned: PlannedCandidate) -> Verdict:
    """The frame closes only so far; a smaller blank falls through it."""
    layout, machine = planned.candidate.layout, planned.candidate.machine
    room = room_over_smallest_opening(machine, layout.blank_length, layout.blank_width)
    wider = max(layout.wider_along, layout.wider_across)
    spaced = f"; {'parts stand' if layout.cavities > 1 else 'the part stands'} {{wider}} further from what is next"
    return at_least(
        "blank on smallest frame",
        room.given,
        room.needed,
        "m",
        reason="in its tighter direction the blank is {measured} and the clamp frame closes to {limit} at least"
        + (f"{spaced} to it for that" if wider else ""),
        remedy="more parts on the blank, a blank of {limit} in this direction, or a machine whose frame closes to "
        "{measured}",
        basis="the machine's own data; blank allowances are common practice, no source",
        **({"wider": (wider, "m")} if wider else {}),
    )


def heated_area_covers_blank(planned: PlannedCandidate) -> Verdict:
    """Sheet outside the heaters stays cold and tears or bridges."""
    layout, machine = planned.candidate.layout, planned.candidate.machine
    along, across = rooms_in_heated_area(heated_area(machine), layout.blank_length, layout.blank_width)
    room = tightest(along, across)
    smaller = _smaller(layout, room, room is along)
    return at_most(
        "heated area over blank",
        room.needed,
        room.given,
        "m",
        reason="in its tighter direction the blank is {measured} and the heaters cover {limit}",
        remedy=either(
            "a machine whose heaters cover {measured}",
            "fewer parts on the blank" if layout.cavities > 1 else "",
            "a part {over} smaller in this direction" if layout.cavities == 1 and smaller else "",
        )
        if room.spare < 0
        else "none is needed",
        basis="the machine's own data",
        referral=large_or_few(planned.request),
        over=(smaller, "m"),
    )


def _smaller(layout: Layout, room: Room, along: bool) -> float:
    """By how much each part must be smaller one way for its blank to fit [m]; 0 where it fits or none would be left."""
    if room.spare >= 0:
        return 0.0
    side, count = (layout.part_along, layout.along) if along else (layout.part_across, layout.across)
    less = max((room.needed - room.given) / count, LEAST_CHANGE)
    return less if side - less >= SHORTEST_SIDE else 0.0
