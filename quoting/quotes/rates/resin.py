"""Sheet prices as the tables hold them: a new price from a day on is a further offer, and the one before ends."""

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from difflib import get_close_matches

from materials.amounts import trimmed
from materials.models import OFFER_RANGES, PriceTier, SheetOffer
from quoting.intake.rate_rows import pounds, tier_name
from quoting.intake.rate_tables import COLOUR, LEAST_ORDER, PRICE, REGRIND, SHEET, Entry, Figure, WrongCell
from quoting.quotes.rates.changes import Kept, Preview
from quoting.units import shortened

DAY = timedelta(days=1)
LOWEST_PRICE, HIGHEST_PRICE = Decimal("0.0001"), Decimal(1000)  # $ a pound, as the table's own limits
_COLUMNS = {COLOUR: "colour_charge", LEAST_ORDER: "minimum_order", REGRIND: "regrind_value_per_pound"}


class SheetBook:
    """The table of resin and sheet."""

    def timelines(self) -> dict[str, tuple[Kept, ...]]:
        """Every sheet with its prices by date; two queries."""
        found: dict[str, tuple[Kept, ...]] = {}
        for offer in SheetOffer.objects.order_by("name", "valid_from").prefetch_related("tiers"):
            found[offer.name] = (*found.get(offer.name, ()), _kept(offer))
        return found

    def refused(self, entries: Iterable[Entry]) -> list[WrongCell]:
        """Sheet that the house does not have, and figures that are a typing slip."""
        names, wrong = set(SheetOffer.objects.values_list("name", flat=True)), []
        for one in entries:
            if one.subject not in names:
                near = get_close_matches(one.subject, sorted(names), n=1)
                hint = f"did you mean {near[0]}?" if near else "a new sheet is entered with its gauges and sizes first"
                accepted = f"the name of a sheet of the house; {hint}"
                wrong.append(WrongCell(one.rows[0], SHEET, shortened(one.subject), accepted))
            wrong += [cell for figure in one.figures if (cell := _beyond(one, figure)) is not None]
        return wrong

    def refused_together(self, preview: Preview) -> list[WrongCell]:
        """Prices of different sheets do not contradict each other."""
        return []

    def write(self, entry: Entry, source: str) -> None:
        """Keep a sheet's prices from a day on: those in force there end the day before, its specification goes on."""
        rows = list(SheetOffer.objects.filter(name=entry.subject).order_by("valid_from"))
        offer = next((one for one in rows if one.valid_from == entry.valid_from), None) or _begun(
            rows, entry.valid_from
        )
        for heading, column in _COLUMNS.items():
            setattr(offer, column, next(one.value for one in entry.figures if one.name == heading))
        offer.source = source
        offer.full_clean()
        offer.save()
        offer.tiers.all().delete()
        for mass, figure in zip(entry.of[1:], entry.figures, strict=False):
            tier = PriceTier(offer=offer, from_mass=float(mass), price_per_pound=figure.value)
            tier.full_clean()
            tier.save()


def _begun(rows: list[SheetOffer], day: date) -> SheetOffer:
    """A further offer from a day on, not saved yet; the one in force there is ended."""
    now = next((one for one in rows if one.valid_from < day and (one.valid_to is None or day <= one.valid_to)), None)
    earlier = [one for one in rows if one.valid_from < day]
    like = now or (earlier or rows)[-1 if earlier else 0]
    later = [one for one in rows if one.valid_from > day]
    values = {field.attname: getattr(like, field.attname) for field in SheetOffer._meta.fields if not field.primary_key}
    ends = now.valid_to if now else later[0].valid_from - DAY if later else None
    if now:
        now.valid_to = day - DAY
        now.save(update_fields=["valid_to"])
    return SheetOffer(**values | {"valid_from": day, "valid_to": ends})


def _kept(offer: SheetOffer) -> Kept:
    tiers = sorted(offer.tiers.all(), key=lambda tier: tier.from_mass)
    figures = [
        Figure(tier_name(pounds(one.from_mass)), str(trimmed(one.price_per_pound)), one.price_per_pound)
        for one in tiers
    ]
    figures += [
        Figure(COLOUR, str(trimmed(offer.colour_charge)), offer.colour_charge),
        Figure(LEAST_ORDER, pounds(offer.minimum_order), offer.minimum_order),
        Figure(REGRIND, str(trimmed(offer.regrind_value_per_pound)), offer.regrind_value_per_pound),
    ]
    of = (offer.name, *(repr(one.from_mass) for one in tiers))
    return Kept(offer.valid_from, tuple(figures), offer.source, offer.valid_to, of)


def _beyond(entry: Entry, figure: Figure) -> WrongCell | None:
    column = _COLUMNS.get(figure.name)
    least, most = OFFER_RANGES[column] if column else (LOWEST_PRICE, HIGHEST_PRICE)
    if least <= figure.value <= most:
        return None
    unit = "kg" if column == "minimum_order" else "$"
    heading = figure.name if column else PRICE
    return WrongCell(entry.rows[0], heading, shortened(figure.text), f"from {least:g} to {most:,g} {unit}")
