"""Tooling paid through the part price over an agreed number of parts, with what it costs to wait for the money."""

from dataclasses import replace
from decimal import Decimal

from quoting.catalog import Rates, Sources
from quoting.costing.lines import Amortised, ToolingLine, line
from quoting.costing.money import INQUIRY, Input, given, up_to_cent
from quoting.costing.price_breaks import AMORTISED, Release
from quoting.intake.part import PartRequest


def amortised_over(request: PartRequest, tooling: tuple[ToolingLine, ...], rates: Rates) -> Amortised | None:
    """The tooling as a part of the part price, where the customer wishes it so.

    ``years = parts / parts a year``; on average half is outstanding, so ``carrying = tooling x rate x years / 2``;
    ``per part = (tooling + carrying) / parts``, up to the next cent. What is paid in all is
    ``parts x per part``, to the cent; the carrying charge is that less the tooling.

    Parameters
    ----------
    request : PartRequest
        Its ``amortise_over`` is None where tooling is billed by itself [count].
    tooling : tuple of ToolingLine
        [$]
    rates : Rates
        Rates in force [-].

    Returns
    -------
    amortised : Amortised or None
        [$]
    """
    parts, price = request.amortise_over, sum((each.price for each in tooling), Decimal(0))
    if parts is None or not price:
        return None
    rate = rates.price.tooling_carrying_rate
    years = Decimal(parts) / request.annual
    per_part = up_to_cent(price * (1 + rate * years / 2) / parts)
    return Amortised(parts, years, rate, price, per_part * parts - price, per_part)


def with_tooling(release: Release, amortised: Amortised | None, sources: Sources) -> Release:
    """The release with the tooling's share in its unit price, after margin and rounding: tooling carries neither.

    Parameters
    ----------
    release : Release
        As priced without tooling [$].
    amortised : Amortised or None
        [$]
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    release : Release
        The same where nothing is amortised; its lines add up to its unit price as before [$].
    """
    if amortised is None:
        return release

    def inputs() -> tuple[Input, ...]:
        return (
            given("tooling", amortised.tooling, "$"),
            given("parts", amortised.parts, "-", INQUIRY),
            given("years that they take", amortised.years, "-"),
            given("carrying rate a year", amortised.rate, "-", sources.of("price.tooling_carrying_rate")),
            given("carrying charge", amortised.carrying, "$"),
        )

    basis = (
        "tooling x (1 + carrying rate x years / 2) / parts, up to the next cent: half of it is outstanding on average; "
        "tooling and carrying charge are paid off after exactly these parts"
    )
    added = line(release.quantity, AMORTISED, release.quantity * amortised.per_part, basis, inputs)
    unit_price = release.unit_price + amortised.per_part
    return replace(release, unit_price=unit_price, written=lambda: (*release.lines, added))
