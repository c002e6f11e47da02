"""Settings of gunicorn, on one machine and in a container."""

from __future__ import annotations

import os
import threading
from typing import Any

bind = os.environ.get("SHOPCOOL_LISTEN", "0.0.0.0:8000")
workers = int(os.environ.get("SHOPCOOL_WEB_WORKERS", "2"))
worker_class = "gthread"
threads = 4
# Loaded once and shared by the workers: half the memory, half the start.
preload_app = True
timeout = 60
graceful_timeout = 10
keepalive = 5
control_socket_disable = True
errorlog = "-"

WARM_UP_AFTER_S = 5.0


def post_worker_init(worker: Any) -> None:
    """Load the property library beside the first pages, which do not need it."""
    # Imported here: this file is read before the application.
    from shopcool.engineering.properties import warm_up

    timer = threading.Timer(WARM_UP_AFTER_S, warm_up)
    timer.daemon = True
    timer.start()
