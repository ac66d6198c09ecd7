"""Log lines as JSON on standard error, each with the number of the request it belongs to."""

from __future__ import annotations

import logging
import re
import sys
import time
from collections.abc import Callable, Iterable
from secrets import token_hex
from typing import Any

import structlog

# The part of a path that only its receiver may know, such as the end of a mailed link.
SECRET_PART = re.compile(r"[^/]{40,}")


def configure(level: int = logging.INFO) -> None:
    """Send our own lines and those of every library the same way."""
    shared: list[Any] = [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.processors.format_exc_info,
    ]
    structlog.configure(
        processors=[*shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
    )
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared,
            processors=[
                structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                structlog.processors.JSONRenderer(ensure_ascii=False),
            ],
        )
    )
    root = logging.getLogger()
    root.handlers = [handler]
    root.setLevel(level)


class RequestNumbers:
    """WSGI middleware: numbers each request, tells the number in a header, and writes one line when it is answered."""

    def __init__(self, app: Callable[..., Iterable[bytes]]) -> None:
        self.app = app
        self.log = structlog.get_logger("portal.requests")

    def __call__(self, environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        number = token_hex(8)
        structlog.contextvars.clear_contextvars()
        structlog.contextvars.bind_contextvars(request=number)
        begun = time.perf_counter()

        def start(status: str, headers: list[tuple[str, str]], exc_info: Any = None) -> Any:
            # The query is left out: it may hold what somebody searched for.
            self.log.info(
                "answered",
                method=environ.get("REQUEST_METHOD"),
                path=SECRET_PART.sub("…", environ.get("PATH_INFO", "")),
                status=int(status.split(" ", 1)[0]),
                ms=round((time.perf_counter() - begun) * 1000, 1),
            )
            return start_response(status, [*headers, ("X-Request-Id", number)], exc_info)

        return self.app(environ, start)
