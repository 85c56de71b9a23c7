"""People in the admin: the administrator creates them, gives them roles and plants, and switches them off."""

from typing import Any

from axes.models import AccessFailureLog, AccessLog
from django.contrib import admin, messages
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group, User
from django.db.models import QuerySet
from django.http import HttpRequest
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice

from quoting.desk.admin_versions import VersionedAdmin
from quoting.quotes import policies, second_factor
from quoting.quotes.models import PersonPlant
from quoting.quotes.stock import EDITS

# Groups have exactly the rights of the tables in policies and stock; devices hold secrets that nobody needs to read;
# comings and goings are not kept.
for table in (User, Group, TOTPDevice, StaticDevice, AccessLog, AccessFailureLog):
    admin.site.unregister(table)


class PlantInline(admin.TabularInline):
    model = PersonPlant
    extra = 0
    verbose_name_plural = "Plants (none: all of them)"


@admin.register(User)
class PersonAdmin(VersionedAdmin, UserAdmin):
    """Nobody is deleted, since records name them: who leaves is no longer active, and is out at the next request."""

    unversioned = ("last_login", "password")  # each changes by itself, or on a page of its own

    inlines = [PlantInline]
    list_display = ["username", "first_name", "last_name", "role", "has_second_factor", "is_active"]
    list_filter = ["is_active", "groups"]
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("first_name", "last_name", "email")}),
        ("Rights", {"fields": ("is_active", "groups", "is_superuser")}),
        ("Dates", {"fields": ("last_login", "date_joined")}),
    )
    readonly_fields = ["last_login", "date_joined"]
    actions = ["take_away"]

    def get_inlines(self, request: HttpRequest, obj: User | None) -> list[type]:
        return self.inlines if obj else []

    @admin.display(description="role")
    def role(self, person: User) -> str:
        return ", ".join(sorted(policies.roles(person))) or "none"

    @admin.display(boolean=True, description="second factor")
    def has_second_factor(self, person: User) -> bool:
        return second_factor.is_on(person)

    @admin.action(description="Take away the second factor (telephone lost)")
    def take_away(self, request: HttpRequest, chosen: QuerySet[User]) -> None:
        for person in chosen:
            second_factor.factor_take_away(person=person, by=request.user)
        messages.success(request, f"Second factor taken away from {len(chosen)}.")

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        """Whose role edits rates and data may open the admin; nobody else."""
        super().save_related(request, form, formsets, change)
        person = form.instance
        person.is_staff = person.is_superuser or person.groups.filter(name__in=EDITS).exists()
        person.save(update_fields=["is_staff"])

    def has_delete_permission(self, request: HttpRequest, obj: User | None = None) -> bool:
        return False
