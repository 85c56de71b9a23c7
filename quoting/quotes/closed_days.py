"""Public holidays of a plant put into its calendar, without touching what people entered or took out."""

from dataclasses import dataclass
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from machines.holiday_dates import named_holidays
from machines.models import ClosedDay, Plant
from quoting.quotes.models import AuditEntry
from quoting.quotes.records import audit
from quoting.quotes.trying_again import tried_again

ACTION = "closed_days_keep"
YEARS = range(2000, 2101)


@dataclass(frozen=True)
class Closing:
    """The holidays of a plant: to be added, standing there already, and taken out by somebody, so left out."""

    plant: Plant
    years: tuple[int, ...]
    added: tuple[tuple[date, str], ...]
    standing: tuple[tuple[date, str], ...]
    taken_out: tuple[tuple[date, str], ...]


def closed_days_look(*, plant: Plant, years: tuple[int, ...]) -> Closing:
    """What filling the calendar of these years would do. ValidationError for a year or a state without holidays."""
    wrong = [year for year in years if year not in YEARS]
    if wrong or not years:
        raise ValidationError({"years": f"got {wrong or 'none'}; accepted are years from {YEARS[0]} to {YEARS[-1]}"})
    try:
        holidays = named_holidays(plant.country, plant.state, years)
    except NotImplementedError as error:
        told = f"plant {plant.code}: {error}; accepted is a country and a state whose holidays are known"
        raise ValidationError(told) from error
    standing = dict(plant.closed_days.values_list("day", "reason"))
    before = _added_before(plant)
    return Closing(
        plant,
        tuple(sorted(years)),
        tuple(one for one in holidays if one[0] not in standing and one[0].isoformat() not in before),
        tuple((day, standing[day]) for day, _ in holidays if day in standing),
        tuple(one for one in holidays if one[0] not in standing and one[0].isoformat() in before),
    )


@tried_again
@transaction.atomic
def closed_days_keep(*, plant: Plant, years: tuple[int, ...], by: object) -> Closing:
    """Add the holidays that are not there. A day that stands, whatever its reason, stays; one taken out stays out."""
    locked = Plant.objects.select_for_update(no_key=True).get(pk=plant.pk)
    found = closed_days_look(plant=locked, years=years)
    for day, name in found.added:
        row = ClosedDay(plant=locked, day=day, reason=name[:120])
        row.full_clean()
        row.save()
    if found.added:
        days = [day.isoformat() for day, _ in found.added]
        audit(ACTION, by=by, plant=plant.code, years=list(found.years), days=days)
    return found


def _added_before(plant: Plant) -> frozenset[str]:
    rows = AuditEntry.objects.filter(action=ACTION, detail__plant=plant.code).values_list("detail", flat=True)
    return frozenset(day for detail in rows for day in detail["days"])
