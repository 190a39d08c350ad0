"""What is lent: nothing is decided about it before its IFU is here."""

from __future__ import annotations

from assembly.rules.findings import Finding, Rule

IFU = Rule("IFU of what is lent", "the maker's IFU")


def loaned_findings(ifu_received: bool | None) -> tuple[Finding, ...]:
    """Whether the IFU came with it; nothing is asked of the department's own (None).

    Source: nobody knows how it is taken apart, packed and sterilized but from its maker's IFU.
    """
    if ifu_received is None:
        return ()
    if ifu_received:
        return (IFU.met("It is lent, and its IFU was received."),)
    words = "it is lent, and its IFU was not received: ask whose it is for it."
    return (IFU.cannot_tell(words, "lent.ifu"),)
