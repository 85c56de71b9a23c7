"""No lost update in the admin: a row that somebody changed since its form was opened is not overwritten unseen."""

import json
from hashlib import sha256
from typing import Any

from django import forms
from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.core import serializers
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models, transaction

from quoting.desk.admin_standing import STALE, StandingRows, tell_beside

TOKEN = "seen_version"  # noqa: S105 - a name of a form field, no secret


def version_of(row: models.Model, inlines: tuple[type[models.Model], ...], ignored: tuple[str, ...] = ()) -> str:
    """Fingerprint of a row, without the ignored columns, and of the rows that are edited on its page."""
    rows = [type(row).objects.filter(pk=row.pk).first()]
    for inline in inlines:
        key = next(field.name for field in inline._meta.fields if field.related_model is type(row))
        rows += inline.objects.filter(**{key: row.pk}).order_by("pk")
    plain = serializers.serialize("python", [one for one in rows if one is not None])
    for column in ignored:
        plain[0]["fields"].pop(column)
    return sha256(json.dumps(plain, cls=DjangoJSONEncoder).encode()).hexdigest()


def last_change(row: models.Model) -> str:
    """Who changed a row last and when, as the admin's own log says."""
    kind = ContentType.objects.get_for_model(row)
    entry = LogEntry.objects.filter(content_type=kind, object_id=str(row.pk)).select_related("user").first()
    if entry is None:
        return "somebody, not through this form"
    name = entry.user.get_full_name() or entry.user.get_username()
    return f"{name}, {entry.action_time:%d %b %Y %H:%M} ({entry.get_change_message().rstrip('.') or 'changed'})"


class VersionedAdmin:
    """For a ModelAdmin: its form carries the version that was shown and is refused where another stands by now.

    ``unversioned`` names columns that nobody edits in the form and that change by themselves.
    """

    unversioned: tuple[str, ...] = ()

    def get_fieldsets(self, request: Any, obj: models.Model | None = None) -> Any:
        """Where an admin names its fieldsets itself, the version is among them."""
        named = super().get_fieldsets(request, obj)
        return [*named, (None, {"fields": (TOKEN,)})] if obj is not None and self.fieldsets else named

    def get_form(self, request: Any, obj: models.Model | None = None, change: bool = False, **kwargs: Any) -> type:
        if obj is None:
            return super().get_form(request, obj, change=change, **kwargs)
        inlines = tuple(inline.model for inline in self.inlines)
        ignored = self.unversioned

        class Versioned(self.form):
            seen_version = forms.CharField(widget=forms.HiddenInput, required=False)

            def __init__(self, *arguments: Any, **more: Any):
                super().__init__(*arguments, **more)
                if self.instance.pk is not None:
                    self.initial[TOKEN] = version_of(self.instance, inlines, ignored)

            def clean(self) -> dict:
                given = super().clean()
                if self.instance.pk is not None:
                    self.refuse_stale()
                return self.cleaned_data if given is None else given

            def refuse_stale(self) -> None:
                """Locks the row until the admin's transaction ends; what stands in it now is told beside each field."""
                if transaction.get_connection().in_atomic_block:
                    type(self.instance).objects.select_for_update().filter(pk=self.instance.pk).first()
                now = version_of(self.instance, inlines, ignored)
                if self.data.get(TOKEN) == now:
                    return
                self.add_error(
                    None,
                    f"This was changed while you typed, last by {last_change(self.instance)}. Nothing was saved and "
                    "your values are below; the values that stand there now are named beside them. Save again to "
                    "replace them.",
                )
                self.data = self.data.copy()
                self.data[TOKEN] = now
                standing = type(self.instance).objects.get(pk=self.instance.pk)
                tell_beside(self, type(self)(instance=standing), without=(TOKEN,))
                setattr(self.instance, STALE, True)

        return super().get_form(request, obj, change=change, **kwargs | {"form": Versioned})

    def get_formsets_with_inlines(self, request: Any, obj: models.Model | None = None) -> Any:
        for formset, inline in super().get_formsets_with_inlines(request, obj):
            yield type(formset.__name__, (StandingRows, formset), {}), inline
