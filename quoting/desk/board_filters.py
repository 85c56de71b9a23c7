"""What of the board is looked at, kept in the address so that a page can be sent on."""

from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django import forms
from django.http import QueryDict

from machines.board import KINDS
from quoting.desk import labels
from quoting.quotes.boards import SeenBoard

WEEKS = (4, 12, 26, 52)
USUAL_WEEKS = 12
ALL_PLANTS = "all"


@dataclass(frozen=True)
class Chosen:
    """The filters in force. ``opened`` are the plants whose resources show; one that is filtered for is open too."""

    weeks: int = USUAL_WEEKS
    plant: str = ""
    kind: str = ""
    machine_kind: str = ""
    only_over: bool = False
    text: str = ""
    opened: frozenset[str] = frozenset()

    def is_open(self, plant: str) -> bool:
        return plant in self.opened or ALL_PLANTS in self.opened or bool(self.plant or self.text or self.only_over)

    def toggled(self, plant: str) -> "Chosen":
        """The same with one plant opened, or closed where it is open."""
        return replace(self, opened=self.opened ^ {plant})

    @property
    def query(self) -> str:
        """The address's part after the question mark, without what is as usual."""
        plain = {
            "weeks": "" if self.weeks == USUAL_WEEKS else self.weeks, "plant": self.plant, "kind": self.kind,
            "machine_kind": self.machine_kind, "over": "on" if self.only_over else "", "text": self.text,
        }  # fmt: skip
        given = [(name, value) for name, value in plain.items() if value]
        return urlencode(given + [("open", plant) for plant in sorted(self.opened)])


class BoardFilter(forms.Form):
    """The filters as a form; whatever is not understood is named beside its field and not applied."""

    weeks = forms.TypedChoiceField(label="Weeks", coerce=int, required=False, empty_value=USUAL_WEEKS,
                                   choices=[(number, f"{number} weeks") for number in WEEKS])  # fmt: skip
    plant = forms.ChoiceField(label="Plant", required=False)
    kind = forms.ChoiceField(label="Kind of resource", required=False)
    machine_kind = forms.ChoiceField(label="Kind of machine", required=False)
    text = forms.CharField(label="Customer or part", required=False, max_length=100)
    over = forms.BooleanField(label="Only overloaded", required=False)

    def __init__(self, given: QueryDict, plants: dict[str, str], machine_kinds: list[str]) -> None:
        super().__init__(given)
        kinds = [(kind, labels.RESOURCES[kind]) for kind in KINDS]
        self.fields["plant"].choices = [("", "all plants"), *plants.items()]
        self.fields["kind"].choices = [("", "all kinds"), *kinds]
        machines = [(kind, labels.said(kind)) for kind in machine_kinds]
        self.fields["machine_kind"].choices = [("", "all machines"), *machines]
        for name, field in self.fields.items():
            field.error_messages["invalid_choice"] = "Got %(value)s; choose one of the list."
            look = {"weeks": "form-select", "text": "form-control", "over": "form-check-input"}
            field.widget.attrs["class"] = look.get(name, "form-select")

    def chosen(self, opened: list[str]) -> Chosen:
        self.is_valid()
        given = self.cleaned_data
        return Chosen(
            given.get("weeks") or USUAL_WEEKS, given.get("plant", ""), given.get("kind", ""),
            given.get("machine_kind", ""), bool(given.get("over")), given.get("text", ""),
            frozenset(opened) & {ALL_PLANTS, *(code for code, _ in self.fields["plant"].choices if code)},
        )  # fmt: skip


def weeks_asked(given: QueryDict) -> int:
    """The weeks named in the address where they are among those offered; the form says so where they are not."""
    asked = given.get("weeks", "")
    return next((number for number in WEEKS if str(number) == asked), USUAL_WEEKS)


def filter_of(given: QueryDict, seen: SeenBoard) -> tuple[BoardFilter, Chosen]:
    """The form as filled in, and what of it holds. Without anything given the weeks are the usual ones."""
    filled = given.copy()
    filled.setdefault("weeks", str(USUAL_WEEKS))
    form = BoardFilter(filled, seen.plants, sorted(set(seen.machine_kinds.values())))
    return form, form.chosen(given.getlist("open"))
