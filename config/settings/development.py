"""For trying it and for developing: debug pages, a key that is no secret, 127.0.0.1 only."""

from config.settings.base import *  # noqa: F403
from config.settings.base import env

DEBUG = env.bool("DEBUG", default=True)
SECRET_KEY = env("SECRET_KEY", default="for-trying-only-never-for-a-department")
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]
HOSPITAL_NAME = env("HOSPITAL_NAME", default="Hollin Fell Hospital")
