"""What stands by now beside what was typed: for a form of the admin that was refused because somebody else saved."""

from collections.abc import Iterator

from django import forms
from django.db import models
from django.utils.choices import flatten_choices

STALE = "changed_while_typed"  # set on the row whose form was refused, for the tables of rows on the same page
TAKEN_AWAY = (
    "Somebody took this row away while you typed. Your values are kept: saving puts the row in again; empty it to "
    "leave it away."
)


def written(field: forms.BoundField) -> str:
    """A value as its own form field writes it: with its unit, by name, several with commas."""
    value, kind = field.value(), field.field
    if isinstance(kind, forms.BooleanField):
        return "yes" if value else "no"
    if isinstance(kind, forms.ChoiceField):  # one of a table is a choice too
        labels = {str(key): str(label) for key, label in flatten_choices(kind.choices)}
        chosen = value if isinstance(value, list | tuple) else [value]
        told = ", ".join(labels.get(str(one), str(one)) for one in chosen if one not in (None, ""))
        return told or ("none" if isinstance(value, list | tuple) else "nothing")
    told = kind.widget.format_value(value)
    return "nothing" if told in (None, "") else str(told)


def tell_beside(form: forms.ModelForm, standing: forms.ModelForm, without: tuple[str, ...] = ()) -> None:
    """At each field that differs: what was typed and what stands there now; ``standing`` shows the row as it is."""
    for name in form.fields:
        if name in without or name not in standing.fields or form.fields[name].disabled:
            continue
        now = standing[name].initial
        typed = form.fields[name].widget.value_from_datadict(form.data, form.files, form.add_prefix(name))
        if form.fields[name].has_changed(now, typed):
            form.add_error(name, f"Yours: {written(form[name])}. Stands there now: {written(standing[name])}")


class StandingRows:
    """For the formset of an inline: where the page's row was refused as stale, each of its rows tells what stands now.

    A row that was taken away meanwhile becomes a new row with the same values, so that nothing typed is lost and the
    form can be saved; a row that came meanwhile is named and stays.
    """

    def full_clean(self) -> None:
        if not (self.is_bound and getattr(self.instance, STALE, False)):
            super().full_clean()
            return
        rows = {row.pk: row for row in self.model._default_manager.filter(**{self.fk.name: self.instance})}
        gone = self._begin_again(rows)
        super().full_clean()
        for form in self.initial_forms:
            self._tell(form, rows.pop(form.instance.pk))
        for form in self.extra_forms[:gone]:
            form.add_error(None, TAKEN_AWAY)
        for row in rows.values():
            told = "; ".join(self._fields_of(row))
            self._non_form_errors.append(f"Somebody added a row while you typed; it stays when you save: {told}")

    def _tell(self, form: forms.ModelForm, row: models.Model) -> None:
        tell_beside(form, self._standing(row), without=(self.model._meta.pk.name, self.fk.name))

    def _standing(self, row: models.Model) -> forms.ModelForm:
        return self.form(instance=row, **self.get_form_kwargs(0))

    def _fields_of(self, row: models.Model) -> Iterator[str]:
        standing = self._standing(row)
        return (f"{one.label} {written(one)}" for one in standing if not one.is_hidden and one.name in self._shown)

    @property
    def _shown(self) -> set[str]:
        return set(self.form.base_fields) - {self.fk.name}

    def _begin_again(self, rows: dict) -> int:
        """The posted rows in another order: those that stand, those taken away as new ones, new ones. How many went."""
        places = range(self.total_form_count())
        initial, pk = self.initial_form_count(), self.model._meta.pk.name
        keys = [self.data.get(f"{self.add_prefix(place)}-{pk}", "") for place in places]
        stand = [place for place in places[:initial] if keys[place] in {str(one) for one in rows}]
        gone = [place for place in places[:initial] if place not in stand]
        old, data = self.data, self.data.copy()
        for place in places:
            for key in [key for key in data if key.startswith(f"{self.add_prefix(place)}-")]:
                del data[key]
        for place, before in enumerate([*stand, *gone, *places[initial:]]):
            for key in [key for key in old if key.startswith(f"{self.add_prefix(before)}-")]:
                data.setlist(key.replace(self.add_prefix(before), self.add_prefix(place), 1), old.getlist(key))
            if before in gone:
                data[f"{self.add_prefix(place)}-{pk}"] = ""
        data[f"{self.prefix}-{forms.formsets.INITIAL_FORM_COUNT}"] = str(len(stand))
        self.data = data
        self.queryset = self.queryset.all()  # read anew
        for kept in ("management_form", "forms", "_queryset", "_object_dict"):
            self.__dict__.pop(kept, None)
        return len(gone)
