"""For the tests: an in-memory database unless DATABASE_URL names one, fast passwords."""

import tempfile
from pathlib import Path

from config.settings.base import *  # noqa: F403
from config.settings.base import database

DEBUG = False
SECRET_KEY = "for-the-tests-only"
ALLOWED_HOSTS = ["*"]
DATABASES = {"default": database("sqlite://:memory:")}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
HOSPITAL_NAME = "Hollin Fell Hospital"
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
SPREADSHEET_JOBS_IN_PROCESS = True
PRINT_FOLDER = str(Path(tempfile.gettempdir()) / "packbench-test-print-runs")
