"""Libraries whose own names for their tables say nothing to a person; the admin shows these instead."""

from axes.apps import AppConfig as AxesConfig
from django.contrib.auth.apps import AuthConfig
from django_tasks_db.apps import TasksAppConfig


class People(AuthConfig):
    verbose_name = "People"


class RefusedLogIns(AxesConfig):
    verbose_name = "Refused log-ins"


class BackgroundWork(TasksAppConfig):
    verbose_name = "Work in the background"
