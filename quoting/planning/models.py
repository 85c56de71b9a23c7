"""Jobs as rows: what a quote would occupy, where else it could run, and its hours beside the former's.

The hours on the former are ``machines.models.Booking``; those of a router, a bench and a tool room are ``BenchHours``.
A job is found by the number of its quote, so that planning knows nothing of inquiries.
"""

from django.db import models
from django.db.models import F, Q

from machines.board import KINDS, resource_code
from machines.models import Machine, Plant
from materials.models import choices, within
from quoting.planning.factor_models import FactorVersion
from quoting.planning.plan_models import PlanMove, PlanRun
from quoting.planning.run_models import RunImport, RunRecord, RunUpload

__all__ = [
    "BenchHours", "FactorVersion", "Job", "PlanMove", "PlanRun", "RunImport", "RunRecord", "RunUpload", "resource_code",
]  # fmt: skip

QUOTED, WON, DONE, GONE = "quoted", "won", "done", "gone"
JOB_STATES = (QUOTED, WON, DONE, GONE)
BESIDE_FORMING = tuple(kind for kind in KINDS if kind != "forming")

JOB_RANGES: dict[str, tuple[float, float]] = {"hours": (0, 20_000), "margin": (-1, 1)}


class Job(models.Model):
    """One release of a quote as work. ``hours`` are clock hours of set-up and run on ``machine``.

    ``options`` lists the machines that routing found able, as ``{"machine", "hours", "cost"}`` (hours a release;
    dollars as text that going there costs more, freight and set-up, without the tool's transport).
    """

    quote = models.CharField(max_length=20, unique=True)
    part = models.CharField(max_length=200, blank=True)
    customer = models.CharField(max_length=200, blank=True)
    state = models.CharField(max_length=10, choices=choices(JOB_STATES), default=QUOTED, db_index=True)
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="jobs")
    process = models.CharField(max_length=20)
    polymer = models.CharField(max_length=80)
    quantity = models.PositiveIntegerField(help_text="parts of the release")
    hours = models.FloatField(help_text="set-up and run on the machine")
    options = models.JSONField(default=list, blank=True)
    tool = models.CharField(max_length=40, blank=True, help_text="empty where it may be built anywhere")
    tool_plant = models.ForeignKey(Plant, on_delete=models.PROTECT, null=True, blank=True, related_name="tools",
                                   help_text="where the tool is or will be")  # fmt: skip
    since = models.DateField(help_text="day of the quote, or of the order once won")
    ready = models.DateField(help_text="tool and sheet are there")
    due = models.DateField(help_text="promised at the dock")
    valid_until = models.DateField(
        null=True, blank=True, help_text="last day of the quote; quoted work counts until then"
    )
    locked = models.BooleanField(default=False, help_text="stays where it is")
    value = models.DecimalField(max_digits=16, decimal_places=2, help_text="landed price of the release")
    margin = models.FloatField(help_text="of the landed price, 0.2 for 20 %")
    delivered = models.DateField(null=True, blank=True, help_text="day at the dock, once done")

    class Meta:
        ordering = ["due", "quote"]
        constraints = [
            *within("job", JOB_RANGES),
            models.CheckConstraint(condition=Q(state__in=JOB_STATES), name="job_state_known"),
            models.CheckConstraint(condition=Q(due__gte=F("since")), name="job_due_after_since"),
        ]

    def __str__(self) -> str:
        return f"{self.quote} {self.part}".strip()


class BenchHours(models.Model):
    """Hours of a job in one week on what stands beside the former: a router, the assembly bench, the tool room."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="bench_hours")
    plant = models.ForeignKey(Plant, on_delete=models.PROTECT, related_name="bench_hours")
    kind = models.CharField(max_length=10, choices=choices(BESIDE_FORMING))
    code = models.CharField(max_length=20, blank=True, help_text="of the trimmer; empty for bench and tool room")
    week = models.DateField(help_text="its Monday", db_index=True)
    hours = models.FloatField()

    class Meta:
        verbose_name_plural = "bench hours"
        ordering = ["week", "plant", "kind", "code", "pk"]
        constraints = [
            *within("bench", {"hours": (0, 2_000)}),
            models.CheckConstraint(condition=Q(kind__in=BESIDE_FORMING), name="bench_kind_known"),
            models.CheckConstraint(condition=Q(week__week_day=2), name="bench_week_is_monday"),
        ]

    def __str__(self) -> str:
        return f"{self.resource} {self.week} {self.hours:g} h"

    @property
    def resource(self) -> str:
        return resource_code(self.plant.code, self.kind, self.code)
