from django.apps import AppConfig
from django.db.models.signals import post_migrate


class QuotesConfig(AppConfig):
    name = "quoting.quotes"
    verbose_name = "Inquiries and quotes"

    def ready(self) -> None:
        post_migrate.connect(_migrated, sender=self, dispatch_uid="quoting.quotes.watched")


def _migrated(using: str, **_: object) -> None:
    from quoting.quotes.watched import watch

    watch(using)
