"""What is sent: what a person might type, and what nobody would."""

from __future__ import annotations

import io
import zipfile
from random import Random

from tests.factories.pictures import picture

LIKELY = (
    "T-1", "TS-1", "TS-2", "TP-1", "ST1", "PS1", "A1", "C-1", "S134", "1", "2", "3", "12.5 cm",
    "6 1/2 in", "140", "14-16 cm", "20 g", "1 lb 2 oz", "because", "yes", "no", "na", "on", "x",
    "2026-11-26", "2026-11-26T10:30", "07:30", "134", "forceps", "forcebs", "L-1", "Main ORs",
    "OR 3", "steam", "pouch:TP-1", "no growth", "inch", "mm", "/bench/", "approve",
)  # fmt: skip
UNLIKELY = (
    "", " ", "0", "-1", "00", "+1", "1.5", "1,5", "1_000", "0x10", "1e309", "-1e309", "1e-400",
    "NaN", "Infinity", "-Infinity", "sNaN", "2147483648", "-2147483649", "9223372036854775807",
    "9223372036854775808", "9" * 400, "0." + "0" * 300 + "1", "²", "½", "٣", "１２", "Ⅷ", "1/0",
    "0/0", "1 1/0 in", "9" * 30 + " cm", "True", "None", "null", "[]", "{}", '{"a": 1}',
    "[1, 2]", "%s", "%(x)s", "{0}", "{figure}", "{{ 7 }}", "'", '"', "';--", "%", "_", "\\", "*",
    "a.b", "__", "pk", "id__gt", "-pk", "?", "#", "/", "//elsewhere.example/",
    "https://elsewhere.example/", "javascript:1", "../../etc/passwd", "<script>1</script>",
    "a\nb", "a\r\nb", "\t", "\x1d", "\x1b", "\x7f", "\0", "a\0b", "\u200b", "\u202e", "\ufeff",
    "\ufffe", "\U0001f600", "e\u0301" * 40, "\ud800", "\udfff", "ﷺ", "İ", "ß", "ŉ", "字", "א",
    "A" * 300, "A" * 9000, "w " * 900, "é" * 1000, "0000-00-00", "0001-01-01", "9999-12-31",
    "9999-12-31T23:59", "2026-02-30", "2026-02-29", "2028-02-29", "2026-13-01",
    "2026-03-29T01:30", "2026-10-25T01:30", "2026-11-26T24:00", "25:00", "24:00", "01:30",
    "2026-00", "2026-99", "0000-01", "9999-12", "10000-01", "2026-1", "2026-W01",
    "]d2010950600013435217991231103A", "]C101095060001343521", "+A123BJC5D6E71",
    "010950600013435", "]d2" + "\x1d" * 20, "PK-000001T", "PK-0000000", "PK-", "pouch:", ":",
    "pouch:TP-1:2", "a:b:c", "instrument", "set", "sterilizer", "lot",
    "00000000-0000-0000-0000-000000000000",
)  # fmt: skip
NAMES = (
    "list.csv",
    "list.xlsx",
    "list.xls",
    "a.jpg",
    "a",
    "",
    "../x.csv",
    "\u202egpj.csv",
    "n" * 250,
)


def value(chance: Random, known: list[str]) -> str:
    """One that nobody would send here; ``known`` is what other fields hold."""
    text = chance.choice((UNLIKELY, UNLIKELY, LIKELY, known or LIKELY))
    found = chance.choice(text)
    return found + chance.choice(UNLIKELY) if chance.random() < 0.05 else found


def file(chance: Random) -> tuple[str, bytes]:
    """A name and bytes: whole, cut short, empty, or of another kind than the name says."""
    data = chance.choice(_FILES)
    if chance.random() < 0.4:
        data = data[: chance.randrange(len(data) + 1)]
    return chance.choice(NAMES) or "x", data


def _zip(**parts: bytes) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as made:
        for name, data in parts.items():
            made.writestr(name.replace("__", "/"), data)
    return packed.getvalue()


_FILES = (
    b"Item #,Name,Length (mm)\nT-1,Probe,140\nN-9,New probe,14-16 cm\nN-9,Again,\n",
    "Item #;Name\nT-1;tępe\n".encode("cp1250"),
    "Set no.,Set name,Quantity,Item #,Name\nTS-1,A set,2,T-1,\nTS-1,A set,x,,\n".encode("utf-16"),
    b"\xff\xfe\x00", b"\0" * 2000, b"", b"\n" * 500, b"a,b,c\n" * 50, b'"' * 999, b"%PDF-1.7\n",
    b"Item #\n" + b"9" * 40_000, picture(), picture()[:60] + b"\0" * 60,
    _zip(), _zip(a=b"0" * 100_000), _zip(xl__workbook_xml=b"<a/>"), b"PK\x03\x04" + b"\0" * 40,
    b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600,
    b"<?xml version='1.0'?><!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>",
)  # fmt: skip
