"""How often what is counted has changed, so that a figure worked out before is known to be still true."""

from django.db import models


class CountedChange(models.Model):
    """Changes of one kind. The sums over all rows of a kind that a transaction sees say exactly what it sees.

    Rows are written by triggers (`watched.py`) alone. ``mark`` adds a number drawn by chance for each change, so that
    a database that was put back to an earlier day and went another way from there is never taken for the one before.
    """

    kind = models.CharField(max_length=10)
    changes = models.BigIntegerField()
    mark = models.BigIntegerField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.kind} {self.changes}"
