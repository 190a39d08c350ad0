#!/usr/bin/env python
"""Django's command line for Packbench."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.development")
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except BrokenPipeError:  # Who reads it, "head" say, has had enough.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(141)


if __name__ == "__main__":
    main()
