from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "quoting.desk"
    verbose_name = "Desk"
