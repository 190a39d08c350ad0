"""JSON that is read as it was written, and compressed where that makes it smaller."""

from __future__ import annotations

import json
import zlib
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.db import models

ZLIB = b"x"
"""What zlib's own bytes begin with (RFC 1950, deflate with a window of 32 KB), and JSON never."""
OFTEN = Path(__file__).with_name("often.txt").read_bytes()
"""What stands in many of them, the most frequent last: zlib's preset dictionary (RFC 1950, 2.2).

What is on record is read with it: the file never changes. Another one comes beside it, told
apart by the checksum that zlib keeps of it.
"""


def packed(value: Any) -> bytes:
    """The value as bytes: JSON, or what zlib makes of it where that is shorter.

    >>> packed([]), packed(["x" * 90])[:1], unpacked(packed(["x" * 90])) == ["x" * 90]
    (b'[]', b'x', True)
    """
    plain = _words(value)
    press = zlib.compressobj(9, zdict=OFTEN)
    return min(plain, press.compress(plain) + press.flush(), key=len)


def fingerprint(value: Any) -> int:
    """What tells it from others: of the SHA-256 of its JSON the first eight bytes, with a sign.

    >>> fingerprint([1, 2]) == fingerprint([1, 2]) != fingerprint([2, 1])
    True
    """
    return int.from_bytes(sha256(_words(value)).digest()[:8], signed=True)


def same(one: Any, other: Any) -> bool:
    """Whether they are kept as the same words.

    >>> same({"a": (1,)}, {"a": [1]}), same({"a": 1}, {"a": 1.0})
    (True, False)
    """
    return _words(one) == _words(other)


def _words(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def unpacked(found: bytes) -> Any:
    """What :func:`packed` was given, as plain JSON types."""
    return json.loads(text_of(found))


def text_of(found: bytes) -> str:
    """The JSON of what :func:`packed` made."""
    plain = zlib.decompressobj(zdict=OFTEN).decompress(found) if found[:1] == ZLIB else found
    return plain.decode()


class CompressedJSONField(models.BinaryField):
    """Plain JSON types in the program, bytes in the database, which cannot look into them."""

    _pyi_private_set_type: Any  # what django-stubs takes a value of it for
    _pyi_private_get_type: Any

    def from_db_value(self, value: Any, *_: Any) -> Any:
        return None if value is None else unpacked(bytes(value))

    def as_text(self, kept: bytes) -> str:
        """As it was written, which is JSON: a copy in another database reads the same."""
        return text_of(kept)

    def get_db_prep_value(self, value: Any, connection: Any, prepared: bool = False) -> Any:
        return super().get_db_prep_value(
            None if value is None else packed(value), connection, prepared
        )

    def to_python(self, value: Any) -> Any:
        return unpacked(value.encode()) if isinstance(value, str) else value

    def value_to_string(self, obj: models.Model) -> str:
        return json.dumps(self.value_from_object(obj), ensure_ascii=False)
