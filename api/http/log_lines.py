"""The log as lines of JSON, for programs that gather logs."""

from __future__ import annotations

import json
import logging
from datetime import UTC, datetime
from typing import Any, Final

__all__ = ["JsonLines", "log_config"]

#: What a line tells of a request, where it is about one.
OF_A_REQUEST: Final = ("request", "method", "route", "status", "seconds")


class JsonLines(logging.Formatter):
    """Writes a record as one line of JSON; an error with its trace, line breaks escaped."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        said: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.casefold(),
            "of": record.name,
            "says": record.getMessage(),
        }
        said |= {name: getattr(record, name) for name in OF_A_REQUEST if hasattr(record, name)}
        if record.exc_info:
            said["trace"] = self.formatException(record.exc_info)
        return json.dumps(said, ensure_ascii=False)


def log_config() -> dict[str, Any]:
    """Return what makes every log of the process such lines, on the standard error output."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"lines": {"()": JsonLines}},
        "handlers": {"err": {"class": "logging.StreamHandler", "formatter": "lines"}},
        "root": {"handlers": ["err"], "level": "WARNING"},
        "loggers": {"leastwise": {"level": "INFO"}},
    }
