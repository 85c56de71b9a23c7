"""What re-pricing keeps: the basis beside each answer, a run over the open book with its parts, and its results.

A part (some inquiries of a run) is claimed under a token until a lease runs out; its results are written in the same
transaction that closes it, on the condition that the token still stands. So nothing is done twice.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q

RUN_WAITING, RUNNING, CANCELLED, STOPPED, DONE = "waiting", "running", "cancelled", "stopped", "done"
RUN_STATES = (RUN_WAITING, RUNNING, CANCELLED, STOPPED, DONE)
GOING = (RUN_WAITING, RUNNING)
PART_WAITING, PART_CLAIMED, PART_DONE = "waiting", "claimed", "done"
PART_STATES = (PART_WAITING, PART_CLAIMED, PART_DONE)


class WorkerBeat(models.Model):
    """A sign of life of a process that works off the queue; without a fresh one it is taken for dead."""

    worker = models.CharField(max_length=64, unique=True)
    started_at = models.DateTimeField()
    beat_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return self.worker


class AnswerBasis(models.Model):
    """What of an answer new rates do not change. ``answer`` is the digest of the answer whose prices are ``quoted``;
    ``physics`` that of the catalog's physical part, its day and the code behind ``candidates``, which may be empty."""

    inquiry = models.OneToOneField("quotes.Inquiry", on_delete=models.PROTECT, related_name="basis")
    answer = models.CharField(max_length=64)
    quoted = models.JSONField()
    physics = models.CharField(max_length=64, blank=True)
    candidates = models.TextField(blank=True)

    class Meta:
        verbose_name_plural = "answer bases"

    def __str__(self) -> str:
        return f"basis of {self.inquiry_id}"


class RepricingRun(models.Model):
    """The open book answered again with the rates of one day. ``reason`` says why it was stopped."""

    on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=[(one, one) for one in RUN_STATES], default=RUN_WAITING)
    total = models.PositiveIntegerField()
    done = models.PositiveIntegerField(default=0)
    left_out = models.PositiveIntegerField(default=0)  # no longer open when their turn came
    resumed = models.PositiveIntegerField(default=0)
    catalog_digest = models.CharField(max_length=64)
    reason = models.CharField(max_length=400, blank=True)
    began_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=RUN_STATES), name="repricing_state_known"),
            models.CheckConstraint(condition=Q(done__lte=models.F("total")), name="repricing_done_within_total"),
        ]

    def __str__(self) -> str:
        return f"re-pricing {self.pk} with the rates of {self.on}"

    @property
    def going(self) -> bool:
        return self.state in GOING

    @property
    def percent(self) -> int:
        return 100 * self.done // self.total


class RepricingPart(models.Model):
    """Some inquiries of a run, worked off together."""

    run = models.ForeignKey(RepricingRun, on_delete=models.PROTECT, related_name="parts")
    number = models.PositiveIntegerField()
    inquiries = models.JSONField()
    state = models.CharField(max_length=10, choices=[(one, one) for one in PART_STATES], default=PART_WAITING)
    token = models.CharField(max_length=32, blank=True)
    worker = models.CharField(max_length=64, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    claims = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["run", "number"]
        constraints = [
            models.UniqueConstraint(fields=["run", "number"], name="repricing_part_once"),
            models.CheckConstraint(condition=Q(state__in=PART_STATES), name="repricing_part_state_known"),
        ]
        indexes = [models.Index(fields=["run", "state", "number"], name="repricing_part_next")]

    def __str__(self) -> str:
        return f"part {self.number} of run {self.run_id}"


class RepricingResult(models.Model):
    """One open quote under the rates of the run: what it would be, beside what was quoted. Nothing else is changed.

    ``state`` and ``quote`` are those of the inquiry when its turn came. ``now`` is empty where it cannot be priced.
    """

    run = models.ForeignKey(RepricingRun, on_delete=models.PROTECT, related_name="results")
    inquiry = models.ForeignKey("quotes.Inquiry", on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=20)
    quote = models.CharField(max_length=30, blank=True)
    quoted = models.JSONField()
    now = models.JSONField(null=True, blank=True)
    why = models.CharField(max_length=400, blank=True)
    moved = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    moved_share = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    margin_before = models.DecimalField(max_digits=12, decimal_places=6)
    margin_left = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    below_floor = models.BooleanField(default=False)
    crosses_floor = models.BooleanField(default=False)
    changes_route = models.BooleanField(default=False)
    by_basis = models.BooleanField()  # False: the physics was worked out anew

    class Meta:
        ordering = ["run", "pk"]
        constraints = [models.UniqueConstraint(fields=["run", "inquiry"], name="repriced_once_in_a_run")]

    def __str__(self) -> str:
        return f"{self.inquiry_id} in run {self.run_id}"
