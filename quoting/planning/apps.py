from django.apps import AppConfig


class PlanningConfig(AppConfig):
    name = "quoting.planning"
    verbose_name = "Plant loading"
