"""Physical columns in the admin: typed and shown with their unit, kept as SI."""

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.forms.fields import InvalidJSONInput

from machines import models as machine_tables
from machines.machine import HeaterBank, Machine, Trimmer
from materials import models as material_tables
from materials.polymer import NeedMet
from materials.sheet import SheetOffer
from quoting.intake.catalog_checks import inconsistencies
from quoting.intake.catalog_fields import (
    HEATER_BANK,
    MACHINE,
    NEED,
    OFFER,
    OVEN,
    PLANT,
    POLYMER_PROPERTIES,
    TIER,
    TRIMMER,
)
from quoting.intake.catalog_values import MEASURES, RefusedError, accepted, read_value
from quoting.intake.json_text import parse_json
from quoting.intake.reading_result import InputErrors
from quoting.units import show

# SI unit in which ``show`` takes a value of each kind.
_UNITS = {
    "length": "m", "mass": "kg", "temperature": "K", "temperature_difference": "delta_K", "pressure": "Pa",
    "force": "N", "time": "s", "speed": "m/s", "density": "kg/m3", "share": "share", "hours": "h", "weeks": "weeks",
    "area": "m2", "volume": "m3", "pcf": "pcf",
}  # fmt: skip
# Kinds that are written in SI with as many digits as they have.
_PLAIN = {
    "conductivity": "W/m/K", "specific_heat": "J/kg/K", "latent_heat": "J/kg", "film_coefficient": "W/m^2/K",
    "expansion": "1/K", "extinction": "1/m",
}  # fmt: skip


def _measured(kinds: Mapping[str, Any], prefix: str = "") -> dict[str, str]:
    """Column -> kind for the columns that carry a unit."""
    bare = {name: str(kind).removesuffix("_or_null") for name, kind in kinds.items() if isinstance(kind, str)}
    return {f"{prefix}{name}": kind for name, kind in bare.items() if kind in MEASURES}


COLUMN_KINDS: dict[type[models.Model], dict[str, str]] = {
    machine_tables.Plant: _measured(PLANT.kinds),
    machine_tables.Trimmer: _measured(TRIMMER.kinds),
    machine_tables.Machine: {
        **_measured(MACHINE.kinds),
        **_measured(OVEN.kinds, "oven_"),
        **_measured(HEATER_BANK.kinds, "upper_"),
        **_measured(HEATER_BANK.kinds, "lower_"),
    },
    machine_tables.Booking: {"hours": "hours"},
    material_tables.SheetOffer: _measured(OFFER.kinds),
    material_tables.PriceTier: _measured(TIER.kinds),
    material_tables.PolymerNeed: _measured(NEED.kinds),
}
# Dataclass whose rules between fields a row must obey.
CHECKED_AS: dict[type[models.Model], type] = {
    machine_tables.Machine: Machine,
    machine_tables.Trimmer: Trimmer,
    material_tables.SheetOffer: SheetOffer,
    material_tables.PolymerNeed: NeedMet,
}


def written(value: float, kind: str) -> str:
    """An SI value as it is typed.

    >>> written(1.8288, "size"), written(0.00009, "expansion"), written(0.92, "part_of_one")
    ('72.0 in', '0.00009 1/K', '92 %')
    """
    measure = MEASURES[kind].kind
    if measure in _PLAIN:
        return f"{Decimal(f'{value:.6g}'):f} {_PLAIN[measure]}"
    return show(value, _UNITS[measure])


def shown_in_both(value: float, kind: str) -> str:
    """An SI value in both unit systems, for reading.

    >>> shown_in_both(1.8288, "size"), shown_in_both(0.92, "part_of_one")
    ('72.0 in (1829 mm)', '92 %')
    """
    measure = MEASURES[kind].kind
    return written(value, kind) if measure in _PLAIN else show(value, _UNITS[measure], "both")


def read(text: str, kind: str) -> float:
    """The SI value of a typed text; ValidationError says what was given and what is accepted."""
    try:
        return read_value(text.strip(), kind)
    except RefusedError as refused:
        raise ValidationError(f"Got “{text}”; accepted is {refused.accepted}.") from refused


