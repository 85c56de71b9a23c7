from django.apps import AppConfig


class MaterialsConfig(AppConfig):
    name = "materials"
    verbose_name = "Polymers and sheet"
