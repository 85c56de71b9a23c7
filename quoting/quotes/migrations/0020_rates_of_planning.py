"""Rates of planning: the chance of winning and overtime, added section by section where a rate table has none of it."""

import json
from datetime import date
from pathlib import Path

from django.conf import settings
from django.db import migrations

ADDED = ("winning.", "overtime.")


def add(apps, _):
    """All of a section or none, since a table with one of its own says what the house takes."""
    rows = apps.get_model("quotes", "RateRow").objects
    if not rows.exists():
        return
    file = Path(settings.BASE_DIR) / "fixtures" / "reference" / "rates.json"
    listed = json.loads(file.read_text(encoding="utf-8"))["rates"]
    for section in ADDED:
        if not rows.filter(key__startswith=section).exists():
            for row in listed:
                if row["key"].startswith(section):
                    rows.create(**row | {"valid_from": date.fromisoformat(row["valid_from"])})


class Migration(migrations.Migration):
    dependencies = [("quotes", "0019_rates_of_tool_rooms")]
    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
