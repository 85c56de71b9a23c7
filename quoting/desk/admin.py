"""Rates, plants, machines, polymers and sheet in Django's admin; who may edit them is set by the groups' rights."""

from typing import Any

from django.contrib import admin

from machines import models as machine_tables
from materials import models as material_tables
from quoting.desk.admin_versions import VersionedAdmin
from quoting.desk.unit_fields import PropertyForm, UnitsInForms
from quoting.quotes.models import AuditEntry, RateRow

admin.site.site_header = admin.site.site_title = "Rates and data"
admin.site.index_title = "What the answers are computed from"


@admin.register(RateRow)
class RateAdmin(VersionedAdmin, admin.ModelAdmin):
    list_display = ["key", "value", "valid_from", "source"]
    list_filter = ["valid_from"]
    search_fields = ["key", "source"]


class TrimmerInline(UnitsInForms, admin.StackedInline):
    model = machine_tables.Trimmer
    extra = 0


@admin.register(machine_tables.Plant)
class PlantAdmin(VersionedAdmin, UnitsInForms, admin.ModelAdmin):
    list_display = ["code", "name", "state", "labour_rate", "shifts_per_day"]
    inlines = [TrimmerInline]


class StationInline(admin.TabularInline):
    model = machine_tables.Station
    extra = 0


@admin.register(machine_tables.Machine)
class MachineAdmin(VersionedAdmin, UnitsInForms, admin.ModelAdmin):
    list_display = ["code", "plant", "kind", "hour_rate", "efficiency"]
    list_filter = ["plant", "kind"]
    inlines = [StationInline]


@admin.register(machine_tables.Booking)
class BookingAdmin(VersionedAdmin, UnitsInForms, admin.ModelAdmin):
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

    def has_add_permission(self, request: Any) -> bool:
        return False

    def has_change_permission(self, request: Any, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        return False
