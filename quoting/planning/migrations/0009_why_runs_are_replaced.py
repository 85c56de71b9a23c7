"""A record that replaces another says why, and may withdraw it. What the audit keeps of corrections so far is taken over.

That two runs in force are not one is held by the services under the lock of the job: a constraint cannot know which
record is in force, and the one that was refused a run on a day from which a correction had moved another.
"""

import django.db.models as models
from django.db import migrations


def take_over(apps, schema_editor):
    audit = apps.get_model("quotes", "AuditEntry").objects
    told = {one.detail["run"]: one.detail["reason"] for one in audit.filter(action="run_correct")}
    for record in apps.get_model("planning", "RunRecord").objects.filter(replaces__isnull=False):
        record.reason = told.get(record.pk) or "not told"
        record.save(update_fields=["reason"])


class Migration(migrations.Migration):
    dependencies = [("planning", "0008_what_if_premiums_and_down_time"), ("quotes", "0014_frozen_again")]
    operations = [
        migrations.AddField(
            "runrecord", "reason", models.CharField(blank=True, help_text="why it replaces another", max_length=500)
        ),
        migrations.AddField(
            "runrecord", "withdrawn",
            models.BooleanField(default=False, help_text="there was no such run; its figures are those withdrawn"),
        ),
        migrations.RemoveConstraint("runrecord", "run_once"),
        migrations.RunPython(take_over, migrations.RunPython.noop),
        migrations.AddConstraint(
            "runrecord",
            models.CheckConstraint(
                condition=models.Q(replaces=None, reason="", withdrawn=False)
                | (models.Q(replaces__isnull=False) & ~models.Q(reason="")),
                name="run_replaced_why",
            ),
        ),
    ]  # fmt: skip
