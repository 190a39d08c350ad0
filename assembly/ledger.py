"""How a verb is done once: the key of a press, and what is refused.

Whoever asks for a verb sends a key. The same key again is the same press again: it changes
nothing and is told what the first one did.
"""

SHORTEST_KEY, LONGEST_KEY = 8, 64


class Refused(Exception):  # noqa: N818
    """It is not done, and nothing was changed. Says why and what to do."""


def check_key(key: str) -> None:
    """Refused unless the page sent a key: the same key is the same press again."""
    if not SHORTEST_KEY <= len(key) <= LONGEST_KEY:
        raise Refused("The page did not send its key. Load it again.")
