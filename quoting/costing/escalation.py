"""What a move of the resin price does to the unit price, by pricing each release again with dearer sheet."""

from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from materials.sheet import SheetOffer
from quoting.catalog import Rates, Sources
from quoting.costing.money import LINE_STEP
from quoting.costing.price_breaks import ReleaseInputs, price_release
from quoting.routing.recalled import Recalled
from quoting.words import Words, words

RISE = Decimal("0.10")  # by how much the resin is moved to see its effect
CENT_A_POUND = Decimal("0.01")  # $/lb of resin, the other step that the trade speaks of


@dataclass(frozen=True)
class ResinEffect:
    """What resin does to the unit price of one release [$ per part]. ``resin_price`` [$/lb] within the sheet's."""

    quantity: int
    sheet_price: Decimal  # $/lb
    resin_price: Decimal  # $/lb
    per_ten_percent: Decimal
    per_cent_a_pound: Decimal
    sheet_only: Decimal  # of the ten percent: sheet less regrind credit, without what is added upon it


@dataclass(frozen=True)
class Escalation:
    effects: tuple[ResinEffect, ...]  # one for each release, ascending
    resin_share: Decimal
    resin_share_source: str
    threshold: Decimal
    threshold_source: str
    clause: Words  # for the customer
    amounts: Words


def with_resin(offer: SheetOffer, rise: Decimal, resin_price: Decimal) -> SheetOffer:
    """The offer after resin has moved: each tier by the same $/lb, clean regrind in proportion.

    Parameters
    ----------
    offer : SheetOffer
        [$/lb]
    rise : Decimal
        Share by which resin moves [-].
    resin_price : Decimal
        Resin in a pound of sheet before [$/lb].

    Returns
    -------
    offer : SheetOffer
        [$/lb]
    """
    tiers = tuple(replace(tier, price_per_pound=tier.price_per_pound + rise * resin_price) for tier in offer.tiers)
    return replace(offer, tiers=tiers, regrind_value_per_pound=offer.regrind_value_per_pound * (1 + rise))


def resin_effect(inputs: ReleaseInputs, rates: Rates) -> ResinEffect:
    """Price of one release before and after: resin up by 10 %, and by one cent a pound.

    Parameters
    ----------
    inputs : ReleaseInputs
        The release [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    effect : ResinEffect
        [$]
    """
    recalled = Recalled()
    now = price_release(inputs, rates, recalled)
    resin = rates.advice.resin_share * now.need.price_per_pound

    def raised(rise: Decimal):
        offer = with_resin(inputs.sheet.offer, rise, resin)
        return price_release(replace(inputs, sheet=replace(inputs.sheet, offer=offer)), rates, recalled)

    tenth = raised(RISE)
    cent = raised(CENT_A_POUND / resin) if resin else now
    bought = [sum(one.named(name).total for name in ("sheet", "regrind credit")) for one in (now, tenth)]
    return ResinEffect(
        quantity=inputs.quantity,
        sheet_price=now.need.price_per_pound,
        resin_price=resin,
        per_ten_percent=_step(tenth.exact_price - now.exact_price),
        per_cent_a_pound=_step(cent.exact_price - now.exact_price),
        sheet_only=_step((bought[1] - bought[0]) / inputs.quantity),
    )


def _step(amount: Decimal) -> Decimal:
    return amount.quantize(LINE_STEP, ROUND_HALF_UP)


def escalation(releases: tuple[ReleaseInputs, ...], rates: Rates, sources: Sources) -> Escalation:
    """The effect on every release, and the clause that goes on the quote.

    Parameters
    ----------
    releases : tuple of ReleaseInputs
        Ascending by size [-].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    escalation : Escalation
        [$]
    """
    effects = tuple(resin_effect(each, rates) for each in releases)
    advice = rates.advice
    return Escalation(
        effects=effects,
        resin_share=advice.resin_share,
        resin_share_source=sources.of("advice.resin_share"),
        threshold=advice.resin_threshold,
        threshold_source=sources.of("advice.resin_threshold"),
        clause=_clause(advice.resin_threshold),
        amounts=_amounts(effects),
    )


def _clause(threshold: Decimal) -> Words:
    return words(
        "sheet follows resin: when the resin index that we name together in the order stands more than {threshold} "
        "above or below its value on the day of this quote, the unit prices of releases called off from then on go up "
        "or down with it by the amounts stated here; subject to contract",
        threshold=(float(threshold), "share"),
    )


def _amounts(effects: tuple[ResinEffect, ...]) -> Words:
    told = "; ".join(
        f"of {each.quantity:,} by ${_cents(each.per_ten_percent)} and ${each.per_cent_a_pound}" for each in effects
    )
    return words(f"the unit price moves, for each 10 % and for each $0.01 a pound of resin, in releases {told}")


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)
