"""The rows of ``factories.hospital`` in the demo that a browser visits."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from tests.browser.site import ROOT, environment

SCRIPT = """
import json
from tests.factories.hospital import a_hospital
print(json.dumps(a_hospital()))
"""


def add_hospital(folder: Path) -> dict[str, str]:
    """Adds the rows to the demo in ``folder``; what each part of an address stands for."""
    run = subprocess.run(
        [sys.executable, "manage.py", "shell", "-v", "0", "-c", SCRIPT],
        cwd=ROOT, env=environment(folder), check=True, stdout=subprocess.PIPE,
    )  # fmt: skip
    found: dict[str, str] = json.loads(run.stdout)
    return found
