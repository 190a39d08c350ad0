from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "config"
    default_auto_field = "django.db.models.BigAutoField"
