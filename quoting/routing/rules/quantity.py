"""Does the number of parts suit the tool."""

from materials.sheet import INCH
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import COMMON, at_least, at_most
from quoting.routing.rules.referring import BLOW, FABRICATED, FOAM, INJECTION, INJECTION_LONGEST, LAY_UP, ROTATIONAL
from quoting.routing.verdict import Verdict

PROGRAMME_YEARS = 3  # usual life of a part: common practice, no source
LEAST_PROGRAMME = 50  # parts over that life: common practice, no source
SMALL_SIDE, SMALL_MOST = 6 * INCH, 5_000  # smaller than this both ways, more than this a year: common practice
BAND = {"vacuum": (50, 5_000), "pressure": (250, 5_000), "twin_sheet": (500, 20_000)}  # parts a year: common practice
BEYOND_BAND = 4  # times the upper end, beyond which another process is cheaper by far: common practice, no source
BAND_BASIS = (
    '"The Thermoforming Process Compared with Injection Molding", a thermoformer (250 to 3,000 a year is typical); '
    "bands: common practice, no source"
)


def programme_pays_tool(planned: PlannedCandidate) -> Verdict:
    """For a handful of parts the tool costs more than the parts."""
    part = planned.request.part
    large = max(part.length, part.width) > INJECTION_LONGEST * 4
    return at_least(
        "parts over the programme",
        planned.request.annual * PROGRAMME_YEARS,
        LEAST_PROGRAMME,
        "count",
        reason="{measured} parts are made over {years} years; a tool pays from {limit}",
        remedy="{limit} parts over the programme, or parts without a tool of their own",
        basis=COMMON,
        referral=LAY_UP if large else ROTATIONAL if part.enclosed else FABRICATED,
        years=(PROGRAMME_YEARS, "count"),
    )


def not_small_and_many(planned: PlannedCandidate) -> Verdict:
    """Small parts in large numbers come cheaper out of an injection mould."""
    part, many = planned.request.part, planned.request.annual > SMALL_MOST
    return at_least(
        "small part in large numbers",
        max(part.length, part.width),
        SMALL_SIDE if many else 0.0,
        "m",
        reason="the longer side is {measured}; made more than {many} times a year, it pays to form from {limit}"
        if many
        else "the longer side is {measured} and the part is not made more than {many} times a year ({limit})",
        remedy="an injection mould, or {many} parts a year at most",
        basis=COMMON,
        referral=INJECTION,
        many=(SMALL_MOST, "count"),
    )


def yearly_quantity(planned: PlannedCandidate) -> Verdict:
    """Each process has its band; a little outside it the customer is told, far outside the work belongs elsewhere."""
    request, (least, most) = planned.request, BAND[planned.candidate.process]
    return at_most(
        "yearly quantity",
        request.annual,
        BEYOND_BAND * most,
        "count",
        reason="{measured} parts a year; this process serves {least} to {most}, and {limit} at the utmost",
        remedy="a process with a dearer tool and a cheaper part, or {limit} parts a year at most",
        basis=BAND_BASIS,
        condition=None
        if least <= request.annual <= most
        else "{measured} parts a year lie outside the {least} to {most} that suit this process: compare with others",
        referral=_moulding_of_many(planned),
        least=(least, "count"),
        most=(most, "count"),
    )


def _moulding_of_many(planned: PlannedCandidate) -> str:
    part = planned.request.part
    if part.enclosed:
        return BLOW
    return INJECTION if max(part.length, part.width) <= INJECTION_LONGEST else FOAM
