"""A report keeps all that was asked of its model, in place of the unit alone; an override may fill or take away."""

from django.db import migrations, models


def take_units(apps, schema_editor):
    for report in apps.get_model("quotes", "ModelReport").objects.exclude(unit=None):
        report.asked = {"unit": report.unit}
        report.save(update_fields=["asked"])


def give_units_back(apps, schema_editor):
    for report in apps.get_model("quotes", "ModelReport").objects.all():
        report.unit = report.asked.get("unit")
        report.save(update_fields=["unit"])


class Migration(migrations.Migration):

    dependencies = [("quotes", "0003_model_reports")]

    operations = [
        migrations.AddField("modelreport", "asked", models.JSONField(blank=True, default=dict)),
        migrations.RunPython(take_units, give_units_back),
        migrations.RemoveField("modelreport", "unit"),
        migrations.AlterField("override", "old", models.JSONField(blank=True, null=True)),
        migrations.AlterField("override", "new", models.JSONField(blank=True, null=True)),
    ]
