"""Rates, plants, machines, polymers and sheet in Django's admin; who may edit them is set by the groups' rights."""

from typing import Any

from django.contrib import admin

from machines import models as machine_tables
from materials import models as material_tables
from quoting.desk.unit_fields import PropertyForm, UnitsInForms
from quoting.quotes import outbox
from quoting.quotes.models import AuditEntry, OutgoingMail, RateRow

admin.site.site_header = admin.site.site_title = "Rates and data"
admin.site.index_title = "What the answers are computed from"


@admin.register(RateRow)
class RateAdmin(admin.ModelAdmin):
    list_display = ["key", "value", "valid_from", "source"]
    list_filter = ["valid_from"]
    search_fields = ["key", "source"]


class TrimmerInline(UnitsInForms, admin.StackedInline):
    model = machine_tables.Trimmer
    extra = 0


@admin.register(machine_tables.Plant)
class PlantAdmin(UnitsInForms, admin.ModelAdmin):
    list_display = ["code", "name", "state", "labour_rate", "shifts_per_day"]
    inlines = [TrimmerInline]


class StationInline(admin.TabularInline):
    model = machine_tables.Station
    extra = 0


@admin.register(machine_tables.Machine)
class MachineAdmin(UnitsInForms, admin.ModelAdmin):
    list_display = ["code", "plant", "kind", "hour_rate", "efficiency"]
    list_filter = ["plant", "kind"]
    inlines = [StationInline]


@admin.register(machine_tables.Booking)
class BookingAdmin(UnitsInForms, admin.ModelAdmin):
    list_display = ["week", "machine", "hours", "firm", "label", "quote"]
    list_filter = ["firm", "machine__plant"]
    date_hierarchy = "week"


class PropertyInline(admin.TabularInline):
    model = material_tables.PolymerProperty
    form = PropertyForm
    extra = 0


class NeedInline(UnitsInForms, admin.TabularInline):
    model = material_tables.PolymerNeed
    extra = 0


@admin.register(material_tables.Polymer)
class PolymerAdmin(admin.ModelAdmin):
    list_display = ["name", "description", "semicrystalline", "is_complete"]
    inlines = [PropertyInline, NeedInline]

    @admin.display(boolean=True, description="complete, so that it is used")
    def is_complete(self, polymer: material_tables.Polymer) -> bool:
        return polymer.is_complete


class TierInline(UnitsInForms, admin.TabularInline):
    model = material_tables.PriceTier
    extra = 0


@admin.register(material_tables.SheetOffer)
class OfferAdmin(UnitsInForms, admin.ModelAdmin):
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
