"""Who is at the bench: the signed-in person, and a second one who signs beside them."""

from __future__ import annotations

import logging
from dataclasses import dataclass, field, replace
from typing import Any
from urllib.parse import unquote

from django.contrib.auth import authenticate
from django.http import HttpRequest

from catalog.actions import Actor

LOG = logging.getLogger("packbench.passwords")
ASSEMBLE, OVERRIDE = "assembly.assemble", "assembly.override_decision"
RUN_LOAD, RELEASE_LOAD = "assembly.run_load", "assembly.release_load"
TEST, SIGN_OFF = "assembly.record_equipment_test", "assembly.sign_off_equipment_test"
ASK, WORK = "assembly.ask_request", "assembly.work_request"
CHANGE_INSTRUMENT, ADD_SUPPLIES = "catalog.change_instrument", "catalog.add_pouch"
KEEP_SHELF, SET_LEVELS = "assembly.keep_shelf", "assembly.set_stock_level"
"""What the verbs of these rooms ask for; ``config.roles`` says who has it."""


WORKSTATION, LONGEST_WORKSTATION = "workstation", 40
STOCK = "stock"
"""What a workstation's browser keeps, by the names of its cookies."""


@dataclass(frozen=True, slots=True)
class Person:
    """An account with the name that goes on record, and what it may do.

    ``workstation`` is where they work, by the name that its browser keeps; ``stock`` is what its
    labels are printed on. Each is blank where it keeps none. ``asked``: name and password were
    typed for this press.
    """

    pk: int
    name: str
    permissions: frozenset[str] = field(default=frozenset(), compare=False, repr=False)
    workstation: str = field(default="", compare=False)
    stock: str = field(default="", compare=False)
    asked: bool = field(default=False, compare=False)

    def actor(self, reason: str = "") -> Actor:
        """This person as the history names them."""
        return Actor(self.name, reason=reason, account=self.pk)

    @property
    def by(self) -> dict[str, Any]:
        """Who did it, as an entry keeps it: the name, and the number of the account."""
        return {"by": self.name, "account": self.pk}


class Unknown(Exception):  # noqa: N818
    """Name and password do not belong together, or the person may not do it."""


def person_of(user: Any, workstation: str = "", stock: str = "") -> Person:
    """The account as a person, with its permissions as they are now."""
    permissions = frozenset(user.get_all_permissions())
    return Person(user.pk, name_of(user), permissions, workstation, stock)


def name_of(user: Any) -> str:
    """The name that goes on record: the full name, else the account's name."""
    return str(user.get_full_name() or user.get_username())


def person_at(request: HttpRequest) -> Person:
    """Whoever is signed in, at this workstation."""
    return person_of(request.user, workstation_at(request), request.COOKIES.get(STOCK, ""))


def workstation_at(request: HttpRequest) -> str:
    """The name that this browser keeps for its workstation; blank where it has none."""
    return unquote(request.COOKIES.get(WORKSTATION, ""))[:LONGEST_WORKSTATION].strip()


def authenticated(request: HttpRequest, name: str, password: str) -> Any:
    """The account of this name and password, or None; the one place where passwords are tried.

    Unknown after a few wrong ones for this name at this workstation, for a short time: other names
    are tried there, and this name elsewhere.
    """
    from catalog import throttle  # its library: no command waits for it

    tries = throttle.Tries(throttle.PASSWORDS, name.casefold(), throttle.machine_of(request))
    try:
        tries.check()
    except throttle.TooOften as problem:
        LOG.warning("Too many wrong passwords for one name", extra={"request": request})
        words = f"Too many wrong passwords for this name here. {problem}, then try again."
        raise Unknown(words) from problem
    user = authenticate(request, username=name, password=password)
    if user is None:
        tries.count()
    else:
        tries.forget()
    return user


def second_person(request: HttpRequest, name: str, password: str, permission: str) -> Person:
    """Somebody who signs on this page with their own name and password.

    Unknown says what is wrong; it does not tell whether the name or the password is.
    """
    try:
        user = authenticated(request, name.strip(), password)
    except Unknown as problem:
        raise Unknown(f"{problem} Nothing was recorded.") from problem
    if user is None:
        raise Unknown("That name and password do not belong together. Nothing was recorded.")
    if not user.has_perm(permission):
        raise Unknown(f"{person_of(user).name} may not do this. Ask a coordinator.")
    return replace(person_of(user), asked=True)


def person_signing(request: HttpRequest, permission: str) -> Person:
    """Whoever is signed in, ``asked`` again where name and password were typed with the press.

    Unknown where they do not belong together, or are somebody else's.
    """
    person, sent = person_at(request), request.POST
    if not sent.get("again_name"):
        return person
    typed = second_person(request, sent["again_name"], sent.get("again_password", ""), permission)
    if typed != person:
        raise Unknown(f"{person.name} is signed in here, and signs. Nothing was recorded.")
    return replace(person, asked=True)
