from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "reports"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """The lists of this app stand on the page of lists; a package is tried on its label."""
        from reports.gathering import lists_from_catalog, lists_from_records  # noqa: F401, I001
        from reports.gathering import complaints  # noqa: F401
        from reports.gathering.skills import recording  # noqa: F401
        from reports.pages import before_recording  # noqa: F401
