"""The account the database server runs under: PostgreSQL refuses to run as root."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import stat
import subprocess
from dataclasses import dataclass
from pathlib import Path

from shopcool.standalone.errors import CannotStart

ACCOUNT_NAME = "shopcool"
CAP_DAC_OVERRIDE = "dac_override"


@dataclass(frozen=True)
class Account:
    """A system account; ``uid`` is None for the account that runs this program."""

    name: str = ""
    uid: int | None = None
    gid: int | None = None

    def own(self, folder: Path) -> None:
        """Make the folder, private, and hand it to this account."""
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if self.uid is not None and self.gid is not None:
            os.chown(folder, self.uid, self.gid)

    def command(self, *command: str, needs: tuple[Path, ...] = ()) -> tuple[str, ...]:
        """Return the command so that it runs under this account and may reach the paths it needs.

        A folder such as root's home lets no other account through. The process then keeps the one
        capability that passes it, which leaves the folder's permissions as the owner set them.
        """
        if self.uid is None:
            return command
        passing: tuple[str, ...] = ()
        if not all(self._reaches(path) for path in needs):
            passing = (f"--inh-caps=+{CAP_DAC_OVERRIDE}", f"--ambient-caps=+{CAP_DAC_OVERRIDE}")
        # A change of account clears the signal sent at the parent's death, so it is set again after it.
        dying = f"--pdeathsig={signal.SIGINT.name.removeprefix('SIG')}"
        account = (f"--reuid={self.uid}", f"--regid={self.gid}", "--clear-groups")
        return ("setpriv", *account, *passing, dying, *command)

    def _reaches(self, path: Path) -> bool:
        """Say whether the account may pass every folder above the path and enter or run the path itself."""
        return all(self._passes(step.stat()) for step in (path, *path.parents))

    def _passes(self, status: os.stat_result) -> bool:
        needed = stat.S_IXUSR if status.st_uid == self.uid else stat.S_IXOTH
        return bool(status.st_mode & needed)


def account_for(data: Path) -> Account:
    """Return the account for a server with this data folder.

    That is the one running this program; for root, the folder's present owner or the system account
    ``shopcool``, which is made when it is missing.

    Raises:
        CannotStart: root can't be left on this machine.
    """
    if os.geteuid() != 0:
        return Account()
    if not shutil.which("setpriv"):
        raise CannotStart(
            "PostgreSQL can't run as root here (setpriv is missing). Start as an ordinary user."
        )
    owner = data.stat().st_uid if data.exists() else 0
    try:
        entry = pwd.getpwuid(owner) if owner else pwd.getpwnam(ACCOUNT_NAME)
    except KeyError:
        entry = _created()
    return Account(entry.pw_name, entry.pw_uid, entry.pw_gid)


def _created() -> pwd.struct_passwd:
    """Make the system account and return it."""
    command = ["useradd", "--system", "--no-create-home", "--user-group", "--shell", "/usr/sbin/nologin"]
    try:
        subprocess.run([*command, ACCOUNT_NAME], check=True, capture_output=True, text=True)
        return pwd.getpwnam(ACCOUNT_NAME)
    except (OSError, subprocess.CalledProcessError, KeyError) as error:
        raise CannotStart(
            "PostgreSQL can't run as root, and no system account could be made for it. "
            "Start as an ordinary user, or name an outside server in DATABASE_URL."
        ) from error
