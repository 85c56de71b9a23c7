"""Runs of the shop as rows: what a finished run took, beside what its quote had estimated for so many parts.

A record is never changed, in the database neither (migration 0010). A correction is a further record that names the one
it replaces and says why; a run that never was is withdrawn by such a record. In force is what nothing replaces and what
does not withdraw. Durations are in seconds or hours as named, masses in kg.
"""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from machines.models import Machine
from materials.models import choices, within

FORM, FILE, COMMAND = "form", "file", "command"
RUN_SOURCES = (FORM, FILE, COMMAND)
# What a run may hold, in SI but hours [h]; house limits, far beyond any shop, so that a slip of the unit is seen.
RUN_RANGES: dict[str, tuple[float, float]] = {
    "index_time": (1, 7_200), "setup_hours": (0, 500), "run_hours": (0, 5_000), "sheet_mass": (0, 1_000_000),
    "trim_time": (1, 14_400),
}  # fmt: skip


def _who(**options: object) -> models.ForeignKey:
    return models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", **options)


class Unchanging(models.Model):
    """A row that is written once."""

    class Meta:
        abstract = True

    def save(self, *args: object, **kwargs: object) -> None:
        if self.pk is not None:
            raise ValidationError("A recorded run is never changed; record a correction.")
        super().save(*args, **kwargs)

    def delete(self, *args: object, **kwargs: object) -> None:
        raise ValidationError("A recorded run is never deleted; record a correction.")


class RunUpload(models.Model):
    """A file of runs that somebody sent and has not confirmed yet; gone once it is imported, or after a day."""

    token = models.CharField(max_length=32, unique=True)
    file_name = models.CharField(max_length=200)
    content = models.BinaryField()
    by = _who()
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return self.file_name


class RunImport(Unchanging):
    """One import of runs. ``by`` is empty where it came from the command line without a name."""

    number = models.CharField(max_length=20, unique=True)
    file_name = models.CharField(max_length=200)
    file_digest = models.CharField(max_length=64)
    counts = models.JSONField(help_text="runs recorded, known already, wrong rows left out")
    by = _who(null=True, blank=True)
    at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.number


class RunRecord(Unchanging):
    """What a run of a job took. Figures that the shop did not take are empty.

    ``estimated`` holds, by measure, what the job's quote says for as many good parts (``quotes.runs.estimates``), and
    the machine that it was quoted on; it is kept with the run, since a quote never changes.
    """

    job = models.ForeignKey("planning.Job", on_delete=models.PROTECT, related_name="runs")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="runs")
    started = models.DateField(db_index=True)
    ended = models.DateField(db_index=True)
    parts_good = models.PositiveIntegerField()
    parts_scrapped = models.PositiveIntegerField(help_text="in forming and trimming, start-up shots not counted")
    heats = models.PositiveIntegerField(null=True, blank=True, help_text="shots, start-up counted")
    index_time = models.FloatField(null=True, blank=True, help_text="from shot to shot [s]")
    setup_hours = models.FloatField(null=True, blank=True)
    run_hours = models.FloatField(null=True, blank=True)
    sheet_mass = models.FloatField(null=True, blank=True, help_text="[kg]")
    blanks = models.PositiveIntegerField(null=True, blank=True)
    trim_time = models.FloatField(null=True, blank=True, help_text="from piece to piece [s]")
    parts_per_pallet = models.PositiveIntegerField(null=True, blank=True)
    delivered = models.DateField(null=True, blank=True, help_text="day at the dock; the job is then done")
    note = models.CharField(max_length=500, blank=True)
    estimated = models.JSONField(default=dict, blank=True)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True,
                                    related_name="replaced_by")  # fmt: skip
    reason = models.CharField(max_length=500, blank=True, help_text="why it replaces another")
    withdrawn = models.BooleanField(default=False, help_text="there was no such run; its figures are those withdrawn")
    source = models.CharField(max_length=10, choices=choices(RUN_SOURCES))
    record = models.ForeignKey(RunImport, on_delete=models.PROTECT, null=True, blank=True, related_name="runs")
    by = _who(null=True, blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-ended", "-pk"]
        constraints = [
            *within("run", RUN_RANGES),
            models.CheckConstraint(condition=Q(source__in=RUN_SOURCES), name="run_source_known"),
            models.CheckConstraint(condition=Q(ended__gte=F("started")), name="run_ends_after_start"),
            models.CheckConstraint(
                condition=Q(replaces=None, reason="", withdrawn=False) | (Q(replaces__isnull=False) & ~Q(reason="")),
                name="run_replaced_why",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.job.quote} {self.started}"
