from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "quoting.desk"
    verbose_name = "Desk"

    def ready(self) -> None:
        from quoting.desk import masking, second_factor_roles, sessions  # noqa: F401  sessions listens for log-ins

        masking.mask_all_logs()
        second_factor_roles.refuse_unknown()
