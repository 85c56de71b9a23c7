from django.apps import AppConfig


class QuotingConfig(AppConfig):
    """Holds the management commands; it has no models of its own."""

    name = "quoting"
    verbose_name = "Quoting"

    def ready(self) -> None:
        from quoting.operation import request_log  # the tables it names are loaded only now

        request_log.listen()
