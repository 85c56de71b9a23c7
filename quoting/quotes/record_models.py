"""What every table of records shares: rows that are never changed, and who did it."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models


class FrozenError(ValidationError):
    """Someone tried to change or delete what has been issued or recorded."""


def person(related_name: str = "+", **options: object) -> models.ForeignKey:
    return models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name=related_name, **options)


class AppendOnly(models.Model):
    class Meta:
        abstract = True

    def save(self, *args: object, **kwargs: object) -> None:
        if self.pk is not None:
            raise FrozenError("A record of what happened is never changed.")
        super().save(*args, **kwargs)

    def delete(self, *args: object, **kwargs: object) -> None:
        raise FrozenError("A record of what happened is never deleted.")
