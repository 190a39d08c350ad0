"""Settings shared by every way of running Packbench.

Read from the environment (see README, "Running it for a department"):
``DATABASE_URL``, ``SECRET_KEY``, ``ALLOWED_HOSTS``, ``CSRF_TRUSTED_ORIGINS``, ``TIME_ZONE``,
``SCANNER_SEPARATOR``.
"""

import importlib.util
from pathlib import Path

import environ
from csp.constants import NONE, SELF

BASE_DIR = Path(__file__).resolve().parent.parent.parent
VAR_DIR = BASE_DIR / "var"
DEMO_DATABASE = VAR_DIR / "packbench.sqlite3"

env = environ.Env()

INSTALLED_APPS = [
    "config.apps.ConfigConfig",
    "reports.apps.ReportsConfig",
    "assembly.apps.AssemblyConfig",
    "catalog.apps.CatalogConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "csp",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_filters",
    "django_htmx",
    "django_tables2",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.middleware.SmallPages",
    "csp.middleware.CSPMiddleware",
    "config.middleware.NothingKept",
    "config.middleware.NoNul",
    "config.sessions.RenewedByUse",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "config.middleware.SignInWholePage",
    "config.middleware.SaidWhyNot",
    "config.middleware.NotTooManyWords",
    "config.middleware.OneDepartment",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "frame-src": [SELF, "blob:"],  # print.js frames the paper that it prints
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "config" / "templates"],
        "OPTIONS": {
            "loaders": [
                (
                    "django.template.loaders.cached.Loader",
                    ["config.isolating.Shell", "config.isolating.Apps"],
                )
            ],
            "builtins": ["catalog.templatetags.parts"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.navigation.shell",
            ],
        },
    },
]

SQLITE_OPTIONS = {
    # A write waits for its turn instead of failing half-way, and a signed record
    # survives a power cut.
    "transaction_mode": "IMMEDIATE",
    "timeout": 10,
    "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;PRAGMA foreign_keys=ON;",
}


def database(default: str) -> dict:
    """The database that ``DATABASE_URL`` names, with our SQLite options where it is one."""
    settings = env.db_url("DATABASE_URL", default=default)
    if settings["NAME"] == str(DEMO_DATABASE):
        VAR_DIR.mkdir(exist_ok=True)
    if settings["ENGINE"].endswith("sqlite3"):
        settings.setdefault("OPTIONS", {}).update(SQLITE_OPTIONS)
    return settings


DATABASES = {"default": database(f"sqlite:///{DEMO_DATABASE}")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign_in"
SESSION_RENEWED_AFTER_S = 30  # how long it ends unused says the policy (config.sessions)

LANGUAGE_CODE = "en"
TIME_ZONE = env("TIME_ZONE", default="UTC")
USE_I18N = True
FORMAT_MODULE_PATH = "config.formats"
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = BASE_DIR / "staticfiles"
_FONT_PACKAGE = importlib.util.find_spec("font_source_sans_pro")
STATICFILES_DIRS: list[Path | tuple[str, Path]] = [BASE_DIR / "config" / "static"]
if _FONT_PACKAGE and _FONT_PACKAGE.submodule_search_locations:
    STATICFILES_DIRS.append(("fonts", Path(_FONT_PACKAGE.submodule_search_locations[0]) / "files"))

MEDIA_ROOT = Path(env("MEDIA_ROOT", default=str(VAR_DIR / "media")))
MEDIA_URL = ""  # Nothing under it is served but by our own pages.

DJANGO_TABLES2_TEMPLATE = "table.html"
HOSPITAL_NAME = env("HOSPITAL_NAME", default="")
# Whether /parts/ shows every part that pages are made of: for developing.
SHOW_PARTS = False
# What the department's scanners type for the separator inside GS1 codes; none: GS itself.
SCANNER_SEPARATOR: str | None = env("SCANNER_SEPARATOR", default="") or None
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

# Seconds from one seal of what is on record to the next; None: by commands alone.
SEAL_EVERY_S: int | None = env.int("SEAL_EVERY_S", default=60)

# Long work (spreadsheets, print runs) has a process of its own; the tests do it in theirs.
BACKGROUND_IN_PROCESS = False
PRINT_FOLDER = env("PRINT_FOLDER", default=str(VAR_DIR / "print-runs"))
# What one process found is there for all of them.
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"},
    "lists": {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": f"{PRINT_FOLDER}/lists",
    },
}
# How often passwords were tried here: one file for all processes of this machine.
ATTEMPTS_FILE = env("ATTEMPTS_FILE", default=str(VAR_DIR / "attempts.json"))
# Whether a proxy in front says where a request came from (X-Forwarded-For).
BEHIND_PROXY = False
# Where and when the last backup was made, for manage.py doctor.
LAST_BACKUP = Path(env("LAST_BACKUP", default=str(VAR_DIR / "last-backup.json")))
