"""The form of a what-if question: one kind, and what that kind has to name."""

from datetime import date
from decimal import Decimal

from django import forms

from machines.machine import Plant as PricedPlant
from machines.models import Machine, Plant
from machines.weeks import WEEK, monday
from quoting.desk.templatetags.desk import day
from quoting.intake.planning_keys import OVERTIME_HOURS, OVERTIME_PREMIUM
from quoting.intake.planning_rates import PlanningRates
from quoting.planning.models import QUOTED, WON, Job
from quoting.planning.plan_models import AS_IT_IS, MACHINE_DOWN, QUOTE_WON, TOOL_MOVES
from quoting.quotes.balancing import WEEKS

SATURDAY = 5
MOST_PREMIUM = 300  # %, as the rate
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
        error_messages={
            "required": "Overtime allowed: nothing was given; accepted are hours from 0 to 168.",
            **dict.fromkeys(
                ("invalid", "min_value", "max_value"), "Overtime allowed: accepted are hours from 0 to 168, such as 8.",
            ),
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
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), f"Weeks down: accepted is a whole number from 1 to {WEEKS}.",
        ),
    )  # fmt: skip
    quote = forms.ChoiceField(label="Quote", required=False, help_text="An open quote with hours on the board.")
    tool = forms.ChoiceField(label="Tool", required=False, help_text="A tool of won work.")
    plant = forms.ModelChoiceField(
        Plant.objects.order_by("code"), label="To plant", required=False, to_field_name="code",
    )  # fmt: skip

    def __init__(self, *arguments: object, rates: PlanningRates, plants: tuple[PricedPlant, ...], **more: object):
        super().__init__(*arguments, **more)
        self.fields["overtime"].help_text = f"{_origin(rates, OVERTIME_HOURS)} Kept with the plan; 0 for none."
        self.premiums = {}  # field by plant
        for plant in plants:
            self.premiums[plant.code] = name = f"premium_{plant.code}"
            self.fields[name] = _premium(plant, rates)
            self.initial.setdefault(name, _percent(rates.premium_of(plant.code)))
        self.rates = rates
        quotes = Job.objects.filter(state=QUOTED).order_by("quote").values_list("quote", "part")
        self.fields["quote"].choices = [("", "---------"), *((one, f"{one} {part}".strip()) for one, part in quotes)]
        tools = Job.objects.filter(state=WON, tool_plant__isnull=False).exclude(tool="").order_by("tool")
        rows = {tool: (part, plant) for tool, part, plant in tools.values_list("tool", "part", "tool_plant__code")}
        self.fields["tool"].choices = [
            ("", "---------"), *((tool, f"{tool}: {part}, at {plant}") for tool, (part, plant) in rows.items())
        ]  # fmt: skip

    def clean(self) -> dict:
        given = super().clean()
        for name in NEEDS.get(given.get("kind"), ()):
            if not given.get(name) and name not in self.errors:
                label, question = self.fields[name].label, dict(KINDS)[given["kind"]]
                self.add_error(name, f"{label}: nothing was given; “{question}” needs it.")
        return given

    @property
    def premium_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.premiums.values()]

    def asked(self) -> dict:
        given = self.cleaned_data
        found = {name: given[name] for name in ("kind", "overtime", *NEEDS[given["kind"]])}
        shares = {plant: self._share(plant, given[name]) for plant, name in self.premiums.items()}
        return found | {"premiums": {plant: share for plant, share in shares.items() if share is not None}}

    def _share(self, plant: str, percent: Decimal | None) -> Decimal | None:
        return self.rates.premium_of(plant) if percent is None else percent / 100


def _premium(plant: PricedPlant, rates: PlanningRates) -> forms.DecimalField:
    origin = _origin(rates, f"{OVERTIME_PREMIUM}.{plant.code}", OVERTIME_PREMIUM)
    form = f"accepted is a number from 0 to {MOST_PREMIUM} with at most two decimals, such as 50"
    codes = ("invalid", "min_value", "max_value", "max_digits", "max_decimal_places", "max_whole_digits")
    return forms.DecimalField(
        label=f"Premium at {plant.code}, percent", required=False, min_value=0, max_value=MOST_PREMIUM,
        max_digits=6, decimal_places=2, help_text=f"{plant.name}: of ${plant.labour_rate:,.2f} an hour. {origin}",
        error_messages=dict.fromkeys(codes, f"Premium at {plant.code}: {form}."),
    )  # fmt: skip


def _origin(rates: PlanningRates, *keys: str) -> str:
    """Where a proposed value comes from."""
    found = rates.text_of(*keys)
    if found is None:
        return f"No rate {keys[-1]} is in force."
    return f"Rate {found.key}: {found.value} from {day(found.valid_from)}."


def _percent(share: Decimal | None) -> Decimal | None:
    return None if share is None else Decimal(f"{100 * share:f}").normalize() + 0


def initial(day: date, asked: dict[str, str], overtime: float | None) -> dict:
    """What an address proposes, such as ``?kind=machine_down&machine=F1``; overtime as the rates have it."""
    proposed = {name: asked[name] for name in PlanForm.base_fields if asked.get(name)}
    begins = day if day.weekday() < SATURDAY else monday(day) + WEEK  # of a week that is over nothing is left
    hours = f"{overtime:g}" if overtime is not None else None
    return {"kind": AS_IT_IS, "down_from": begins, "overtime": hours} | proposed
