"""What is lent is decided about only once its IFU is here."""

from __future__ import annotations

from assembly.rules.findings import Status
from assembly.rules.limits.loaned import loaned_findings


def test_nothing_is_asked_of_the_departments_own() -> None:
    assert loaned_findings(None) == ()


def test_with_its_ifu_it_is_met() -> None:
    [finding] = loaned_findings(True)
    assert finding.status is Status.MET


def test_without_it_nobody_can_tell() -> None:
    [finding] = loaned_findings(False)
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, ("lent.ifu",))
