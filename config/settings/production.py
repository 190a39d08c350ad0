"""For a department. Refuses to start without SECRET_KEY, DATABASE_URL and ALLOWED_HOSTS."""

from config.settings.base import *  # noqa: F403
from config.settings.base import SQLITE_OPTIONS, env

DEBUG = False
SECRET_KEY = env("SECRET_KEY")
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS")
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])

_database = env.db_url("DATABASE_URL")
if _database["ENGINE"].endswith("sqlite3"):
    _database.setdefault("OPTIONS", {}).update(SQLITE_OPTIONS)
DATABASES = {"default": _database}

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
SESSION_COOKIE_NAME = "__Host-session"
CSRF_COOKIE_NAME = "__Host-csrf"
SECURE_SSL_REDIRECT = env.bool("SECURE_SSL_REDIRECT", default=True)
SECURE_REDIRECT_EXEMPT = [r"^(healthy|ready)/$"]  # Asked by machines, beside the proxy.
BEHIND_PROXY = env.bool("BEHIND_PROXY", default=True)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60
SECURE_HSTS_INCLUDE_SUBDOMAINS = env.bool("SECURE_HSTS_INCLUDE_SUBDOMAINS", default=False)
SECURE_HSTS_PRELOAD = env.bool("SECURE_HSTS_PRELOAD", default=False)

# A hospital's own name has other services beside this one: asked for, never by default.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"lines": {"()": "config.logs.JsonLines"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "lines"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "WARNING"},
        # The server's own: what fails while a file is sent reaches no handler of Django.
        "gunicorn.error": {"handlers": ["console"], "level": "WARNING", "propagate": False},
    },
}

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
