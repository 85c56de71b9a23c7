"""The form of a what-if question: one kind, and what that kind has to name."""

from datetime import date

from django import forms

from machines.models import Machine, Plant
from quoting.planning.models import QUOTED, WON, Job
from quoting.planning.plan_models import AS_IT_IS, MACHINE_DOWN, QUOTE_WON, TOOL_MOVES
from quoting.quotes.balancing import WEEKS

KINDS = (
    (AS_IT_IS, "Balance the work as it stands"),
    (MACHINE_DOWN, "A machine is down"),
    (QUOTE_WON, "A quote is won"),
    (TOOL_MOVES, "A tool moves to another plant"),
)
NEEDS = {
    AS_IT_IS: (), MACHINE_DOWN: ("machine", "down_from", "down_weeks"), QUOTE_WON: ("quote",),
    TOOL_MOVES: ("tool", "plant"),
}  # fmt: skip


class PlanForm(forms.Form):
    """``asked`` is what the service takes: only what the chosen kind names."""

    kind = forms.ChoiceField(label="What if", choices=KINDS, error_messages={
        "required": "What if: nothing was chosen; choose one of the four questions.",
    })  # fmt: skip
    overtime = forms.FloatField(
        label="Overtime allowed, hours a machine a week", min_value=0, max_value=168,
        help_text="Your assumption for this plan, kept with it; 0 for none.",
        error_messages={
            "required": "Overtime allowed: nothing was given; accepted are hours from 0 to 168.",
            "invalid": "Overtime allowed: accepted are hours from 0 to 168, such as 8.",
        },
    )  # fmt: skip
    machine = forms.ModelChoiceField(
        Machine.objects.select_related("plant").order_by("code"), label="Machine", required=False, to_field_name="code",
    )  # fmt: skip
    down_from = forms.DateField(
        label="Down from", required=False, input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="Any day; the whole of its week counts.",
        error_messages={"invalid": "Down from: accepted is a date such as 2026-12-07."},
    )  # fmt: skip
    down_weeks = forms.IntegerField(
        label="Weeks down", required=False, min_value=1, max_value=WEEKS,
        error_messages={"invalid": f"Weeks down: accepted is a whole number from 1 to {WEEKS}."},
    )  # fmt: skip
    quote = forms.ChoiceField(label="Quote", required=False, help_text="An open quote with hours on the board.")
    tool = forms.ChoiceField(label="Tool", required=False, help_text="A tool of won work.")
    plant = forms.ModelChoiceField(
        Plant.objects.order_by("code"), label="To plant", required=False, to_field_name="code",
    )  # fmt: skip

    def __init__(self, *arguments: object, **more: object):
        super().__init__(*arguments, **more)
        quotes = Job.objects.filter(state=QUOTED).order_by("quote").values_list("quote", "part")
        self.fields["quote"].choices = [("", "---------"), *((one, f"{one} {part}".strip()) for one, part in quotes)]
        tools = Job.objects.filter(state=WON, tool_plant__isnull=False).exclude(tool="").order_by("tool")
        rows = dict(tools.values_list("tool", "tool_plant__code"))
        self.fields["tool"].choices = [
            ("", "---------"), *((tool, f"{tool}, at {plant}") for tool, plant in rows.items())
        ]  # fmt: skip

    def clean(self) -> dict:
        given = super().clean()
        for name in NEEDS.get(given.get("kind"), ()):
            if not given.get(name) and name not in self.errors:
                label, question = self.fields[name].label, dict(KINDS)[given["kind"]]
                self.add_error(name, f"{label}: nothing was given; “{question}” needs it.")
        return given

    def asked(self) -> dict:
        given = self.cleaned_data
        return {name: given[name] for name in ("kind", "overtime", *NEEDS[given["kind"]])}


def initial(day: date, asked: dict[str, str], overtime: float | None) -> dict:
    """What an address proposes, such as ``?kind=machine_down&machine=F1``; overtime as the last plan assumed it."""
    proposed = {name: asked[name] for name in PlanForm.base_fields if asked.get(name)}
    return {"kind": AS_IT_IS, "down_from": day, "overtime": overtime} | proposed
