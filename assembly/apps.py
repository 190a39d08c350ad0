from django.apps import AppConfig


class AssemblyConfig(AppConfig):
    name = "assembly"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from assembly.packages import search

        search.offer()
