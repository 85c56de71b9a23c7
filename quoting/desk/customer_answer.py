"""What the customer's page shows of an issued answer, taken from the whole once and then remembered.

The whole holds hundreds of candidates: unpacking it takes 10 to 170 ms and would be done again for each page of a
visit. An issued answer is frozen, so what was taken from it stays right; it is known by its digest.
"""

from dataclasses import dataclass
from functools import lru_cache

from quoting.desk import present
from quoting.quotes.models import Quote

REMEMBERED = 64  # documents in each process, some tens of kB each


@dataclass(frozen=True)
class CustomerAnswer:
    """No cost and no candidate; nobody may change ``answer``, since many visits share it."""

    answer: dict
    lead: list[dict]  # steps of each release
    part: str
    company: str


def customer_answer(quote: Quote) -> CustomerAnswer:
    """The part of an issued answer that its customer sees; the whole is read the first time only."""
    return _taken(quote.pk, quote.digest)


@lru_cache(maxsize=REMEMBERED)
def _taken(pk: int, digest: str) -> CustomerAnswer:
    snapshot = Quote.objects.values_list("snapshot", flat=True).get(pk=pk, digest=digest)
    request = snapshot.get("request") or {}
    return CustomerAnswer(
        present.answer_for_rep(snapshot),
        present.lead_of(snapshot, inside=False),
        (request.get("part") or {}).get("name", ""),
        (request.get("customer") or {}).get("company", "you"),
    )
