"""The sheet: its gauge, and whether a mill sells it in this size."""

from materials.sheet import INCH
from materials.web import web_cut
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import COMMON, at_least, at_most, not_assessed, reaches, verdict
from quoting.routing.rules.other_tool import on_other_tool
from quoting.routing.rules.referring import FABRICATED, ROTATIONAL, THIN_GAUGE
from quoting.routing.verdict import Verdict

THINNEST, THICKEST = 0.060 * INCH, 0.500 * INCH  # heavy-gauge trade: common practice, no source
NO_OFFER = "no mill offers this polymer in the colour asked, so there is nothing to compare {measured} with ({limit})"
ASK_MILL = "ask a mill for this polymer in the colour asked, or choose another colour"


def not_thin_gauge(planned: PlannedCandidate) -> Verdict:
    """Thinner sheet comes off a roll and is formed on other machines."""
    return at_least(
        "least gauge of the trade",
        planned.candidate.required_gauge,
        THINNEST,
        "m",
        reason="the part needs a gauge of {measured}; heavy-gauge forming begins at {limit}",
        remedy="a heavier part from a gauge of {limit}, if its weight and price allow",
        basis=COMMON,
        referral=THIN_GAUGE,
    )


def not_too_thick(planned: PlannedCandidate) -> Verdict:
    """Beyond half an inch the middle of a sheet is not warm before its skin is burnt."""
    needed = planned.candidate.required_gauge
    other, figures = ("", {}) if reaches(THICKEST, needed) else on_other_tool(planned, THICKEST)
    return at_most(
        "most gauge of the trade",
        needed,
        THICKEST,
        "m",
        reason="the part needs a gauge of {measured}; heavy-gauge forming ends at {limit}",
        remedy="a thinner wall, a shallower draw, or ribs and a twin-sheet part instead of a solid wall" + other,
        basis=COMMON,
        referral=ROTATIONAL if planned.request.part.enclosed else FABRICATED,
        **figures,
    )


def gauge_on_machine(planned: PlannedCandidate) -> Verdict:
    """Clamps and ovens are made for a range of gauges."""
    machine = planned.candidate.machine
    return _between(
        planned,
        "gauge on machine",
        machine.thinnest_gauge,
        machine.thickest_gauge,
        "the starting gauge is {measured} and the limit of the machine is {limit}",
        "a machine that takes a gauge of {measured}, or a wall that needs {limit}",
        "the machine's own data",
    )


def sheet_offered(planned: PlannedCandidate) -> Verdict:
    """Without an offer there is no price and no date."""
    return at_least(
        "sheet offered",
        0 if planned.candidate.offer is None else 1,
        1,
        "count",
        reason=f"{{measured}} offer of this polymer in {planned.request.colour} colour is valid today; "
        "{limit} is needed",
        remedy=ASK_MILL,
        basis="the table of sheet offers",
    )


def gauge_of_offer(planned: PlannedCandidate) -> Verdict:
    """A mill extrudes a range of gauges."""
    offer, gauge = planned.candidate.offer, planned.candidate.gauge
    if offer is None:
        return not_assessed("gauge of offer", gauge, 0.0, "m", NO_OFFER, ASK_MILL)
    return _between(
        planned,
        "gauge of offer",
        offer.thinnest_gauge,
        offer.thickest_gauge,
        "the starting gauge is {measured} and the limit of the mill's offer is {limit}",
        "an offer that covers a gauge of {measured}, or a wall that needs {limit}",
        "the table of sheet offers",
    )


def size_of_offer(planned: PlannedCandidate) -> Verdict:
    """The blank is cut off the mill's web, either way round: the die limits its width, the saw its length."""
    layout, offer = planned.candidate.layout, planned.candidate.offer
    blank = layout.blank_length, layout.blank_width
    if offer is None:
        return not_assessed("size of offer", max(blank), 0.0, "m", NO_OFFER, ASK_MILL)
    cut = web_cut(*blank, offer.widest, offer.longest)
    by_width = offer.widest - cut.across <= offer.longest - cut.along
    measured, limit = (cut.across, offer.widest) if by_width else (cut.along, offer.longest)
    what = "the mill's web is {limit} wide" if by_width else "the mill cuts its web up to {limit} long"
    return at_most(
        "size of offer",
        measured,
        limit,
        "m",
        reason=f"in its tighter direction, the better way round, the blank is {{measured}} and {what}",
        remedy=f"a mill whose web is {{measured}} {'wide' if by_width else 'long'}, or "
        + ("fewer parts on the blank" if layout.cavities > 1 else "a smaller part"),
        basis="the table of sheet offers",
    )


def _between(
    planned: PlannedCandidate, rule: str, least: float, most: float, reason: str, remedy: str, basis: str
) -> Verdict:
    gauge = planned.candidate.gauge
    limit = least if not reaches(gauge, least) else most
    passes = reaches(gauge, least) and reaches(most, gauge)
    other, figures = ("", {}) if reaches(most, gauge) else on_other_tool(planned, most)
    return verdict(rule, passes, gauge, limit, "m", reason=reason, remedy=remedy + other, basis=basis, **figures)
