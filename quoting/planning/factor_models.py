"""Correction factors as rows: what recorded runs taught when somebody proposed it, and what was decided of it.

Of a row nothing changes but the decision. In force on a day is, of the accepted versions that have begun, the one that
began last.
"""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from materials.models import choices

PROPOSED, ACCEPTED, REFUSED, REPLACED = "proposed", "accepted", "refused", "replaced"
FACTOR_STATES = (PROPOSED, ACCEPTED, REFUSED, REPLACED)
DECISION = ("state", "decided_at", "decided_by", "reason", "valid_from")
# A version that is refused or replaced never counts again; an accepted one only until another begins before it.
_NEXT = {PROPOSED: (ACCEPTED, REFUSED, REPLACED), ACCEPTED: (REPLACED,)}


def _who(**options: object) -> models.ForeignKey:
    return models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", **options)


class FactorVersion(models.Model):
    """One set of factors. ``measures`` lists, for each measure, its runs, factors, variances and range of error:
    ``{"measure", "runs", "factors": [{"effect", "name", "runs", "observed", "factor"}], "within", "between", "least",
    "most", "why"}``; an empty list goes back to the estimates as they are. ``digest`` is that of the runs behind it.
    """

    number = models.PositiveIntegerField(unique=True)
    measures = models.JSONField(default=list, blank=True)
    digest = models.CharField(max_length=64)
    runs = models.PositiveIntegerField(help_text="recorded runs behind it")
    proposed_at = models.DateTimeField()
    proposed_by = _who()
    state = models.CharField(max_length=10, choices=choices(FACTOR_STATES), default=PROPOSED)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = _who(null=True, blank=True)
    reason = models.CharField(max_length=500, blank=True)
    valid_from = models.DateField(null=True, blank=True, db_index=True, help_text="first day, of an accepted one")

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=FACTOR_STATES), name="factors_state_known"),
            models.UniqueConstraint(fields=["state"], condition=Q(state=PROPOSED), name="factors_one_proposed"),
            models.CheckConstraint(
                condition=Q(state=PROPOSED, decided_at=None) | (~Q(state=PROPOSED) & Q(decided_at__isnull=False)),
                name="factors_decided_when",
            ),
            models.CheckConstraint(
                condition=~Q(state=ACCEPTED) | Q(valid_from__isnull=False), name="factors_accepted_from"
            ),
        ]

    def __str__(self) -> str:
        return f"correction factors, version {self.number}"

    def save(self, *args: object, **kwargs: object) -> None:
        if self.pk is not None:
            self._only_decided()
        super().save(*args, **kwargs)

    def _only_decided(self) -> None:
        kept = FactorVersion.objects.get(pk=self.pk)
        fixed = [one.attname for one in self._meta.concrete_fields if one.name not in DECISION]
        if any(getattr(kept, name) != getattr(self, name) for name in fixed):
            raise ValidationError("Of correction factors only the decision is added; propose a further version.")
        if self.state not in _NEXT.get(kept.state, ()):
            raise ValidationError(f"Version {self.number} is {kept.state} already.")

    def delete(self, *args: object, **kwargs: object) -> None:
        raise ValidationError("Correction factors are never deleted; propose a further version.")
