"""Forms of the admin that look further than one row: bookings, the end of a machine, times on a plant's own clock."""

from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q, Sum

from machines import models as machine_tables
from machines import wall_clock
from machines.calendar import CalendarError
from machines.models import Booking, Machine
from quoting.desk.unit_fields import PhysicalForm
from quoting.planning import selectors as planning
from quoting.planning.weeks import HOUR_SLACK, monday

ON_THE_CLOCK = (
    "On the clock of the plant, such as 2026-12-05 06:00. Where the clock is set back and shows a time twice, add "
    "“first” or “second”."
)
NAMED = 5  # bookings that an error names before it only counts


class BookingForm(PhysicalForm):
    """A booking that can be carried out: on a Monday, once, and where firm within the hours of its week."""

    def clean_week(self) -> date:
        week = self.cleaned_data["week"]
        if week.weekday() != 0:
            raise ValidationError(f"Got {week:%A %Y-%m-%d}; accepted is the Monday of a week, as {monday(week)}.")
        return week

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        machine, week, hours = (cleaned.get(name) for name in ("machine", "week", "hours"))
        moved = {"machine", "week", "hours", "firm", "quote", "label"} & set(self.changed_data)
        if cleaned.get("firm") and moved and None not in (machine, week, hours):
            machine = Machine.objects.select_for_update(no_key=True).get(pk=machine.pk)
            others = Booking.objects.filter(machine=machine, week=week, firm=True).exclude(pk=self.instance.pk)
            self._refuse_twice(cleaned, others)
            self._refuse_overbooked(machine, week, hours, others)
        return cleaned

    def _refuse_twice(self, cleaned: dict[str, Any], others: Any) -> None:
        for name in ("quote", "label"):
            given = (cleaned.get(name) or "").strip()
            same = others.filter(**{name: given}).first() if given else None
            if same is not None:
                self.add_error(
                    name,
                    f"Got {given}; accepted is work that is not booked on {cleaned['machine']} in this week yet: it "
                    f"has {same.hours:g} h there. Change that booking instead.",
                )  # fmt: skip
                return

    def _refuse_overbooked(self, machine: Machine, week: date, hours: float, others: Any) -> None:
        if machine.retired_on is not None and machine.retired_on <= week:
            self.add_error(
                "machine",
                f"Got {machine}, retired from {machine.retired_on:%d %b %Y} on; accepted is a machine that still works "
                "in this week.",
            )
            return
        row = next(one for one in planning.resources(on=date.min) if one.code == machine.code)
        works = float(planning.available((row,), week, 1)[0, 0])
        taken = others.aggregate(total=Sum("hours"))["total"] or 0.0
        if hours > works - taken + HOUR_SLACK:
            self.add_error(
                "hours",
                f"Got {hours:.1f} h; accepted is at most {max(0.0, works - taken):.1f} h: {machine} works {works:.1f} "
                f"h in the week of {week:%d %b %Y}, of which {taken:.1f} h are firm already. Move other work, enter "
                "overtime for the machine, or leave the booking not firm.",
            )


class MachineForm(PhysicalForm):
    """A machine is not retired while firm work lies on it."""

    def clean_retired_on(self) -> date | None:
        day = self.cleaned_data["retired_on"]
        if day is None or self.instance.pk is None or "retired_on" not in self.changed_data:
            return day
        machine = Machine.objects.select_for_update(no_key=True).get(pk=self.instance.pk)
        work = planning.work_after(machine, day)
        if not work:
            return day
        named = "; ".join(
            f"{one.label or one.quote or 'without a label'}, {one.hours:.1f} h in the week of {one.week:%d %b %Y}"
            for one in work[:NAMED]
        )
        more = f"; and {len(work) - NAMED} more" if len(work) > NAMED else ""
        last = max(one.week for one in work) + timedelta(days=7)
        raise ValidationError(
            f"Got {day:%d %b %Y}, but firm work is booked on {machine} in that week or later: {named}{more}. Accepted "
            f"is {last:%d %b %Y} or later, or any day once that work has been moved."
        )


class EachDayOnce(forms.BaseInlineFormSet):
    """Closed days of a plant: one that is typed twice is named at the second of them."""

    def clean(self) -> None:
        seen: set[date] = set()
        for form in self.forms:
            day = getattr(form, "cleaned_data", {}).get("day")
            if day in seen and form not in self.deleted_forms:
                form.add_error("day", f"Got {day:%d %b %Y} twice; accepted is each day once.")
            elif day is not None and form not in self.deleted_forms:
                seen.add(day)
        super().clean()


class WindowForm(forms.ModelForm):
    """Maintenance or overtime, typed and shown on the clock of its plant and kept in UTC."""

    start = forms.CharField(max_length=40, help_text=ON_THE_CLOCK)
    end = forms.CharField(max_length=40, help_text=ON_THE_CLOCK)

    class Meta:
        model = machine_tables.TimeWindow
        fields = ("plant", "machine", "trimmer", "kind", "start", "end", "reason")

    def __init__(self, *arguments: Any, **more: Any):
        super().__init__(*arguments, **more)
        if self.instance.pk is not None:
            zone = ZoneInfo(self.instance.plant.time_zone)
            self.initial |= {name: wall_clock.shown(getattr(self.instance, name), zone) for name in ("start", "end")}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        plant = cleaned.get("plant")
        for name in ("start", "end"):
            if plant is None:
                cleaned.pop(name, None)  # the plant's own error comes first; what was typed stays in the form
            elif name in cleaned:
                self._to_moment(cleaned, name, plant)
        if cleaned.get("start") and cleaned.get("end") and cleaned["end"] <= cleaned["start"]:
            typed = self.data.get(self.add_prefix("end"))
            self.add_error("end", f"Got {typed}; accepted is a time after the start.")
        elif cleaned.get("kind") == "overtime" and not self.errors:
            self._refuse_overtime_of_what_stands(cleaned)
        return cleaned

    def _refuse_overtime_of_what_stands(self, cleaned: dict[str, Any]) -> None:
        """Overtime counts no hour in which its machine stands, so it would be there and change nothing."""
        plant, place = cleaned["plant"], cleaned.get("machine") or cleaned.get("trimmer")
        standing = machine_tables.TimeWindow.objects.filter(
            plant=plant, kind="maintenance", start__lt=cleaned["end"], end__gt=cleaned["start"]
        ).exclude(pk=self.instance.pk)
        own = Q(machine=cleaned.get("machine"), trimmer=cleaned.get("trimmer"))
        first = standing.filter(own | Q(machine=None, trimmer=None)).order_by("start", "pk").first()
        if first is not None:
            start, end = (wall_clock.shown(one, ZoneInfo(plant.time_zone)) for one in (first.start, first.end))
            self.add_error(
                "start",
                f"{place or plant} stands for maintenance from {start} to {end}; accepted is overtime outside of that.",
            )

    def _to_moment(self, cleaned: dict[str, Any], name: str, plant: machine_tables.Plant) -> None:
        if self.instance.pk is not None and not {name, "plant"} & set(self.changed_data):
            cleaned[name] = getattr(self.instance, name)  # what is shown has no seconds, what is stored may
            return
        try:
            cleaned[name] = wall_clock.moment(name, cleaned[name], ZoneInfo(plant.time_zone))
        except CalendarError as error:
            self.add_error(name, f"Got {error.given}; accepted is {error.accepted}.")
