"""How gunicorn serves a deployment: ``gunicorn --config python:fleet.gunicorn fleet.wsgi``."""

import os
import shutil
import sys
import tempfile
from typing import Any

from fleet.log import logging_from

bind = os.environ.get("BIND", "0.0.0.0:8000")  # the container's own network; the host decides who gets in
worker_class = "gthread"
workers = 2
threads = 8
# Nobody steers it from beside; its socket would want a home that can be written.
control_socket_disable = True
# A heartbeat on a disk that is slow to write looks like a worker that hangs.
worker_tmp_dir = "/dev/shm"  # noqa: S108
timeout = 60
# Longer than a proxy keeps an idle connection: whoever closes first must not be us, or a request on its way is lost.
keepalive = 150
graceful_timeout = 25
# Memory that some library keeps is given back now and then, not in all processes at once.
max_requests = 20_000
max_requests_jitter = 2_000
# The line of a request comes from the project, which knows what of an address may be told.
accesslog = None
logconfig_dict: dict[str, Any] = logging_from(os.environ.get("LOG_LEVEL", "INFO"), os.environ.get("LOG_FORM", "json"))
logconfig_dict["loggers"] |= {"gunicorn.error": {"level": "INFO", "handlers": [], "propagate": True}}

# Each process counts for itself in a file of this folder, and whichever is asked adds them up.
_counts = tempfile.mkdtemp(prefix="register-metrics-") if os.environ.get("METRICS_TOKEN") else ""
if _counts:
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = _counts


def post_worker_init(worker: Any) -> None:
    """Let threads take turns, and load the pages before anybody asks for one."""
    # A thread that comes back from the database waits for its turn: a check does so sixty times, five times shorter.
    sys.setswitchinterval(0.001)
    from django.urls import get_resolver

    _ = get_resolver().reverse_dict


def child_exit(server: Any, worker: Any) -> None:
    """Forget what only a living process can say."""
    if _counts:
        from prometheus_client import multiprocess

        multiprocess.mark_process_dead(worker.pid)


def on_exit(server: Any) -> None:
    """Clear the counts away."""
    if _counts:
        shutil.rmtree(_counts, ignore_errors=True)
