"""What the screens of re-pricing read."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Avg, Count, Max, Min, Q, QuerySet
from django.db.models.functions import Abs

from quoting.quotes import policies
from quoting.quotes.models import RateRow
from quoting.quotes.repricing_models import RepricingResult, RepricingRun
from quoting.quotes.repricing_work import open_book
from quoting.quotes.workers import living

CROSSES, MOVES, ROUTE, UNPRICED, BELOW = "crosses", "moves", "route", "unpriced", "below"
FILTERS = {
    CROSSES: Q(crosses_floor=True),
    BELOW: Q(below_floor=True),
    MOVES: Q(moved__isnull=False) & ~Q(moved=0),
    ROUTE: Q(changes_route=True),
    UNPRICED: Q(now__isnull=True),
}


def run_list(*, person: object) -> QuerySet[RepricingRun]:
    """Runs, newest first; none for whoever may not see them."""
    policies.require(person, "see_repricing")
    return RepricingRun.objects.select_related("by")


def run_get(*, person: object, run: int) -> RepricingRun:
    return run_list(person=person).get(pk=run)


def results_of(run: RepricingRun, chosen: str = "") -> QuerySet[RepricingResult]:
    """Results, those that cannot be priced first, then by how far they move."""
    found = run.results.select_related("inquiry", "inquiry__customer").defer("inquiry__snapshot")
    if chosen in FILTERS:
        found = found.filter(FILTERS[chosen])
    return found.order_by(Abs("moved_share").desc(nulls_first=True), "pk")


def totals_of(run: RepricingRun) -> dict:
    """Counts for each filter, how many get dearer or cheaper, and the mean and the ends of the movement."""
    counts = {name: Count("pk", filter=condition) for name, condition in FILTERS.items()}
    return run.results.aggregate(
        priced=Count("pk"), dearer=Count("pk", filter=Q(moved__gt=0)), cheaper=Count("pk", filter=Q(moved__lt=0)),
        mean=Avg("moved_share"), least=Min("moved_share"), most=Max("moved_share"), **counts,
    )  # fmt: skip


def open_quotes() -> int:
    return open_book().count()


@dataclass(frozen=True)
class RateDay:
    """A day from which some rates are new."""

    day: date
    rates: int


def rate_days(most: int = 8) -> list[RateDay]:
    """The latest days from which rates hold, newest first."""
    days = RateRow.objects.order_by().values("valid_from").annotate(rates=Count("pk")).order_by("-valid_from")
    return [RateDay(one["valid_from"], one["rates"]) for one in days[:most]]


def nobody_at(run: RepricingRun) -> bool:
    """A run that is under way, though no worker gives a sign of life."""
    return run.going and not living().exists()
