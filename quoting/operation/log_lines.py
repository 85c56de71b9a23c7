"""Log records as one JSON object a line; the secrets of private links never stand in them."""

import json
import logging
import re
from datetime import UTC, datetime
from typing import Any

# The secret in a private link's address, and whatever looks like it elsewhere: 43 characters of URL-safe base64.
SECRET = re.compile(r"(/q/)[^/?#\s\"']{20,}|(?<![\w/-])[A-Za-z0-9_-]{43}(?![\w-])")
OWN = frozenset(logging.makeLogRecord({}).__dict__) | {"message", "asctime", "taskName"}


def masked(text: str) -> str:
    """The text without secrets of private links.

    >>> masked("/q/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA/?x=1")
    '/q/***/?x=1'
    >>> masked("/q/Q-2026-0001/1/")
    '/q/Q-2026-0001/1/'
    """
    return SECRET.sub(lambda found: f"{found.group(1) or ''}***", text)


class JsonLines(logging.Formatter):
    """Time (UTC), level, logger and message, then whatever the record carries under ``extra``."""

    def format(self, record: logging.LogRecord) -> str:
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line: dict[str, Any] = {"time": at, "level": record.levelname.lower(), "logger": record.name}
        line["message"] = masked(record.getMessage())
        line |= {name: _plain(value) for name, value in record.__dict__.items() if name not in OWN}
        if hasattr(getattr(record, "request", None), "request_id"):
            line["request_id"] = record.request.request_id
        if record.exc_info:
            line["traceback"] = masked(self.formatException(record.exc_info))
        return json.dumps(line, ensure_ascii=True)  # line breaks and control characters leave as escapes


def _plain(value: object) -> object:
    return value if isinstance(value, int | float | bool | None) else masked(str(value))


class PlainLines(logging.Formatter):
    """For a person at a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        return masked(super().format(record))
