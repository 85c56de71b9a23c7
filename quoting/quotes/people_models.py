"""Which plants a person is tied to, and how often an address guessed wrongly."""

from django.conf import settings
from django.db import models


class PersonPlant(models.Model):
    """Ties a person to a plant: what is booked and recorded at the others is then for reading only."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="plant_ties")
    plant = models.ForeignKey("machines.Plant", on_delete=models.CASCADE, related_name="+")

    class Meta:
        verbose_name = "plant of a person"
        verbose_name_plural = "plants of a person"
        ordering = ["plant__code"]
        constraints = [models.UniqueConstraint(fields=["person", "plant"], name="person_plant_once")]

    def __str__(self) -> str:
        return f"{self.person_id} {self.plant_id}"


class Misses(models.Model):
    """How often one address guessed wrongly in one minute. ``address`` is a keyed hash; rows of old minutes go."""

    kind = models.CharField(max_length=20)
    address = models.CharField(max_length=64)
    minute = models.DateTimeField(db_index=True)
    count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "address", "minute"], name="misses_once_a_minute")]

    def __str__(self) -> str:
        return f"{self.kind} {self.minute:%H:%M} {self.count}"
