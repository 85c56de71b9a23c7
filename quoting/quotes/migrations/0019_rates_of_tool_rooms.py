"""Hours of tools in a tool room: added where a rate table has none of them; they load nothing until a plant has a room."""

import json
from datetime import date
from pathlib import Path

from django.conf import settings
from django.db import migrations

ADDED = "tool_room."


def add(apps, _):
    """All of them or none, since a table with one of its own says what its tools take."""
    rows = apps.get_model("quotes", "RateRow").objects
    if not rows.exists() or rows.filter(key__startswith=ADDED).exists():
        return
    file = Path(settings.BASE_DIR) / "fixtures" / "reference" / "rates.json"
    for row in json.loads(file.read_text(encoding="utf-8"))["rates"]:
        if row["key"].startswith(ADDED):
            rows.create(**row | {"valid_from": date.fromisoformat(row["valid_from"])})


class Migration(migrations.Migration):
    dependencies = [("quotes", "0018_counted_changes")]
    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
