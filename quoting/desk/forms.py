"""Forms. They draw and keep what was typed; whether it is right, ``read_inquiry`` and the services say."""

import re
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Column, Fieldset, Layout, Row
from django import forms

from quoting.desk import labels
from quoting.desk.form_fields import (
    KEYS,
    LABELS,
    SECTIONS,
    UNSAID,
    choices_of,
    control_name,
    help_of,
    is_required,
    operation_name,
)  # fmt: skip
from quoting.desk.inquiry_text import at, counts, inquiry_from, typed_from
from quoting.intake.fields import BY_KEY, ONE_OF_TWO, Field
from quoting.intake.model_file import SUFFIXES
from quoting.intake.part import SECONDARY_OPERATIONS
from quoting.intake.reading_result import InputError
from quoting.quotes.reviewing import Item

LONGEST_TEXT = 200
LISTS = ("choices", "polymers")
MODEL, UPLOAD = "part.model", "part_model_upload"


def text_field(field: Field) -> forms.Field:
    attributes = {"autocomplete": "off", "spellcheck": "false"}
    if field.kind in ("count", "money"):
        attributes["inputmode"] = "decimal" if field.kind == "money" else "numeric"
    return forms.CharField(widget=forms.TextInput(attrs=attributes), max_length=LONGEST_TEXT, strip=False)


def control(field: Field, polymers: tuple[str, ...]) -> forms.Field:
    """The Django field of one field of the inquiry; never required here, since the reader says what is missing."""
    made: forms.Field
    if field.kind == "choice":
        made = forms.ChoiceField(choices=(("", f"– {UNSAID.get(field.key, 'not said')} –"), *choices_of(field)))
    elif field.kind == "flag":
        made = forms.ChoiceField(choices=(("", "– not said –"), ("no", "no, one skin"), ("yes", "yes, two skins")))
    elif field.kind in LISTS:
        choices = choices_of(field) or tuple((name, name) for name in polymers)
        made = forms.MultipleChoiceField(choices=choices, widget=forms.CheckboxSelectMultiple)
    elif field.kind == "file":
        made = forms.CharField(widget=forms.HiddenInput)  # the name under which an uploaded model is kept
    elif field.kind == "date":
        made = forms.CharField(widget=forms.DateInput(attrs={"type": "date"}))
    else:
        made = text_field(field)
    made.required = False
    needed = is_required(field) or field.required == ONE_OF_TWO or field.kind in LISTS
    made.label = LABELS[field.key] if needed else f"{LABELS[field.key]} (optional)"
    made.help_text = help_of(field)
    return made


def operation_control(operation: str) -> forms.Field:
    widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
    return forms.CharField(label=labels.said(operation).capitalize(), required=False, max_length=12, widget=widget)


def upload_control(field: Field) -> forms.Field:
    widget = forms.FileInput(attrs={"accept": ",".join(sorted(SUFFIXES))})
    return forms.FileField(
        label=f"{field.label} of the part (optional)", required=False, help_text=field.help, widget=widget
    )


class InquiryForm(forms.Form):
    """The inquiry, drawn from intake's table of fields. ``raw()`` gives it in the shape of the contract.

    ``is_spent``: its key has logged another inquiry already, so that it needs a new one.
    """

    is_spent = False

    def __init__(self, *arguments: Any, polymers: tuple[str, ...] = (), **more: Any):
        super().__init__(*arguments, **more)
        for key in KEYS:
            if BY_KEY[key].kind == "operations":
                self.fields.update({operation_name(one): operation_control(one) for one in SECONDARY_OPERATIONS})
            else:
                self.fields[control_name(key)] = control(BY_KEY[key], polymers)
            if BY_KEY[key].kind == "file":
                self.fields[UPLOAD] = upload_control(BY_KEY[key])
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.form_show_errors = True
        self.helper.layout = Layout(*(section(title, lead, many) for title, lead, many in SECTIONS))

    @classmethod
    def of(cls, raw: dict, polymers: tuple[str, ...]) -> "InquiryForm":
        """Filled with a kept inquiry, for changing it. A polymer no longer stocked stays in the list."""
        kept = at(raw, "material.polymers")
        kept = kept if isinstance(kept, list) else []
        return cls(initial=typed_from(raw), polymers=tuple(dict.fromkeys((*polymers, *kept))))

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
            name = UPLOAD if error.field == MODEL else self.name_of(error.field)
            self.add_error(name, sentence(error) if name else f"{error.field}: {sentence(error)}")

    def name_of(self, path: str) -> str | None:
        row = re.match(r"secondary[.\[](\d+)", path)
        if row:
            kept = self.raw().get("secondary") or []
            return operation_name(kept[int(row.group(1))]["operation"]) if int(row.group(1)) < len(kept) else None
        name = control_name(re.sub(r"\[\d+\]|\.\d+", "", path))
        return name if name in self.fields else None

    def summary(self) -> list[tuple[str, str, str]]:
        """(id of the control, label, message) for the linked list above the form."""
        rows = []
        for name, messages in self.errors.items():
            label = str(self.fields[name].label).removesuffix(" (optional)") if name in self.fields else ""
            several = name in self.fields and isinstance(self.fields[name], forms.MultipleChoiceField)
            rows += [(f"id_{name}_0" if several else f"id_{name}", label, message) for message in messages]
        return rows


def sentence(error: InputError) -> str:
    """What is accepted, and what was typed instead.

    >>> sentence(InputError("part.length", '"48"', "a length with its unit, such as 48 in"))
    'Write a length with its unit, such as 48 in. Typed was "48".'
    """
    accepted = error.accepted.replace(" without quotes", "")
    typed = f" Typed was {error.given}." if error.given not in ("", '""', "null") else ""
    return f"Write {accepted}.{typed}"


