"""Faults done to a department's server while people work with it: nothing that was confirmed may be
lost, counted twice or written half.

Run as ``python -m tests.faults``: each fault on a SQLite file and on a PostgreSQL server of its
own, or ``--on`` one of them; ``--only kills`` for one fault; ``--kills`` (50 on each). Power cuts
are not among them: what is killed leaves what it wrote in the machine's memory. Ends with 1 where a
fault did harm. A full disk is a small one that root mounts, and is left out for anybody else.
"""

from __future__ import annotations

import os
import subprocess
import sys
from argparse import ArgumentParser

from tests import databases
from tests.faults.places import HEAD, Place, may_mount, place

FAULTS = ("kills", "full", "readonly", "uploads", "clocks")
IN_PROCESS = ("clocks",)


def do(fault: str, kind: str, kills: int) -> bool:
    """Whether nothing came of it; prints its line of the table, and what was harmed."""
    if fault == "full" and not may_mount():
        print(f"{fault:12} {kind:10} not tried: a small disk is mounted by root alone")
        return True
    with place(kind, small_disk=fault == "full") as here:
        outcome = _with_django(fault, here, kills)
    print(outcome.row(fault, kind), flush=True)
    for one in outcome.breaches[:30]:
        print(f"    {one}", flush=True)
    return not outcome.breaches


def _with_django(fault: str, here: Place, kills: int):
    from tests.served.server import environment

    os.environ |= environment(here.url, here.beside)
    if fault in IN_PROCESS:
        os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
    import django

    django.setup()
    from tests.faults import clocks, disks, killing, uploads

    done = {"kills": killing.kills, "full": disks.full, "readonly": disks.read_only,
            "uploads": uploads.half_uploads, "clocks": clocks.clocks}  # fmt: skip
    return done[fault](here, kills)


def each(faults: list[str], kinds: list[str], kills: int) -> int:
    """Each in a process of its own, as Django knows one database; 1 where one did harm."""
    print(HEAD, flush=True)
    command = [sys.executable, "-m", "tests.faults", "--kills", str(kills)]
    done = [
        subprocess.run([*command, "--only", fault, "--on", kind]).returncode
        for fault in faults
        for kind in kinds
    ]
    return int(any(done))


if __name__ == "__main__":
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--only", choices=FAULTS, help="this fault alone")
    given = databases.asked(parser)
    if given.only and given.on:
        sys.exit(not do(given.only, given.on, given.kills))
    faults = [given.only] if given.only else list(FAULTS)
    sys.exit(each(faults, [given.on] if given.on else list(databases.KINDS), given.kills))
