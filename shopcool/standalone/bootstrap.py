"""Make the virtual environment the locks describe, then hand over to it.

Runs on a bare Python with the standard library only::

    python3 shopcool/standalone/bootstrap.py run
    python3 shopcool/standalone/bootstrap.py test tests/equipment -k purge
"""

from __future__ import annotations

import fcntl
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ENVIRONMENT = ROOT / ".venv"
OLDEST_PYTHON = (3, 11)

RUN_LOCK = ROOT / "requirements.lock"
DEVELOPMENT_LOCK = ROOT / "requirements-dev.lock"
INSTALLER_LOCK = ROOT / "requirements-bootstrap.lock"
# The development lock is compiled with the other as its constraint, so it satisfies both.
LOCKS_SATISFIED_BY = {RUN_LOCK: (RUN_LOCK,), DEVELOPMENT_LOCK: (DEVELOPMENT_LOCK, RUN_LOCK)}
COMMANDS_WITHOUT_DEVELOPMENT_TOOLS = ("run", "manage", "backup", "restore")


class CannotStart(Exception):
    """The machine lacks something that a person has to provide; the message says what."""


def main(arguments: list[str]) -> None:
    """Bring the environment up to date and replace this process by the command inside it."""
    command = arguments[0] if arguments else "run"
    use_suitable_python(arguments)
    lock = RUN_LOCK if command in COMMANDS_WITHOUT_DEVELOPMENT_TOOLS else DEVELOPMENT_LOCK
    prepare_environment(ENVIRONMENT, lock)
    python = str(ENVIRONMENT / "bin" / "python")
    os.chdir(ROOT)
    environment = process_environment(dict(os.environ))
    os.execve(python, [python, "-m", "shopcool.standalone", *arguments], environment)


def use_suitable_python(arguments: list[str]) -> None:
    """Go on with a newer Python of this machine when this one is too old.

    Raises:
        CannotStart: no Python of this machine is new enough.
    """
    if sys.version_info >= OLDEST_PYTHON:
        return
    for minor in range(OLDEST_PYTHON[1] + 5, OLDEST_PYTHON[1] - 1, -1):
        newer = shutil.which(f"python3.{minor}")
        if newer:
            os.execv(newer, [newer, __file__, *arguments])
    raise CannotStart(
        f"Shopcool needs Python 3.{OLDEST_PYTHON[1]} or newer; this is {sys.version.split()[0]}."
    )


def process_environment(environment: dict[str, str]) -> dict[str, str]:
    """Return the environment with compiled modules kept, outside the source tree where a person wants it so.

    Without them every process compiles every module again and the start takes several times as long.
    """
    if environment.pop("PYTHONDONTWRITEBYTECODE", ""):
        environment.setdefault("PYTHONPYCACHEPREFIX", str(ENVIRONMENT / "compiled"))
    return environment


def prepare_environment(environment: Path, lock: Path) -> None:
    """Create the virtual environment if needed and install the lock's packages if its text changed."""
    environment.mkdir(exist_ok=True)
    with (environment / ".preparing").open("w") as guard:
        # Two commands started together must not install into one environment at once.
        fcntl.flock(guard, fcntl.LOCK_EX)
        if is_current(environment, lock):
            return
        stamp_path(environment).unlink(missing_ok=True)
        if environment_version(environment) != running_version():
            create(environment)
        install(environment, lock)
        write_stamp(environment, lock)


def is_current(environment: Path, lock: Path) -> bool:
    """Say whether the environment holds exactly what the lock asks for, by digest."""
    try:
        stamp: dict[str, str] = json.loads(stamp_path(environment).read_text())
    except (OSError, ValueError):
        return False
    usable = stamp.get("python") == environment_version(environment)
    return usable and stamp.get(lock.name) == digest(lock)


def write_stamp(environment: Path, lock: Path) -> None:
    """Record which locks the environment now satisfies."""
    stamp = {satisfied.name: digest(satisfied) for satisfied in LOCKS_SATISFIED_BY.get(lock, (lock,))}
    stamp["python"] = environment_version(environment)
    stamp_path(environment).write_text(json.dumps(stamp, indent=1))


def stamp_path(environment: Path) -> Path:
    """Return the file that records what was installed."""
    return environment / "installed.json"


def digest(path: Path) -> str:
    """Return the SHA-256 of a file's content."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def running_version() -> str:
    """Return this Python's version as ``3.11``."""
    return f"{sys.version_info.major}.{sys.version_info.minor}"


def environment_version(environment: Path) -> str:
    """Return the version of the environment's Python as ``3.11``, empty when it can't run."""
    question = "import sys; print('%d.%d' % sys.version_info[:2])"
    try:
        answer = subprocess.run(
            [environment / "bin" / "python", "-c", question], capture_output=True, text=True, check=True
        )
    except (OSError, subprocess.CalledProcessError):
        return ""
    return answer.stdout.strip()


def create(environment: Path) -> None:
    """Create the virtual environment with this Python."""
    if importlib.util.find_spec("ensurepip") is None:
        add_debian_packages("python3-venv")
    say(f"Making {environment.name} with Python {sys.version.split()[0]}")
    watch([sys.executable, "-m", "venv", "--clear", str(environment)])


def add_debian_packages(*names: str) -> None:
    """Install packages of Debian, as root only.

    Raises:
        CannotStart: this is not Debian or not root.
    """
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        raise CannotStart(f"This needs of the system: {', '.join(names)}. Install it and try again.")
    say(f"Installing from the system's packages: {', '.join(names)}")
    quiet = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
    subprocess.run(["apt-get", "update", "-qq"], env=quiet, check=False, stdout=subprocess.DEVNULL)
    subprocess.run(
        ["apt-get", "install", "-qq", "-y", "--no-install-recommends", *names],
        env=quiet,
        check=True,
        stdout=subprocess.DEVNULL,
    )


def install(environment: Path, lock: Path) -> None:
    """Make the environment hold the lock's packages, each checked against its hash.

    Raises:
        CannotStart: neither installer succeeded.
    """
    say(f"Installing the packages of {lock.name} (the first time takes a while)")
    started = time.monotonic()
    python = str(environment / "bin" / "python")
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--require-hashes"]
    fast = [str(environment / "bin" / "uv"), "pip", "sync", "--quiet", "--require-hashes", "--python", python]
    installed = watch([*pip, "-r", str(INSTALLER_LOCK)], False) and watch([*fast, str(lock)], False)
    if not installed:
        say("The quick installer did not manage; trying the ordinary one")
        installed = watch([*pip, "--no-deps", "-r", str(lock)], False)
    if not installed:
        raise CannotStart(f"The packages of {lock.name} could not be installed; the lines above say why.")
    say(f"Packages are in place after {time.monotonic() - started:.0f} s")


def watch(command: list[str], must_succeed: bool = True) -> bool:
    """Run a command, show every ten seconds that it still works, and return whether it succeeded.

    Raises:
        CannotStart: it failed and had to succeed.
    """
    started = time.monotonic()
    with subprocess.Popen(command, cwd=ROOT) as process:
        while True:
            try:
                succeeded = process.wait(timeout=10) == 0
                break
            except subprocess.TimeoutExpired:
                say(f"… still at it after {time.monotonic() - started:.0f} s")
    if must_succeed and not succeeded:
        raise CannotStart(f"This command failed: {' '.join(command)}")
    return succeeded


def say(line: str) -> None:
    """Show a line of progress."""
    print(line, flush=True)


if __name__ == "__main__":
    try:
        main(sys.argv[1:])
    except CannotStart as refusal:
        sys.exit(str(refusal))
    except KeyboardInterrupt:
        sys.exit(130)
