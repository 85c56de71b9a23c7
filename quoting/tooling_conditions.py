"""What a quote must say of its tooling, of a tool that is moved to us, and of regrind."""

from quoting.answer import Condition, PricedCandidate
from quoting.costing.regrind import LIMITS_REGRIND
from quoting.intake.part import PartRequest
from quoting.words import words

WEEKS_PER_YEAR = 52


def regrind_conditions(chosen: PricedCandidate) -> tuple[Condition, ...]:
    """Sheet with a certificate takes regrind back only as far as its maker allows.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].

    Returns
    -------
    conditions : tuple of Condition
        One, or none where no need limits regrind [-].
    """
    asked = [need for need in LIMITS_REGRIND if need in chosen.judged.planned.request.needs]
    named = " and ".join({"food_contact": "food contact", "flame_v0": "a flame class"}[need] for need in asked)
    if not asked:
        return ()
    return (
        Condition(
            words("regrind goes back into this sheet only within the share and by the paper of the sheet maker"),
            words(
                f"sheet for {named} keeps its certificate only with as much regrind as its maker allows; the credit in "
                "the price counts no more than the share in our rates"
            ),
        ),
    )


def tooling_conditions(chosen: PricedCandidate, request: PartRequest) -> tuple[Condition, ...]:
    """Tooling paid through the part price, and what of a transferred tool could not be judged.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].
    request : PartRequest
        What was asked [-].

    Returns
    -------
    conditions : tuple of Condition
        [-]
    """
    found, amortised = [], chosen.cost.amortised
    if amortised is not None:
        found.append(
            Condition(
                words(
                    f"the first {amortised.parts} parts carry {{each}} of tooling each; when fewer are ordered within "
                    "{time} of the first release, or the order ends, the rest is billed at once; after them the price "
                    "falls by that amount, and the tools are the buyer's once they are paid",
                    each=(float(amortised.per_part), "$"),
                    time=(WEEKS_PER_YEAR * float(amortised.years), "weeks"),
                ),
                words(
                    "the tooling of {tooling} is paid through the part price at the customer's wish, with a carrying "
                    "charge of {carrying} at {rate} a year",
                    tooling=(float(amortised.tooling), "$"),
                    carrying=(float(amortised.carrying), "$"),
                    rate=(float(amortised.rate), "share"),
                ),
            )
        )
    if request.tooling == "transfer":
        found += [_lift_condition(request), *_repair_conditions(chosen)]
    return tuple(found)


def _lift_condition(request: PartRequest) -> Condition:
    if request.tool.mass is None:
        return Condition(
            words("whether we can lift and set the customer's tool is not assessed: its weight is needed first"),
            words("the inquiry does not give the weight of the tool"),
        )
    return Condition(
        words("whether hoist and platen carry the customer's tool of {mass} is proved before it is moved",
              mass=(request.tool.mass, "kg")),
        words("our machine data do not say what they carry, so this is not assessed"),
    )  # fmt: skip


def _repair_conditions(chosen: PricedCandidate) -> tuple[Condition, ...]:
    return tuple(
        Condition(
            words(
                "repairs of the customer's tool are not in the price; they are estimated at {low} to {high}",
                low=(float(one.low), "$"),
                high=(float(one.high), "$"),
            ),
            words("an estimate from what such a tool would cost new; the arrival inspection decides"),
        )
        for one in chosen.cost.options
        if one.name == "likely_repairs"
    )
