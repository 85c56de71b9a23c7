from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "quoting.quotes"
    verbose_name = "Inquiries and quotes"
