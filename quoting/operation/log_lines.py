"""Log records as one JSON object a line; the secrets of private links never stand in them."""

import json
import logging
from datetime import UTC, datetime
from typing import Any

from quoting.desk.masking import masked

OWN = frozenset(logging.makeLogRecord({}).__dict__) | {"message", "asctime", "taskName"}


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
