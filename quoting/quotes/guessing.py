"""Wrong guesses of links and passwords, counted in the database so that all server processes count together."""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils.crypto import salted_hmac

from quoting.quotes.models import Misses
from quoting.quotes.records import now
from quoting.quotes.trying_again import tried_again

KEPT_FOR = timedelta(hours=1)


def _minute() -> datetime:
    return now().replace(second=0, microsecond=0)


def _hidden(address: str | None) -> str:
    return salted_hmac("quoting.misses", address or "unknown", algorithm="sha256").hexdigest()


def must_wait(kind: str, address: str | None) -> bool:
    """Whether this address has guessed wrongly as often as one may in a minute."""
    row = Misses.objects.filter(kind=kind, address=_hidden(address), minute=_minute()).first()
    return row is not None and row.count >= settings.MISSES_A_MINUTE


@tried_again
@transaction.atomic
def miss_count(*, kind: str, address: str | None) -> None:
    """Count one wrong guess, and let go of those of an hour ago."""
    row, _ = Misses.objects.get_or_create(kind=kind, address=_hidden(address), minute=_minute())
    Misses.objects.filter(pk=row.pk).update(count=F("count") + 1)
    Misses.objects.filter(minute__lt=_minute() - KEPT_FOR).delete()
