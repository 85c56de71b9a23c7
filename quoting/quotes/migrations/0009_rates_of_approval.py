"""Rates of approval, the margin floor and a manager's limit: added where a rate table has none of them."""

import json
from datetime import date
from pathlib import Path

from django.conf import settings
from django.db import migrations

ADDED = ("price.margin_floor", "price.manager_limit")


def add(apps, _):
    """Old rows stay as they are; an empty table is filled when the catalog is loaded."""
    rows = apps.get_model("quotes", "RateRow").objects
    if not rows.exists():
        return
    known = set(rows.values_list("key", flat=True))
    file = Path(settings.BASE_DIR) / "fixtures" / "reference" / "rates.json"
    for row in json.loads(file.read_text(encoding="utf-8"))["rates"]:
        if row["key"] in ADDED and row["key"] not in known:
            rows.create(**row | {"valid_from": date.fromisoformat(row["valid_from"])})


class Migration(migrations.Migration):
    dependencies = [("quotes", "0008_another_way_of_forming")]
    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
