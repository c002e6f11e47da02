"""Bring an application's tables, static files and demo data up to date, in one process.

``python -m shopcool.standalone.prepare FILE`` writes the demo's sign-ins into the file.
"""

from __future__ import annotations

import hashlib
import io
import os
import sys
from pathlib import Path

import django
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

NO_WORDS = ("0", "no", "false")


def main(sign_ins: Path) -> None:
    """Prepare the application that the environment describes."""
    django.setup()
    migrate()
    collect_static()
    load_demo()
    write_sign_ins(sign_ins)


def migrate() -> None:
    """Apply the migrations that are missing."""
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if plan:
        progress(f"Applying {len(plan)} migrations")
        call_command("migrate", interactive=False, verbosity=1)


def collect_static() -> None:
    """Collect the static files again when one of them, or an installed package, changed."""
    if settings.WHITENOISE_USE_FINDERS:
        return
    stamp = Path(settings.STATIC_ROOT) / ".collected"
    now = static_digest()
    if stamp.exists() and stamp.read_text() == now:
        return
    progress("Collecting static files")
    call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    stamp.write_text(now)


def static_digest() -> str:
    """Return a digest over the project's static files and the lock, which stands for the packages' files."""
    found = hashlib.sha256((settings.BASE_DIR / "requirements.lock").read_bytes())
    for folder in settings.STATICFILES_DIRS:
        for path in sorted(Path(folder).rglob("*")):
            if path.is_file():
                found.update(f"{path.relative_to(folder)}\0".encode() + path.read_bytes())
    return found.hexdigest()


def load_demo() -> None:
    """Load the demo workshop into an empty database, unless SHOPCOOL_DEMO says no."""
    from django.contrib.auth import get_user_model

    if os.environ.get("SHOPCOOL_DEMO", "").strip().lower() in NO_WORDS:
        return
    if not get_user_model().objects.exists():
        progress("Loading the demo workshop")
        call_command("demo_load")


def write_sign_ins(place: Path) -> None:
    """Write what ``demo_sign_ins`` prints, for the line that says the shop is ready."""
    shown = io.StringIO()
    call_command("demo_sign_ins", stdout=shown)
    place.write_text(shown.getvalue())


def progress(line: str) -> None:
    """Show a line to the person who started the shop; everything else goes into the log."""
    descriptor = int(os.environ.get("SHOPCOOL_PROGRESS_FD", "1"))
    os.write(descriptor, f"{line}\n".encode())


if __name__ == "__main__":
    main(Path(sys.argv[1]))
