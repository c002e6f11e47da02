"""The application's own processes: web, worker, beat, and the preparation before them."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

from shopcool.standalone.children import Program
from shopcool.standalone.folder import DataFolder

PYTHON = sys.executable
WORKER_PROCESSES = 2


def web(folder: DataFolder, environment: Mapping[str, str], listening_fd: int) -> Program:
    """Return the web server, answering on a socket that is open already.

    The supervisor keeps the socket, so a restart of the web server refuses nobody: the tablets wait a moment.
    """
    return Program(
        name="Web server",
        command=(
            PYTHON,
            "-m",
            "gunicorn",
            "shopcool.wsgi",
            "--config",
            "python:shopcool.standalone.web_server",
        ),
        log=folder.logs / "web.log",
        environment={**environment, "SHOPCOOL_LISTEN": f"fd://{listening_fd}"},
        grace_s=15.0,
        pass_fds=(listening_fd,),
    )


def worker(folder: DataFolder, environment: Mapping[str, str]) -> Program:
    """Return the worker that makes reports; asked to end, it finishes the one at hand."""
    quick_start = ("--without-gossip", "--without-mingle")
    return Program(
        name="Worker",
        command=(
            *(PYTHON, "-m", "celery", "-A", "shopcool", "worker", "--loglevel", "INFO"),
            *("--concurrency", str(WORKER_PROCESSES), *quick_start),
        ),
        log=folder.logs / "worker.log",
        environment=environment,
        grace_s=20.0,
    )


def beat(folder: DataFolder, environment: Mapping[str, str]) -> Program:
    """Return the clock of the periodic tasks."""
    return Program(
        name="Beat",
        # Its own process file would outlive a crash; the data folder is claimed already.
        command=(PYTHON, "-m", "celery", "-A", "shopcool", "beat", "--loglevel", "INFO", "--pidfile="),
        log=folder.logs / "beat.log",
        environment=environment,
    )


def preparation(folder: DataFolder, environment: Mapping[str, str], sign_ins: Path) -> Program:
    """Return the program that brings tables, static files and demo data up to date.

    It writes its log like the others and shows its progress on this terminal.
    """
    progress_fd = os.dup(sys.stdout.fileno())
    return Program(
        name="The preparation",
        command=(PYTHON, "-m", "shopcool.standalone.prepare", str(sign_ins)),
        log=folder.logs / "prepare.log",
        environment={**environment, "SHOPCOOL_PROGRESS_FD": str(progress_fd)},
        pass_fds=(progress_fd,),
    )


def application_environment(
    folder: DataFolder, addresses: Mapping[str, str], allowed_hosts: str
) -> dict[str, str]:
    """Return the environment of the application's processes: a person's own variables win."""
    return {
        "SHOPCOOL_SECRET_KEY": folder.secret_key(),
        "SHOPCOOL_ALLOWED_HOSTS": allowed_hosts,
        **{key: value for key, value in os.environ.items() if value or not key.startswith("SHOPCOOL_")},
        **addresses,
        "SHOPCOOL_DATA": str(folder.path),
        "DJANGO_SETTINGS_MODULE": "shopcool.settings",
        "PYTHONUNBUFFERED": "1",
    }
