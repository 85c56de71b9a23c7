"""Private links in the admin: the administrator withdraws one, and sees nothing of what it opens."""

from typing import Any

from django.contrib import admin, messages
from django.db.models import QuerySet
from django.http import HttpRequest

from quoting.quotes import policies, services
from quoting.quotes.models import Quote


@admin.register(Quote)
class LinkAdmin(admin.ModelAdmin):
    """Number, dates and state of the link alone: no price, no customer, no document."""

    fields = readonly_fields = ["number", "revision", "kind", "issued_at", "link", "link_expires"]
    list_display = ["number", "revision", "kind", "issued_at", "link", "link_expires"]
    search_fields = ["number"]
    actions = ["withdraw"]

    def get_queryset(self, request: HttpRequest) -> QuerySet[Quote]:
        return super().get_queryset(request).defer("pdf", "snapshot")

    @admin.display(description="private link")
    def link(self, quote: Quote) -> str:
        if quote.link_hash is None:
            return "none"
        return "withdrawn" if quote.link_revoked_at else "open"

    @admin.action(description="Withdraw the private link", permissions=["view"])
    def withdraw(self, request: HttpRequest, chosen: QuerySet[Quote]) -> None:
        open_ones = [quote for quote in chosen if policies.may_revoke_link(request.user, quote)]
        for quote in open_ones:
            services.link_revoke(quote=quote, by=request.user)
        messages.success(request, f"Withdrawn: {len(open_ones)} private links.")

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
