"""Numbers that went out and that a restored database does not know: the counters are moved above them."""

from django.db import transaction

from quoting.quotes import policies
from quoting.quotes.given_numbers import Behind, behind
from quoting.quotes.models import Counter
from quoting.quotes.records import audit
from quoting.quotes.trying_again import tried_again


@tried_again
@transaction.atomic
def numbers_raise(*, by: object) -> tuple[Behind, ...]:
    """Move each counter that is behind to the highest number given out, and record which numbers are lost."""
    policies.require(by, "raise_numbers")
    raised = []
    for one in behind():
        Counter.objects.get_or_create(series=one.series, year=one.year)
        counter = Counter.objects.select_for_update().get(series=one.series, year=one.year)
        if counter.last >= one.mark:
            continue
        lost = Behind(one.series, one.year, counter.last, one.mark)
        first, last = lost.lost
        counter.last = one.mark
        counter.full_clean(validate_unique=False, validate_constraints=False)
        counter.save(update_fields=["last"])
        audit("numbers_raise", by=by, first_lost=first, last_lost=last)
        raised.append(lost)
    return tuple(raised)
