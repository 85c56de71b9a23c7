"""Forms. They draw and keep what was typed; whether it is right, ``read_inquiry`` and the services say."""

import re
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Column, Fieldset, Layout, Row
from django import forms

from quoting.desk import labels
from quoting.desk.form_fields import LABELS, SECTIONS, SHOWN, Shown, operation_name
from quoting.desk.inquiry_text import inquiry_from, typed_from
from quoting.intake.reading_result import InputError

LONGEST_TEXT = 200


def text_field(shown: Shown) -> forms.Field:
    attributes = {"autocomplete": "off", "spellcheck": "false"}
    if shown.control in ("count", "money"):
        attributes["inputmode"] = "decimal" if shown.control == "money" else "numeric"
    return forms.CharField(widget=forms.TextInput(attrs=attributes), max_length=LONGEST_TEXT, strip=False)


def field_for(shown: Shown, polymers: tuple[str, ...]) -> forms.Field:
    """The Django field of one row of the table; never required here, since the reader knows what is missing."""
    if shown.control == "choice":
        field: forms.Field = forms.ChoiceField(choices=shown.choices)
    elif shown.control == "yes_no":
        field = forms.ChoiceField(choices=(("", "– not said –"), ("no", "no, one skin"), ("yes", "yes, two skins")))
    elif shown.control == "choices":
        choices = shown.choices or tuple((name, name) for name in polymers)
        field = forms.MultipleChoiceField(choices=choices, widget=forms.CheckboxSelectMultiple)
    elif shown.control == "date":
        field = forms.CharField(widget=forms.DateInput(attrs={"type": "date"}))
    else:
        field = text_field(shown)
    field.required = False
    field.label = shown.label if shown.required or shown.control == "choices" else f"{shown.label} (optional)"
    field.help_text = shown.help
    return field


class InquiryForm(forms.Form):
    """The inquiry, drawn from the table of fields. ``raw()`` gives it in the shape of the contract."""

    def __init__(self, *arguments: Any, polymers: tuple[str, ...] = (), **more: Any):
        super().__init__(*arguments, **more)
        for shown in SHOWN.values():
            if shown.control == "operations":
                for operation, label in labels.OPERATIONS.items():
                    self.fields[operation_name(operation)] = forms.CharField(
                        label=label.capitalize(), required=False, max_length=9,
                        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
                    )  # fmt: skip
            else:
                self.fields[shown.name] = field_for(shown, polymers)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout(*(section(title, lead, many) for title, lead, many in SECTIONS))

    @classmethod
    def of(cls, raw: dict, polymers: tuple[str, ...]) -> "InquiryForm":
        """Filled with a kept inquiry, for changing it. A polymer no longer stocked stays in the list."""
        kept = tuple(dict.fromkeys((*polymers, *(raw.get("material", {}).get("polymers") or ()))))
        return cls(initial=typed_from(raw), polymers=kept)

    def raw(self) -> dict:
        """What was typed, as the contract's nested inquiry."""
        typed = {
            name: self.data.getlist(name) if isinstance(field, forms.MultipleChoiceField) else self.data.get(name)
            for name, field in self.fields.items()
        }
        return inquiry_from(typed)

    def take(self, errors: tuple[InputError, ...]) -> None:
        """Put the reader's errors beside their fields; one without a field stands above the form."""
        for error in errors:
            self.add_error(self.name_of(error), sentence(error))

    def name_of(self, error: InputError) -> str | None:
        row = re.match(r"secondary[.\[](\d+)", error.field)
        if row:
            kept = self.raw().get("secondary") or []
            index = int(row.group(1))
            return operation_name(kept[index]["operation"]) if index < len(kept) else None
        path = re.sub(r"\[\d+\]|\.\d+", "", error.field)
        return SHOWN[path].name if path in SHOWN and path != "secondary" else None

    def summary(self) -> list[tuple[str, str, str]]:
        """(id of the control, label, message) for the linked list above the form."""
        return [
            (self[name].id_for_label if name in self.fields and self[name].id_for_label else f"id_{name}",
             self.fields[name].label.replace(" (optional)", "") if name in self.fields else "",
             message)
            for name, messages in self.errors.items() for message in messages
        ]  # fmt: skip


def sentence(error: InputError) -> str:
    """What is accepted, and what was typed instead.

    >>> sentence(InputError("part.length", "48", "a length with its unit, such as 48 in"))
    'Write a length with its unit, such as 48 in. Typed was “48”.'
    """
    typed = f" Typed was “{error.given}”." if error.given not in ("", "None", None) else ""
    return f"Write {error.accepted}.{typed}"


def section(title: str, lead: str, many: tuple[Shown, ...]) -> Fieldset:
    columns: list[Any] = []
    for shown in many:
        if shown.control == "operations":
            columns.append(HTML('<p class="section-lead col-12">How many per part; leave empty for none.</p>'))
            columns += [Column(operation_name(one), css_class="col-6 col-sm-4 col-lg-2") for one in labels.OPERATIONS]
        else:
            columns.append(Column(shown.name, css_class=f"col-12 col-md-{shown.width}"))
    return Fieldset(title, HTML(f'<p class="section-lead">{lead}</p>'), Row(*columns), css_class="sheet")


class OverrideForm(forms.Form):
    """Another value for one field of the inquiry, with the reason. Inputs are overridden, results never."""

    field = forms.ChoiceField(label="Field", choices=[("", "– choose –"), *sorted(LABELS.items(), key=lambda x: x[1])])
    value = forms.CharField(label="New value", max_length=LONGEST_TEXT, help_text="With its unit, such as 0.250 in.")
    reason = forms.CharField(label="Reason", max_length=400, help_text="Kept with your name, and printed in the history.")


class OutcomeForm(forms.Form):
    """How the customer decided, told to us by telephone, mail or order."""

    reason = forms.CharField(label="Order number, or why it was lost", max_length=400)


class DeclineForm(forms.Form):
    """Why we send this inquiry elsewhere."""

    reason = forms.CharField(
        label="Reason for our file", max_length=400, widget=forms.Textarea(attrs={"rows": 3}), required=False
    )
