"""Each request gets an id, a line in the log, and its place in the metrics. Nothing of it is what somebody typed."""

import logging
import time
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

from django.conf import settings
from django.db import connection
from django.http import HttpRequest, HttpResponse

from fleet.log import request_id, sane_or_new
from fleet.web.metrics import count_request

logger = logging.getLogger("fleet.requests")
queries = logging.getLogger("fleet.slow_queries")


class WatchMiddleware:
    """First of all, so that it sees every answer, static files included."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, with the id in the header X-Request-ID."""
        began = time.perf_counter()
        token = request_id.set(sane_or_new(request.headers.get("X-Request-ID", "")))
        try:
            with ExitStack() as stack:
                if settings.DEBUG:
                    stack.enter_context(connection.execute_wrapper(log_if_slow))
                answer = self.get_response(request)
            answer["X-Request-ID"] = request_id.get()
            tell(request, answer.status_code, time.perf_counter() - began)
        finally:
            request_id.reset(token)
        return answer


def tell(request: HttpRequest, status: int, seconds: float) -> None:
    """Log and count one answer under the pattern of its address: the address itself may carry a secret or a name."""
    match = request.resolver_match
    static = request.path_info.startswith(f"/{settings.STATIC_URL.lstrip('/')}")
    route = f"/{match.route}" if match else "static" if static else "unknown"
    count_request(request.method or "", route, status, seconds)
    quiet = static or route.startswith("/healthz") or route == "/metrics"
    level = logging.ERROR if status >= 500 else logging.DEBUG if quiet else logging.INFO
    ms = round(1000 * seconds)
    facts = {"method": request.method, "route": route, "status": status, "ms": ms}
    logger.log(level, "%s %s %s in %s ms", request.method, route, status, ms, extra=facts)


def log_if_slow(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
    """Run a query, and log it when it took longer than SLOW_QUERY_MS; its values stay out."""
    began = time.perf_counter()
    try:
        return execute(sql, params, many, context)
    finally:
        ms = round(1000 * (time.perf_counter() - began))
        if ms >= settings.SLOW_QUERY_MS:
            queries.warning("A query took %s ms: %s", ms, sql[:2000], extra={"ms": ms, "sql": sql[:2000]})
