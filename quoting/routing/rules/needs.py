"""What the polymer must stand, and what its maker certifies. We never certify the part."""

from datetime import date

from materials.polymer import NeedMet
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import COMMON, at_most, not_assessed, plain, reaches, verdict
from quoting.routing.rules.gauge import THICKEST
from quoting.routing.rules.referring import COMPRESSION, METAL
from quoting.routing.verdict import Verdict

SERVICE_MARGIN = 10.0  # K below the deflection temperature: common practice, no source
COMPOSITE_MOST = 423.15  # K, above it plastics of this kind give way to metal: common practice, no source
AGENCY_NEEDS = ("food_contact", "flame_v0")  # a certifier has the last word on these
SAID = {
    "food_contact": "food contact",
    "flame_v0": "flame class V-0",
    "outdoor_uv": "outdoor use",
    "impact": "impact",
    "transparent": "transparency",
}


def polymer_meets_needs(planned: PlannedCandidate) -> Verdict:
    """Every need asked must be held by this polymer, on paper that is valid today and for the wall that is left."""
    needs = planned.request.needs
    found = tuple((need, _shortfall(planned, need)) for need in needs)
    missing = tuple((need, lack) for need, lack in found if lack)
    met, asked = len(needs) - len(missing), len(needs)
    if planned.on is None and needs:
        return not_assessed(
            "polymer needs",
            0,
            asked,
            "count",
            "no day is known on which {measured} of {limit} papers could be valid",
            "give the day of the answer",
        )
    wall = _flame_verdict(planned) if missing and all(lack == "wall" for _, lack in missing) else None
    if wall:
        return wall
    lacking = "; ".join(f"{SAID.get(need, need)}: {_LACKS[lack]}" for need, lack in missing)
    return verdict(
        "polymer needs",
        not missing,
        met,
        asked,
        "count",
        reason="needs asked: {limit}; met by this polymer: {measured}" + (f" ({lacking})" if lacking else ""),
        remedy="another polymer, or a valid certificate from the mill",
        basis="the polymer's certificates on file",
        condition=_agency_condition(planned),
    )


def service_temperature(planned: PlannedCandidate) -> Verdict:
    """Near its deflection temperature a loaded part creeps."""
    service, polymer = planned.request.part.service_temperature, planned.candidate.polymer
    return at_most(
        "service temperature",
        service,
        polymer.deflection_temperature - SERVICE_MARGIN,
        "K",
        reason="the part serves at up to {measured}; this polymer stands {limit}",
        remedy="a polymer that deflects above {deflection}",
        basis=f"deflection temperature from the polymer's data; margin of 10 K: {COMMON}",
        referral=COMPRESSION if service <= COMPOSITE_MOST else METAL,
        deflection=(service + SERVICE_MARGIN, "K"),
    )


_LACKS = {
    "held": "not held",
    "paper": "no certificate on file",
    "date": "the certificate is not valid today",
    "wall": "the thinnest wall is under the certified one",
}


def _held(planned: PlannedCandidate, need: str) -> NeedMet | None:
    return next((one for one in planned.candidate.polymer.needs if one.need == need), None)


def _shortfall(planned: PlannedCandidate, need: str) -> str:
    """What is lacking for one need, or ''."""
    held = _held(planned, need)
    if held is None:
        return "held"
    if need in AGENCY_NEEDS and not held.certificate:
        return "paper"
    if _expired(held.expires, planned.on):
        return "date"
    thin = held.thinnest_wall is not None and not reaches(_least_wall(planned), held.thinnest_wall)
    return "wall" if thin else ""


def _least_wall(planned: PlannedCandidate) -> float:
    """The thinnest wall on sheet at the low end of its gauge tolerance [m]: the one a certifier may measure."""
    return planned.plan.thinning.thinnest_wall * (1 - planned.candidate.gauge_tolerance)


def _expired(expires: date | None, on: date | None) -> bool:
    return expires is not None and on is not None and on > expires


def _flame_verdict(planned: PlannedCandidate) -> Verdict:
    """A flame class holds only down to a thickness, and forming thins the wall below the gauge."""
    wall, tolerance = _least_wall(planned), planned.candidate.gauge_tolerance
    thin = " on sheet that runs {tolerance} thin" if tolerance else ""
    walls = (_held(planned, need) for need in planned.request.needs)
    limit = max(held.thinnest_wall for held in walls if held and held.thinnest_wall is not None)
    gauge = limit / wall * planned.candidate.gauge
    return verdict(
        "polymer needs",
        False,
        wall,
        limit,
        "m",
        reason=f"after forming the thinnest wall{thin} is {{measured}}; the certificate holds down to {{limit}}",
        remedy=("a starting gauge of {gauge}, or " if reaches(THICKEST, gauge) else "")
        + "a polymer certified for thinner walls",
        basis="the polymer's certificates on file; a class holds for the thickness tested",
        gauge=(gauge, "m"),
        **({"tolerance": (tolerance, "share")} if tolerance else {}),
    )


def _agency_condition(planned: PlannedCandidate) -> str | None:
    """What may be said of sheet that is certified; the part itself is for the certifier to list."""
    asked = (need for need in planned.request.needs if need in AGENCY_NEEDS)
    held = ((need, _held(planned, need)) for need in asked)
    stated = "; ".join(f"{SAID[need]} ({plain(one.certificate)})" for need, one in held if one and one.certificate)
    if not stated:
        return None
    colour = planned.request.colour
    holds = (
        "" if colour == "natural" else f"; that it holds for {colour} colour too is for the sheet's maker to confirm"
    )
    return (
        f"made from sheet whose maker states {stated}{holds}; listing of the finished part must come from the certifier"
    )
