"""Plans as rows: the question asked, how far its balancing is, what it found, and its moves.

A run is worked at under a token; what is saved under another one is let go, so that nothing is written twice.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q

from machines.models import Machine, Plant
from materials.models import choices, money, within

AS_IT_IS, MACHINE_DOWN, QUOTE_WON, TOOL_MOVES = "as_it_is", "machine_down", "quote_won", "tool_moves"
QUESTIONS = (AS_IT_IS, MACHINE_DOWN, QUOTE_WON, TOOL_MOVES)
WAITING, RUNNING, DONE, IMPOSSIBLE = "waiting", "running", "done", "impossible"
CANCELLED, FAILED = "cancelled", "failed"
PLAN_STATES = (WAITING, RUNNING, DONE, IMPOSSIBLE, CANCELLED, FAILED)
GOING = (WAITING, RUNNING)
PROPOSED, ACCEPTED, REFUSED, OVERTAKEN = "proposed", "accepted", "refused", "overtaken"
WEEKS_ALONE = "weeks"  # reason of a move that changes no machine: work that stays, in other weeks
MOVE_STATES = (PROPOSED, ACCEPTED, REFUSED, OVERTAKEN)
_PERSON = settings.AUTH_USER_MODEL


class PlanRun(models.Model):
    """A what-if question and its plan. Figures are ``{"late", "cost", "overtime", "premium"}``: weeks, dollars
    as text, hours, dollars as text that the overtime costs more than hours of a shift; older ones have no premium.

    ``placed`` lists job, machine, week from ``first`` on and hours; ``basis`` is a fingerprint of each thing that the
    plan rests on, by its name; ``overtime`` and ``premiums`` are proposed by the rates and set by whoever asks.
    """

    kind = models.CharField(max_length=20, choices=choices(QUESTIONS))
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    down_from = models.DateField(null=True, blank=True, help_text="Monday from which the machine is down")
    down_weeks = models.PositiveSmallIntegerField(null=True, blank=True)
    quote = models.CharField(max_length=20, blank=True)
    tool = models.CharField(max_length=40, blank=True)
    plant = models.ForeignKey(Plant, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    overtime = models.FloatField(help_text="hours a machine may work a week beside its shifts")
    premiums = models.JSONField(
        default=dict, blank=True, help_text="by plant: share of the labour rate that an hour of overtime costs more"
    )
    on = models.DateField()
    first = models.DateField(help_text="Monday of the first week")
    weeks = models.PositiveSmallIntegerField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=choices(PLAN_STATES), default=WAITING, db_index=True)
    reason = models.CharField(max_length=400, blank=True)
    version = models.PositiveIntegerField(default=1)
    token = models.CharField(max_length=32, blank=True)
    worker = models.CharField(max_length=64, blank=True)
    claims = models.PositiveSmallIntegerField(default=0)
    began_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    jobs = models.PositiveIntegerField(default=0)
    machines = models.PositiveIntegerField(default=0)
    stage = models.CharField(max_length=10, blank=True, help_text="of machines.balance.STAGES")
    seconds = models.FloatField(default=0)
    bound = models.FloatField(null=True, blank=True, help_text="of the stage: no plan can beat it")
    best = models.JSONField(null=True, blank=True)
    stages = models.JSONField(default=list, blank=True)
    before = models.JSONField(null=True, blank=True)
    greedy = models.JSONField(null=True, blank=True)
    placed = models.JSONField(default=list, blank=True)
    late = models.JSONField(default=list, blank=True)
    blame = models.JSONField(null=True, blank=True)
    basis = models.JSONField(default=dict, blank=True)
    window_at = models.DateTimeField(null=True, blank=True, help_text="when the down time was written as maintenance")
    window_by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            *within("plan", {"overtime": (0, 168), "weeks": (1, 156)}),
            models.CheckConstraint(condition=Q(state__in=PLAN_STATES), name="plan_state_known"),
            models.CheckConstraint(condition=Q(kind__in=QUESTIONS), name="plan_question_known"),
            models.CheckConstraint(condition=Q(first__week_day=2), name="plan_first_is_monday"),
            models.CheckConstraint(
                condition=~Q(kind=MACHINE_DOWN) | Q(machine__isnull=False, down_from__isnull=False, down_weeks__gte=1),
                name="plan_names_what_is_down",
            ),
            models.CheckConstraint(condition=~Q(kind=QUOTE_WON) | ~Q(quote=""), name="plan_names_its_quote"),
            models.CheckConstraint(
                condition=~Q(kind=TOOL_MOVES) | ~Q(tool="") & Q(plant__isnull=False), name="plan_names_its_tool"
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.pk}"

    @property
    def going(self) -> bool:
        return self.state in GOING


class PlanMove(models.Model):
    """What a plan moves and can only be accepted together. ``shifts`` are job, machine, to and the weeks of both.

    Work that stays and changes its weeks is a move too, of one machine at a time: from there to there.
    """

    run = models.ForeignKey(PlanRun, on_delete=models.PROTECT, related_name="moves")
    number = models.PositiveIntegerField()
    shifts = models.JSONField()
    tool = models.CharField(max_length=40, blank=True, help_text="where it changes plant")
    cost = money()
    reason = models.CharField(max_length=20, help_text="of machines.moves.REASONS, or weeks")
    weeks_late_saved = models.IntegerField()
    overtime_saved = models.FloatField()
    premium_saved = money(default=0)
    detail = models.JSONField(
        default=dict, blank=True, help_text="of weeks that change alone: where the machine would have no room otherwise"
    )
    is_estimate = models.BooleanField(default=False, help_text="judged at once, since the time of the plan was up")
    state = models.CharField(max_length=10, choices=choices(MOVE_STATES), default=PROPOSED)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["run", "number"]
        constraints = [
            models.UniqueConstraint(fields=["run", "number"], name="plan_move_once"),
            models.CheckConstraint(condition=Q(state__in=MOVE_STATES), name="plan_move_state_known"),
            models.CheckConstraint(
                condition=Q(state__in=(PROPOSED, OVERTAKEN)) | Q(by__isnull=False, at__isnull=False),
                name="plan_move_decided_by_somebody",
            ),
            models.CheckConstraint(condition=Q(number__gte=1, cost__gte=0), name="plan_move_in_range"),
        ]

    def __str__(self) -> str:
        return f"move {self.number} of plan {self.run_id}"

    @property
    def jobs(self) -> tuple[str, ...]:
        return tuple(one["job"] for one in self.shifts)
