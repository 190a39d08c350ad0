"""For the tests: an in-memory database unless DATABASE_URL names one, fast passwords."""

import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from reportlab import rl_config

if "TIME_ZONE" not in os.environ:
    # Somewhere it is ten in the morning: what is said of today holds at every hour of the tests.
    # Their processes, the demo's server and the browser take it from here.
    EAST = (10 - datetime.now(UTC).hour + 12) % 24 - 12
    os.environ["TIME_ZONE"] = f"Etc/GMT{-EAST:+d}"  # POSIX: what lies east has a minus

from config.settings.base import *  # noqa: F403
from config.settings.base import database

DEBUG = False
SECRET_KEY = "for-the-tests-only"
ALLOWED_HOSTS = ["*"]
DATABASES = {"default": database("sqlite://:memory:")}
if "sqlite3" in DATABASES["default"]["ENGINE"]:
    # Copied from a database that was migrated once on this machine (tests/conftest.py).
    DATABASES["default"]["TEST"] = {"MIGRATE": False}
    if "memory" not in DATABASES["default"]["NAME"]:
        # A file that threads and processes share, beside the one named, which is left alone.
        DATABASES["default"]["TEST"]["NAME"] = f"{DATABASES['default']['NAME']}.test"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
HOSPITAL_NAME = "Hollin Fell Hospital"
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
BACKGROUND_IN_PROCESS = True
SEAL_EVERY_S = None
SHOW_PARTS = True
# Two workers may ask for the same run, which one of them alone would work on.
RUNS = f"packbench-test-print-runs-{os.environ.get('PYTEST_XDIST_WORKER', 'alone')}"
PRINT_FOLDER = str(Path(tempfile.gettempdir()) / RUNS)
SESSION_RENEWED_AFTER_S = 24 * 60 * 60  # no query more, however long a test takes
ATTEMPTS_FILE = str(Path(tempfile.gettempdir()) / f"packbench-test-attempts-{os.getpid()}.json")
# Rows are made without a record here: what is kept by the last change would be stale.
NOTHING_KEPT = {"BACKEND": "django.core.cache.backends.dummy.DummyCache"}
CACHES = {"default": NOTHING_KEPT, "lists": NOTHING_KEPT}
# Files bear no time: equal papers are equal bytes.
rl_config.invariant = 1
