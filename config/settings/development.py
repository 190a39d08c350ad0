"""For trying it and for developing: a key that is no secret, 127.0.0.1 only.

Errors show our own pages, as in a department; ``DEBUG=1`` shows Django's, for developers.
"""

from config.settings.base import *  # noqa: F403
from config.settings.base import env

DEBUG = env.bool("DEBUG", default=False)
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
SHOW_PARTS = True
SECRET_KEY = env("SECRET_KEY", default="for-trying-only-never-for-a-department")
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]
HOSPITAL_NAME = env("HOSPITAL_NAME", default="Hollin Fell Hospital")