class UnitField(forms.CharField):
    """Text with a unit outside, SI float inside."""

    def __init__(self, *, kind: str, **options: Any):
        super().__init__(max_length=40, help_text=f"{accepted(kind).capitalize()}.", **options)
        self.kind = kind

    def prepare_value(self, value: Any) -> Any:
        return written(value, self.kind) if isinstance(value, float | int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return (self.prepare_value(initial) or "") != (data or "").strip()

    def to_python(self, value: Any) -> float | None:
        text = super().to_python(value)
        return read(text, self.kind) if text else None

    def run_validators(self, value: Any) -> None:
        """Length is checked by the reader; a float has none."""


class WordListField(forms.JSONField):
    """A list of words as JSON: what the reader of files refuses is refused, and what some database would not keep."""

    def to_python(self, value: Any) -> Any:
        if self.disabled or value in self.empty_values or not isinstance(value, str):
            return super().to_python(value)
        try:
            found = parse_json(value)
            kept = json.dumps(found, ensure_ascii=False).encode()
        except InputErrors as refused:
            raise self._refused(refused.errors[0].given) from refused
        except UnicodeEncodeError as error:
            raise self._refused("half of a character") from error
        if rb"\u0000" in kept:
            raise self._refused("a NUL character")
        return found

    def _refused(self, given: str) -> ValidationError:
        return ValidationError(f'Got {given}; accepted is a list of words in brackets, such as ["paint", "insert"].')

    def bound_data(self, data: Any, initial: Any) -> Any:
        """What cannot be read is shown again as it was typed."""
        try:
            return initial if self.disabled else None if data is None else self.to_python(data)
        except ValidationError:
            return InvalidJSONInput(data)


# For ModelAdmin and inlines.
READ_AS_FILES = {models.JSONField: {"form_class": WordListField}}


class PhysicalForm(forms.ModelForm):
    """Keeps the stored value where its text was left alone: what is shown is rounded, what is stored is not."""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for name, field in self.fields.items():
            if isinstance(field, UnitField) and name in self.initial and name not in self.changed_data:
                cleaned[name] = self.initial[name]
        self._compare(cleaned)
        return cleaned

    def _compare(self, cleaned: dict[str, Any]) -> None:
        """What the values must be to each other, by the same rules as in the files."""
        model = self._meta.model
        checks = [(CHECKED_AS[model], "")] if model in CHECKED_AS else []
        if model is machine_tables.Machine:
            checks += [(HeaterBank, "upper_"), (HeaterBank, "lower_")]
        for becomes, prefix in checks:
            values = {name.removeprefix(prefix): value for name, value in cleaned.items() if name.startswith(prefix)}
            for name, given, what in inconsistencies(becomes, values):
                column = prefix + name
                self.add_error(column if column in self.fields else None, f"Got {given}; accepted is {what}.")


class PropertyForm(forms.ModelForm):
    """One property of a polymer: its unit follows from its name."""

    value = forms.CharField(max_length=40, help_text="With its unit, such as 1050 kg/m^3 or 120 degC.")

    def __init__(self, *arguments: Any, **more: Any):
        super().__init__(*arguments, **more)
        if self.instance.pk:
            self.initial["value"] = written(self.instance.value, POLYMER_PROPERTIES[self.instance.name])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if not ({"name", "value"} & set(self.changed_data)) and self.instance.pk:
            cleaned["value"] = self.instance.value
        elif "value" in cleaned and cleaned.get("name") in POLYMER_PROPERTIES:
            try:
                cleaned["value"] = read(cleaned["value"], POLYMER_PROPERTIES[cleaned["name"]])
            except ValidationError as error:
                self.add_error("value", error)
        return cleaned


class UnitsInForms:
    """For ModelAdmin and inlines: every column of ``COLUMN_KINDS`` is typed with its unit."""

    form = PhysicalForm
    formfield_overrides = READ_AS_FILES

    def formfield_for_dbfield(self, db_field: models.Field, request: Any, **options: Any) -> forms.Field | None:
        kind = COLUMN_KINDS.get(self.model, {}).get(db_field.name)
        if kind is None:
            return super().formfield_for_dbfield(db_field, request, **options)
        return UnitField(kind=kind, label=db_field.verbose_name.capitalize(), required=not db_field.blank)
