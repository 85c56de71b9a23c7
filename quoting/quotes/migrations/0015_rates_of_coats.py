"""Rates of paint and shielding by area: added where a rate table has none, with the handling that is left beside them."""

import json
from datetime import date
from pathlib import Path

from django.conf import settings
from django.db import migrations

ADDED = "coating."
# Standards that covered spraying until now, and what they were when shipped; a house's own value is left alone.
BESIDE = {
    "operations.paint.seconds": "240 s",
    "operations.paint.material": "6.50",
    "operations.emi_coat.seconds": "300 s",
    "operations.emi_coat.material": "9.00",
}


def add(apps, _):
    """Old rows stay as they are; an empty table is filled when the catalog is loaded."""
    rows = apps.get_model("quotes", "RateRow").objects
    if not rows.exists():
        return
    known = set(rows.values_list("key", flat=True))
    file = Path(settings.BASE_DIR) / "fixtures" / "reference" / "rates.json"
    for row in json.loads(file.read_text(encoding="utf-8"))["rates"]:
        day = date.fromisoformat(row["valid_from"])
        if (row["key"].startswith(ADDED) and row["key"] not in known) or _follows_the_shipped(rows, row["key"], day):
            rows.create(**row | {"valid_from": day})


def _follows_the_shipped(rows, key: str, day: date) -> bool:
    """Whether this row comes after the shipped one, which is still the only one."""
    if key not in BESIDE:
        return False
    held = list(rows.filter(key=key).values_list("value", "valid_from"))
    return len(held) == 1 and held[0][0] == BESIDE[key] and held[0][1] < day


class Migration(migrations.Migration):
    dependencies = [("quotes", "0014_frozen_again")]
    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
