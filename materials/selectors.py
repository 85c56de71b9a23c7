"""Polymers and sheet offers as values, each in a fixed number of queries."""

from datetime import date

from materials import models, polymer, sheet


def polymers() -> tuple[polymer.Polymer, ...]:
    """Every polymer of which all properties are known, by name; three queries."""
    rows = models.Polymer.objects.order_by("name").prefetch_related("properties", "needs")
    return tuple(row.to_domain() for row in rows if row.is_complete)


def offers(on: date) -> tuple[sheet.SheetOffer, ...]:
    """Sheet offers with a price, open on that day (first and last day count), by name; two queries."""
    rows = models.SheetOffer.objects.filter(valid_from__lte=on).exclude(valid_to__lt=on)
    rows = rows.order_by("name").select_related("polymer").prefetch_related("tiers")
    return tuple(row.to_domain() for row in rows if row.tiers.all())
