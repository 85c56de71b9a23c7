"""Addresses. Every page asks for a log-in unless its view says otherwise."""

from django.contrib import admin
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from quoting.operation import health, metrics

handler400 = "quoting.desk.outages.refused"
handler500 = "quoting.desk.outages.broken"

urlpatterns = [
    path("login/", LoginView.as_view(), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("admin/", admin.site.urls),
    path("health/", health.health, name="health"),
    path("ready/", health.ready, name="ready"),
    path("metrics/", metrics.metrics, name="metrics"),
    path("", include("quoting.desk.urls")),
]
