from django.apps import AppConfig


class QuotingConfig(AppConfig):
    """Holds the management commands; it has no models of its own."""

    name = "quoting"
    verbose_name = "Quoting"
