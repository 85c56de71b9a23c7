"""Addresses. Every page asks for a log-in unless its view says otherwise."""

from datetime import date

from django.contrib import admin
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path, register_converter


class Monday:
    """A date in an address, as 2026-11-23."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, text: str) -> date:
        return date.fromisoformat(text)

    def to_url(self, value: date) -> str:
        return value.isoformat()


register_converter(Monday, "monday")

urlpatterns = [
    path("login/", LoginView.as_view(), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("admin/", admin.site.urls),
    path("", include("quoting.desk.urls")),
]
