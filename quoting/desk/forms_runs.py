"""The form of one run: the columns of a file as fields, read by the same rules."""

from typing import Any

from crispy_forms.helper import FormHelper
from django import forms
from django.core.files.uploadedfile import UploadedFile

from quoting.intake.table_file import MOST_ROWS
from quoting.planning.models import RunRecord
from quoting.quotes.runs import recording
from quoting.quotes.runs.reading import COLUMNS, LIMITS, MOST_NOTE, Column, Told, read_run

LONGEST = 60


def plain_helper() -> FormHelper:
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    return helper


def _field(column: Column) -> forms.CharField:
    widget: forms.Widget = forms.TextInput(attrs={"autocomplete": "off"})
    if column.kind == "day":
        widget = forms.DateInput(attrs={"type": "date"})
    elif column.kind == "text":
        widget = forms.Textarea(attrs={"rows": 2})
    elif column.kind in ("job", "machine"):
        widget = forms.TextInput(attrs={"autocomplete": "off", "list": f"known-{column.field}"})
    longest = MOST_NOTE if column.kind == "text" else LONGEST
    # ``read_run`` says what is missing, with what is accepted; so nothing is required here.
    needed = " Needed." if column.required else ""
    return forms.CharField(
        label=column.heading, help_text=column.help + needed, required=False, max_length=longest, widget=widget
    )


class RunForm(forms.Form):
    """A run as typed; ``told`` is what was read of it."""

    told: Told | None = None

    def __init__(self, *arguments: Any, fixed_job: str = "", **more: Any):
        super().__init__(*arguments, **more)
        self.fields |= {one.field: _field(one) for one in COLUMNS}
        self.house = recording.house()
        self.helper = plain_helper()
        self.fixed_job = fixed_job
        if fixed_job:
            self.fields["job"].disabled = True
            self.initial["job"] = fixed_job

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        self.told, wrong = read_run(cleaned, self.house)
        for one in wrong:
            if not self.has_error(one.field):
                self.add_error(one.field, f"Got {one.given}; accepted is {one.accepted}.")
        return cleaned


class CorrectionForm(RunForm):
    """The same for a correction, which says why."""

    reason = forms.CharField(
        label="Why it is corrected", max_length=MOST_NOTE, help_text="Stands in the record of deeds.",
        error_messages={"required": "Say why the record is corrected, such as “heats read off the wrong sheet”."},
    )  # fmt: skip

    def __init__(self, *arguments: Any, **more: Any):
        super().__init__(*arguments, **more)
        self.order_fields([*(one.field for one in COLUMNS), "reason"])


class RunFileForm(forms.Form):
    """A file of runs."""

    file = forms.FileField(
        label="File",
        help_text=f"CSV (UTF-8, commas or semicolons), at most {LIMITS.file // 2**20} MB and {LIMITS.rows:,} rows; or "
        f"XLSX, of which some {MOST_ROWS:,} rows can be read. Take the empty table for its headings.",
    )

    def __init__(self, *arguments: Any, **more: Any):
        super().__init__(*arguments, **more)
        self.helper = plain_helper()

    def clean_file(self) -> UploadedFile:
        sent = self.cleaned_data["file"]
        if sent.size > LIMITS.file:
            raise forms.ValidationError(
                f"Got a file of {sent.size / 1e6:.1f} MB; accepted is at most {LIMITS.file // 2**20} MB. It was not "
                "read."
            )
        return sent


def typed_of(run: RunRecord) -> dict[str, str]:
    """A record as it would be typed, with every digit that is kept."""
    typed = {"job": run.job.quote, "machine": run.machine.code, "note": run.note}
    units = {"index_time": "s", "setup_hours": "h", "run_hours": "h", "trim_time": "s"}
    for column in COLUMNS:
        value = getattr(run, column.field, None)
        if column.field not in typed and value is not None:
            typed[column.field] = f"{value:.12g} {units[column.field]}" if column.field in units else str(value)
    if run.sheet_mass is not None:
        typed["sheet_used"] = f"{run.sheet_mass:.12g} kg"
    elif run.blanks is not None:
        typed["sheet_used"] = f"{run.blanks} blanks"
    return typed
