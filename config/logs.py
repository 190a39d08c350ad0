"""What goes wrong, one line of JSON each, without anybody's name and without what was typed."""

from __future__ import annotations

import json
import logging
import traceback
from datetime import UTC, datetime
from typing import Any


class JsonLines(logging.Formatter):
    """A record as one line: ``time`` (UTC), ``level``, ``logger``, ``event``; of a request its
    ``method``, ``route`` and ``status``; of an error its ``error`` (class) and ``at`` (places).

    Left out, because each can hold a name or what was typed: the amounts in the event, the
    address beyond its route, the words of the error, the account.
    """

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "event": str(record.msg),
        }
        request = getattr(record, "request", None)
        if request is not None:
            match = getattr(request, "resolver_match", None)
            line |= {"method": request.method, "route": match.route if match else ""}
            line |= {"status": getattr(record, "status_code", None)}
        if record.exc_info and record.exc_info[0]:
            line["error"] = record.exc_info[0].__qualname__
            frames = traceback.extract_tb(record.exc_info[2])
            line["at"] = [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames]
        return json.dumps(line)
