"""Rates, plants, machines, polymers and sheet in Django's admin; who may edit them is set by the groups' rights."""

from calendar import day_abbr
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import admin, messages
from django.core.exceptions import ValidationError

from machines import models as machine_tables
from machines.wall_clock import shown
from materials import models as material_tables
from quoting.desk import admin_links, admin_people  # noqa: F401  these register links and people
from quoting.desk.admin_forms import BookingForm, EachDayOnce, MachineForm, WindowForm
from quoting.desk.admin_versions import VersionedAdmin
from quoting.desk.unit_fields import READ_AS_FILES, PropertyForm, UnitsInForms
from quoting.quotes import outbox, policies
from quoting.quotes.closed_days import closed_days_keep
from quoting.quotes.models import AuditEntry, OutgoingMail, RateRow
from quoting.quotes.records import today

admin.site.site_header = admin.site.site_title = "Plants and data"
admin.site.index_title = "What the answers are computed from"


@admin.register(RateRow)
class RateAdmin(VersionedAdmin, admin.ModelAdmin):
    list_display = ["key", "value", "valid_from", "source"]
    list_filter = ["valid_from"]
    search_fields = ["key", "source"]


class OwnPlantOnly:
    """For ModelAdmin: who is tied to plants changes the rows of those; the others are for reading.

    ``plant_of`` leads from a row to its plant, ``offered`` limits what a new row may belong to.
    """

    offered: tuple[str, str]  # name of the foreign key, and the way from there to the plant

    def plant_of(self, row: Any) -> machine_tables.Plant:
        raise NotImplementedError

    def has_change_permission(self, request: Any, obj: Any = None) -> bool:
        return super().has_change_permission(request, obj) and self._serves(request, obj)

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        return super().has_delete_permission(request, obj) and self._serves(request, obj)

    def _serves(self, request: Any, obj: Any) -> bool:
        return obj is None or policies.serves(request.user, self.plant_of(obj))

    def formfield_for_foreignkey(self, db_field: Any, request: Any, **options: Any) -> Any:
        own = policies.plants_of(request.user)
        if own and db_field.name == self.offered[0]:
            table = db_field.remote_field.model
            options["queryset"] = table.objects.filter(**{f"{self.offered[1]}__in": own})
        return super().formfield_for_foreignkey(db_field, request, **options)


class TrimmerInline(UnitsInForms, admin.StackedInline):
    model = machine_tables.Trimmer
    extra = 0


class HourRateInline(admin.TabularInline):
    model = machine_tables.HourRate
    extra = 0
    verbose_name_plural = "hour rates from a day on (they go before the rates of plant, machine and trimmer)"


class ShiftForm(forms.ModelForm):
    days = forms.TypedMultipleChoiceField(
        choices=tuple(enumerate(day_abbr)), coerce=int, widget=forms.CheckboxSelectMultiple, label="Starts on"
    )


class ShiftInline(admin.TabularInline):
    model = machine_tables.Shift
    form = ShiftForm
    extra = 0


class ClosedDayInline(admin.TabularInline):
    model = machine_tables.ClosedDay
    formset = EachDayOnce
    extra = 0


@admin.register(machine_tables.Plant)
class PlantAdmin(VersionedAdmin, OwnPlantOnly, UnitsInForms, admin.ModelAdmin):
    list_display = ["code", "name", "state", "labour_rate", "shifts_per_day"]
    inlines = [TrimmerInline, HourRateInline, ShiftInline, ClosedDayInline]
    actions = ["close_on_holidays"]
    offered = ("", "")

    def plant_of(self, row: machine_tables.Plant) -> machine_tables.Plant:
        return row

    def has_add_permission(self, request: Any) -> bool:
        return super().has_add_permission(request) and not policies.plants_of(request.user)

    @admin.action(description="Close on public holidays of this year and the next", permissions=["change"])
    def close_on_holidays(self, request: Any, chosen: Any) -> None:
        """Adds what is missing; what was entered or taken out by hand stays as it is."""
        years = (today().year, today().year + 1)
        for plant in chosen:
            if not self.has_change_permission(request, plant):
                self.message_user(request, f"{plant}: not yours to change; nothing was added.", messages.WARNING)
                continue
            try:
                found = closed_days_keep(plant=plant, years=years, by=request.user)
            except ValidationError as error:
                self.message_user(request, " ".join(error.messages), messages.ERROR)
                continue
            added = ", ".join(f"{name} {day:%d %b %Y}" for day, name in found.added) or "none"
            self.message_user(
                request,
                f"{plant}: {len(found.added)} closed days added ({added}); {len(found.standing)} stood there already "
                f"and {len(found.taken_out)} that somebody took out were left out.",
            )


