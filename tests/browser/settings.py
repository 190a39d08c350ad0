"""The demo as a person starts it, but for passwords that are quick to check: each test signs in."""

from config.settings.development import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
