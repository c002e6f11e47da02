"""Commands on the data of ``make run``, whether it runs at the moment or not."""

from __future__ import annotations

import subprocess
import sys
import tarfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from shopcool.standalone.archive import DUMP, FILES, pack, unpack
from shopcool.standalone.errors import CannotStart
from shopcool.standalone.folder import DataFolder, data_folder
from shopcool.standalone.foreground import run_in_foreground
from shopcool.standalone.postgresql import binaries
from shopcool.standalone.programs import application_environment
from shopcool.standalone.services import Addresses, services_of
from shopcool.standalone.supervisor import Supervisor
from shopcool.standalone.terminal import say


def manage(arguments: list[str]) -> int:
    """Run a management command and return its exit status."""
    folder = data_folder()
    with reachable_services(folder) as addresses:
        hosts = "localhost,127.0.0.1,[::1]"
        environment = application_environment(folder, addresses.environment(), hosts)
        return run_in_foreground([sys.executable, "manage.py", *arguments], environment)


def backup(arguments: list[str]) -> int:
    """Write database and attached files into one file of the data folder and say which."""
    folder = data_folder()
    folder.backups.mkdir(parents=True, exist_ok=True, mode=0o700)
    place = folder.backups / f"shopcool-{time.strftime('%Y%m%d-%H%M%S')}.tar"
    with (
        reachable_services(folder) as addresses,
        TemporaryDirectory(dir=folder.path, prefix="backup-") as work,
    ):
        dump = Path(work) / DUMP
        command = [str(binaries() / "pg_dump"), "--format=custom", "--no-owner", "--file", str(dump)]
        subprocess.run([*command, addresses.database_url], check=True)
        pack(place, dump=dump, files=folder.files)
    say(f"Database and files are in {place}")
    return 0


def restore(arguments: list[str]) -> int:
    """Replace database and attached files by what the named backup holds; a bare dump has no files.

    Raises:
        CannotStart: the shop is running, there is no such file, or it is no backup.
    """
    if len(arguments) != 1:
        raise CannotStart('Name one backup: make restore ARGS=".data/backups/…"')
    folder, place = data_folder(), Path(arguments[0])
    if folder.is_in_use():
        raise CannotStart("Stop Shopcool before its database is replaced.")
    if not place.is_file():
        raise CannotStart(f"There is no backup {place}.")
    with (
        reachable_services(folder) as addresses,
        TemporaryDirectory(dir=folder.path, prefix="restore-") as work,
    ):
        if tarfile.is_tarfile(place):
            unpack(place, Path(work))
            _replace_database(addresses, Path(work) / DUMP)
            _replace_files(folder.files, Path(work))
        else:
            _replace_database(addresses, place)
    say(f"Everything is again as in {place}")
    return 0


def _replace_database(addresses: Addresses, dump: Path) -> None:
    replace = ["--clean", "--if-exists", "--no-owner", "--exit-on-error", "--single-transaction"]
    command = [str(binaries() / "pg_restore"), *replace, "--dbname", addresses.database_url]
    subprocess.run([*command, str(dump)], check=True)


def _replace_files(files: Path, work: Path) -> None:
    """Put the unpacked files in the place of the present ones, which go with the working folder."""
    if files.exists():
        files.rename(work / "replaced")
    (work / FILES).rename(files)


@contextmanager
def reachable_services(folder: DataFolder) -> Iterator[Addresses]:
    """Give the addresses of the shop's servers; start them for the block when the shop is not running."""
    services = services_of(folder)
    if folder.is_in_use():
        yield services.addresses()
        return
    supervisor = Supervisor()
    supervisor.listen()
    with folder.claim():
        try:
            yield services.start(supervisor)
        finally:
            supervisor.stop()
