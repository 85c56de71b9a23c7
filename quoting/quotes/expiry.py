"""Quotes that are no longer valid leave the board."""

from datetime import date

from django.db import transaction

from quoting.planning.jobs import jobs_drop
from quoting.planning.models import QUOTED, Job
from quoting.quotes.models import QUOTE, Quote
from quoting.quotes.records import audit
from quoting.quotes.trying_again import tried_again


@tried_again
@transaction.atomic
def quotes_expire(*, on: date, by: object) -> tuple[str, ...]:
    """Jobs and quoted hours of quotes whose last day is before ``on`` are gone; the numbers of those quotes.

    The quote itself stays as it is: won after all, its job is written anew.
    """
    due = Job.objects.select_for_update().filter(state=QUOTED, valid_until__lt=on).order_by("quote")
    numbers = tuple(due.values_list("quote", flat=True))
    jobs_drop(quotes=numbers)
    for number in numbers:
        quote = Quote.objects.filter(number=number, kind=QUOTE).select_related("inquiry").order_by("revision").last()
        audit("quote_expire", by=by, inquiry=quote.inquiry, quote=quote, valid_until=quote.valid_until.isoformat())
    return numbers
