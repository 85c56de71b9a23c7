"""Seals upon the record of deeds: a chain of digests, so that whoever may change rows cannot do so unseen."""

from django.db import models
from django.db.models import F, Q

from quoting.quotes.record_models import AppendOnly


class AuditSeal(AppendOnly):
    """One link of the chain: the entries after those of the seal before, up to ``last``.

    ``digest`` covers the canonical text of these entries, all fields of this row, and ``before``, the digest of the
    seal before. ``marks`` holds for each entry its key and the begin of its own digest: they prove nothing, they only
    find the entry when the digest no longer fits.
    """

    number = models.PositiveBigIntegerField(unique=True)
    first = models.BigIntegerField()
    last = models.BigIntegerField()
    count = models.PositiveIntegerField()
    marks = models.BinaryField()
    at = models.DateTimeField()
    before = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(condition=Q(last__gte=F("first")) & Q(count__gte=1), name="seal_has_entries"),
        ]

    def __str__(self) -> str:
        return f"seal {self.number}"
