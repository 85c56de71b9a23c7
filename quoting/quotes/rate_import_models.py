"""Rate tables that were sent, and what their import changed."""

from django.db import models

from quoting.quotes.record_models import AppendOnly, person


class RateUpload(models.Model):
    """A rate table that somebody sent and has not confirmed yet; gone once it is imported, or after a day."""

    token = models.CharField(max_length=32, unique=True)
    table = models.CharField(max_length=20)
    file_name = models.CharField(max_length=200)
    content = models.BinaryField()
    effective = models.DateField(null=True, blank=True)
    by = person()
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.table} {self.file_name}"


class RateImport(AppendOnly):
    """One import of a rate table. ``by`` is empty where it came from the command line; ``effective`` where the file
    named its days itself. ``counts``: rates added, changed, corrected, unchanged, and wrong rows left out.
    """

    number = models.CharField(max_length=20, unique=True)
    table = models.CharField(max_length=20)
    file_name = models.CharField(max_length=200)
    file_digest = models.CharField(max_length=64)
    effective = models.DateField(null=True, blank=True)
    counts = models.JSONField()
    by = person(null=True, blank=True)
    at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.number


class RateImportChange(AppendOnly):
    """One figure that an import changed, before and after, as it was written."""

    record = models.ForeignKey(RateImport, on_delete=models.PROTECT, related_name="changes")
    subject = models.CharField(max_length=120, db_index=True)
    valid_from = models.DateField()
    status = models.CharField(max_length=10)
    figure = models.CharField(max_length=80)
    old = models.CharField(max_length=300, blank=True)
    new = models.CharField(max_length=300, blank=True)
    percent = models.CharField(max_length=30, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.subject} from {self.valid_from}: {self.old} to {self.new}"
