"""What is missing from a set and what stands in, in the one wording of every page and paper.

What is missing comes first and what is in stands behind it, so that nobody reads the one for
the other; a substitute is never counted as the item.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

MISSING = "MISSING"


def missing_words(
    name: str, *, missing: int, inside: int, wanted: int, substitutes: int = 0
) -> str:
    """What is missing on one line, in pieces; ``inside`` are pieces of the item itself.

    >>> missing_words("Péan", missing=1, inside=0, wanted=1)
    'MISSING 1 Péan (0 of 1 in the set)'
    >>> missing_words("Péan", missing=1, inside=1, wanted=3, substitutes=1)
    'MISSING 1 Péan (1 + 1 substitute of 3 in the set)'
    """
    counted = counted_words(inside, wanted, substitutes, of=True)
    return f"{MISSING} {missing} {name} ({counted} in the set)"


def counted_words(
    inside: int, wanted: int | None, substitutes: int = 0, *, of: bool = False
) -> str:
    """What was counted on a line; of how many where that is less, or ``of`` asks for it.

    >>> counted_words(2, 2), counted_words(0, 1), counted_words(1, 2, 1)
    ('2', '0 of 1', '1 + 1 substitute')
    """
    words = str(inside)
    if substitutes:
        words += f" + {substitutes} substitute{'' if substitutes == 1 else 's'}"
    complete = wanted is not None and inside + substitutes == wanted
    return words if complete and not of else f"{words} of {'?' if wanted is None else wanted}"


def substitute_words(many: int, name: str, instead_of: str) -> str:
    """What stands in for an item, as a label and a page say it.

    >>> substitute_words(1, "Mayo scissors", "Metzenbaum scissors")
    'SUBSTITUTE 1 Mayo scissors for Metzenbaum scissors'
    """
    return f"SUBSTITUTE {many} {name} for {instead_of}"


def without_counts(sentence: str) -> str:
    """What is missing without what is in, for where there is little room.

    >>> without_counts("MISSING 1 Péan (0 of 1 in the set)")
    'MISSING 1 Péan'
    """
    return sentence.rpartition(" (")[0] or sentence


def missing_in_all(sentences: Sequence[str]) -> str:
    """How much is missing altogether; "" where nothing is.

    >>> missing_in_all(["MISSING 1 Péan (0 of 1 in the set)", "MISSING 2 Hook (0 of 2 in the set)"])
    'MISSING 3 pieces on 2 lines'
    """
    if not sentences:
        return ""
    pieces = sum(_pieces(sentences))
    many = "1 piece" if pieces == 1 else f"{pieces} pieces"
    return f"{MISSING} {many} on {len(sentences)} line{'' if len(sentences) == 1 else 's'}"


def _pieces(sentences: Iterable[str]) -> Iterable[int]:
    return (int(words.split()[1]) for words in sentences)