@admin.register(machine_tables.TimeWindow)
class TimeWindowAdmin(VersionedAdmin, OwnPlantOnly, admin.ModelAdmin):
    form = WindowForm
    list_display = ["starts", "ends", "kind", "place", "reason"]
    list_select_related = ["plant", "machine", "trimmer"]
    list_filter = ["kind", "plant"]
    date_hierarchy = "start"
    offered = ("plant", "pk")

    def plant_of(self, row: machine_tables.TimeWindow) -> machine_tables.Plant:
        return row.plant

    @admin.display(description="what", ordering="machine__code")
    def place(self, row: machine_tables.TimeWindow) -> str:
        one = row.machine or row.trimmer
        return f"{one.code} at {row.plant.code}" if one else f"all of {row.plant.code}"

    @admin.display(description="start (clock of the plant)", ordering="start")
    def starts(self, row: machine_tables.TimeWindow) -> str:
        return shown(row.start, ZoneInfo(row.plant.time_zone))

    @admin.display(description="end (clock of the plant)", ordering="end")
    def ends(self, row: machine_tables.TimeWindow) -> str:
        return shown(row.end, ZoneInfo(row.plant.time_zone))


class StationInline(admin.TabularInline):
    model = machine_tables.Station
    formfield_overrides = READ_AS_FILES
    extra = 0


@admin.register(machine_tables.Machine)
class MachineAdmin(VersionedAdmin, OwnPlantOnly, UnitsInForms, admin.ModelAdmin):
    form = MachineForm
    list_display = ["code", "plant", "kind", "hour_rate", "efficiency", "retired_on"]
    list_filter = ["plant", "kind"]
    inlines = [StationInline]
    offered = ("plant", "pk")

    def plant_of(self, row: machine_tables.Machine) -> machine_tables.Plant:
        return row.plant


@admin.register(machine_tables.Booking)
class BookingAdmin(VersionedAdmin, OwnPlantOnly, UnitsInForms, admin.ModelAdmin):
    form = BookingForm
    list_display = ["week", "machine", "hours", "firm", "label", "quote"]
    list_filter = ["firm", "machine__plant"]
    list_select_related = ["machine__plant"]
    date_hierarchy = "week"
    offered = ("machine", "plant")

    def plant_of(self, row: machine_tables.Booking) -> machine_tables.Plant:
        return row.machine.plant


class PropertyInline(admin.TabularInline):
    model = material_tables.PolymerProperty
    form = PropertyForm
    extra = 0


class NeedInline(UnitsInForms, admin.TabularInline):
    model = material_tables.PolymerNeed
    extra = 0


@admin.register(material_tables.Polymer)
class PolymerAdmin(VersionedAdmin, admin.ModelAdmin):
    list_display = ["name", "description", "semicrystalline", "is_complete"]
    inlines = [PropertyInline, NeedInline]

    @admin.display(boolean=True, description="complete, so that it is used")
    def is_complete(self, polymer: material_tables.Polymer) -> bool:
        return polymer.is_complete


class TierInline(UnitsInForms, admin.TabularInline):
    model = material_tables.PriceTier
    extra = 0


@admin.register(material_tables.SheetOffer)
class OfferAdmin(VersionedAdmin, UnitsInForms, admin.ModelAdmin):
    list_display = ["name", "polymer", "colour", "valid_from", "valid_to"]
    list_filter = ["polymer", "colour"]
    inlines = [TierInline]


@admin.register(AuditEntry)
class AuditAdmin(admin.ModelAdmin):
    """For reading only: nobody adds, changes or deletes a record, whatever their rights."""

    list_display = ["at", "by", "action", "inquiry", "quote"]
    list_filter = ["action"]
    list_select_related = ["by", "inquiry", "quote"]

    def get_queryset(self, request: Any) -> Any:
        """Without answers and bytes, of which a hundred rows would hold a hundred megabytes."""
        found = super().get_queryset(request)
        return found.defer("inquiry__snapshot", "inquiry__front", "quote__snapshot", "quote__pdf")

    def has_add_permission(self, request: Any) -> bool:
        return False

    def has_change_permission(self, request: Any, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        return False


@admin.register(OutgoingMail)
class MailAdmin(admin.ModelAdmin):
    """The outbox for the administrator: what waits, what failed, what may have arrived. Texts are secret."""

    list_display = ["written_at", "standing", "to", "inquiry", "tries", "next_try", "sent_at", "reason"]
    list_filter = ["state"]
    search_fields = ["to", "subject"]
    exclude = ["text", "token"]
    actions = ["send_again", "give_up"]

    def get_queryset(self, request: Any) -> Any:
        found = super().get_queryset(request).select_related("inquiry", "quote")
        return found.defer("text", "inquiry__snapshot", "inquiry__front", "quote__snapshot", "quote__pdf")

    @admin.display(description="state", ordering="state")
    def standing(self, mail: OutgoingMail) -> str:
        return mail.standing

    @admin.action(description="Send again (failed, or unknown and surely not arrived)")
    def send_again(self, request: Any, chosen: Any) -> None:
        done = sum(outbox.mail_again(mail=mail, by=request.user) for mail in chosen)
        self.message_user(
            request, f"{done} of {len(chosen)} put in the queue again; only failed and unknown ones can be."
        )

    @admin.action(description="Give up (not sent any more; the text is taken away)")
    def give_up(self, request: Any, chosen: Any) -> None:
        done = sum(outbox.mail_give_up(mail=mail, by=request.user) for mail in chosen)
        self.message_user(request, f"{done} of {len(chosen)} given up; what was sent stays as it is.")

    def has_add_permission(self, request: Any) -> bool:
        return False

    def has_change_permission(self, request: Any, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        return False