def section(title: str, lead: str, many: tuple[tuple[str, int], ...]) -> Fieldset:
    columns: list[Any] = []
    for key, width in many:
        if BY_KEY[key].kind == "operations":
            columns += [
                Column(operation_name(one), css_class="col-6 col-sm-4 col-lg-2") for one in SECONDARY_OPERATIONS
            ]
        elif BY_KEY[key].kind == "file":
            columns.append(Column(control_name(key), UPLOAD, css_class=f"col-12 col-md-{width}"))
        else:
            columns.append(Column(control_name(key), css_class=f"col-12 col-md-{width}"))
    return Fieldset(title, HTML(f'<p class="section-lead">{lead}</p>'), Row(*columns), css_class="sheet")


class OverrideForm(forms.Form):
    """Another value for one field of the inquiry, with the reason. Inputs are overridden, results never."""

    field = forms.ChoiceField(label="Field", choices=[("", "– choose –"), *((key, LABELS[key]) for key in KEYS)])
    value = forms.CharField(
        label="New value", max_length=LONGEST_TEXT, required=False,
        help_text="As on the inquiry form, with its unit, such as 0.250 in. Empty takes the typed value away.",
    )  # fmt: skip
    reason = forms.CharField(label="Reason", max_length=400, help_text="Kept in the history with your name.")

    def __init__(self, *arguments: Any, **more: Any):
        super().__init__(*arguments, **more)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True

    def clean_value(self) -> str:
        """The text as typed, for the reader; only ``1,200`` among release sizes is stopped here, as on the inquiry."""
        text = self.cleaned_data["value"].strip()
        doubtful = [one for one in counts(text) if not isinstance(one, int)]
        if self.cleaned_data.get("field") == "quantities.releases" and doubtful:
            raise forms.ValidationError(
                f"Write whole numbers with a comma and a space between; “{doubtful[0]}” is none."
            )
        return text


class WonForm(forms.Form):
    """The customer ordered: which release, by which paper."""

    release = forms.TypedChoiceField(label="Release ordered", coerce=int)
    reason = forms.CharField(label="Order number or evidence", max_length=400)

    def __init__(self, *arguments: Any, releases: tuple[int, ...] = (), **more: Any):
        super().__init__(*arguments, **more)
        self.fields["release"].choices = [(one, f"{one:,} parts") for one in releases]


class ReasonForm(forms.Form):
    """One reason, for losing or declining."""

    reason = forms.CharField(label="Reason", max_length=400)


class MailForm(forms.Form):
    """To whom the private link goes. ``form`` names this one form, so that sending it twice sends one mail."""

    to = forms.EmailField(
        label="To", widget=forms.EmailInput(attrs={"autocomplete": "off"}),
        help_text="The customer's address from the inquiry; change it if somebody else is to read the document.",
    )  # fmt: skip
    form = forms.RegexField(r"^[0-9a-f]{16}$", widget=forms.HiddenInput)


class AcceptForm(forms.Form):
    """Which release the customer orders; the choices carry the final figures."""

    release = forms.TypedChoiceField(label="Release to order", coerce=int, widget=forms.RadioSelect)

    def __init__(self, *arguments: Any, breaks: list[dict], **more: Any):
        super().__init__(*arguments, **more)
        self.fields["release"].choices = [
            (one["quantity"], f"{one['quantity']:,} parts at ${one['landed_unit_price']} each, landed")
            for one in breaks
        ]


class ChangeForm(forms.Form):
    """A change in the customer's own words."""

    text = forms.CharField(label="What should change?", max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))


class RepricingForm(forms.Form):
    """The day whose rates, sheet offers and certificates hold."""

    on = forms.DateField(
        label="Rates of the day",
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="Of each rate the newest row that has begun by this day counts; sheet offers and certificates too.",
        error_messages={
            "required": "Rates of the day: nothing was given; accepted is a date such as 2026-12-01.",
            "invalid": "Rates of the day: accepted is a date such as 2026-12-01.",
        },
    )


class ReviewForm(forms.Form):
    """The review before approval: a box for each thing to confirm. All must be ticked."""

    def __init__(self, *arguments: Any, items: tuple[Item, ...], **more: Any):
        super().__init__(*arguments, **more)
        self.items = items
        for one in items:
            self.fields[one.key] = forms.BooleanField(label=one.text, error_messages={"required": "Not confirmed yet."})
        self.fields["note"] = forms.CharField(
            label="Note for the file (optional)", required=False, max_length=400, help_text="Kept with your review."
        )

    def rows(self) -> list[tuple[Item, forms.BoundField]]:
        """Each item with its box."""
        return [(one, self[one.key]) for one in self.items]

    def confirmed(self) -> list[str]:
        return [one.key for one in self.items if self.cleaned_data.get(one.key)]

    def summary(self) -> list[tuple[str, str, str]]:
        return summary_of(self)


class SecondForm(forms.Form):
    """The manager's word on a quote that waits."""

    note = forms.CharField(
        label="Note (needed to send it back)", required=False, max_length=400,
        help_text="Kept in the history with your name.",
    )  # fmt: skip

    def summary(self) -> list[tuple[str, str, str]]:
        return summary_of(self)


class RefuseForm(forms.Form):
    """Why the customer declines."""

    text = forms.CharField(
        label="Why do you decline?", max_length=2000, widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Price, lead time, no need any more: a few words help us to quote better.",
    )  # fmt: skip


def summary_of(form: forms.Form) -> list[tuple[str, str, str]]:
    """(id of the control, label, message) for the linked list above a form."""
    return [
        (f"id_{name}", str(form.fields[name].label) if name in form.fields else "", message)
        for name, messages in form.errors.items()
        for message in messages
    ]
