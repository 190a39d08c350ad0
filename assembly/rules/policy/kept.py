"""What a rule works out of facts and a policy is worked out once, while both stand."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

Given = ParamSpec("Given")
Found = TypeVar("Found")

MOST = 2000
"""How many answers of one rule a policy keeps, a kilobyte or two each, before it begins anew."""


def kept(rule: Callable[Given, Found]) -> Callable[Given, Found]:
    """``rule``, asked only once of the same objects; a :class:`Policy` is its last argument.

    Facts are frozen, so the same object gives the same answer. What was given is kept with the
    answer, so that no other object can come in its place; a list may change, and its answer is not
    kept. All of it goes with its policy.
    """

    @wraps(rule)
    def asked(*given: Given.args, **named: Given.kwargs) -> Found:
        if named:
            return rule(*given, **named)
        policy: Any = given[-1]
        answers = policy.answers.get(rule)
        if answers is None:
            answers = policy.answers.setdefault(rule, {})
        key = tuple(map(id, given))
        known = answers.get(key)
        if known is not None:
            found: Found = known[0]
            return found
        found = rule(*given, **named)
        if not any(isinstance(one, list) for one in given):
            if len(answers) >= MOST:
                answers.clear()
            answers[key] = (found, given[:-1])
        return found

    return asked
