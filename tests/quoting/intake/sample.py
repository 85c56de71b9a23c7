"""A complete invented inquiry for the tests, and a way to change one field of it."""

import copy
from datetime import date
from pathlib import Path

from quoting.intake.reading import read_inquiry
from quoting.intake.reading_result import InputErrors, Reading

TODAY = date(2026, 11, 25)
POLYMERS = ("ABS", "HDPE", "PC")
INQUIRY = {
    "customer": {"company": "Larkspur Instruments", "contact": "Ada Pell", "email": "ada@larkspur.example"},
    "ship_to": {"postal_code": "44114", "country": "US"},
    "part": {"name": "Cover", "length": "40 in", "width": "28 in", "depth": "8 in", "gauge": "0.187 in"},
    "quantities": {"annual": 2400, "releases": [300, 100]},
}


def changed(**changes: object) -> dict:
    """The sample with dotted fields set (``part__length="48 in"``); None takes a field away."""
    inquiry = copy.deepcopy(INQUIRY)
    for name, value in changes.items():
        group, _, key = name.rpartition("__")
        place = inquiry.setdefault(group, {}) if group else inquiry
        if value is None:
            place.pop(key, None)
        else:
            place[key] = value
    return inquiry


def read(raw: object, base_dir: Path | None = None) -> Reading:
    return read_inquiry(raw, on=TODAY, polymer_names=POLYMERS, base_dir=base_dir)


def wrong_fields(raw: object, base_dir: Path | None = None) -> list[str]:
    """The fields that the reader finds wrong, in its order."""
    try:
        read(raw, base_dir)
    except InputErrors as errors:
        return [error.field for error in errors.errors]
    return []
