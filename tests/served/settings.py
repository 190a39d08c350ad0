"""A department's settings, on a machine without a proxy, with a bare page to measure beside.

``MORE_PRAGMAS`` is what SQLite is told beside our own: a full disk, or one that is only read.
"""

from config.settings.production import *  # noqa: F403
from config.settings.production import DATABASES, STORAGES, env

ROOT_URLCONF = "tests.served.urls"
SHOW_PARTS = False
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
if more := env("MORE_PRAGMAS", default=""):
    DATABASES["default"]["OPTIONS"]["init_command"] += more
