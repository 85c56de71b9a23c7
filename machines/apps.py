from django.apps import AppConfig


class MachinesConfig(AppConfig):
    name = "machines"
    verbose_name = "Plants and machines"
