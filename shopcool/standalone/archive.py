"""One file that holds a whole shop: the dump of its database and the files that people attached."""

from __future__ import annotations

import contextlib
import shutil
import tarfile
from pathlib import Path, PurePosixPath

from shopcool.standalone.errors import CannotStart

DUMP, FILES = "database.dump", "files"
#: The ending of a file that is still being written.
UNFINISHED = ".part"


def pack(place: Path, *, dump: Path, files: Path) -> None:
    """Write the archive; it appears under its name only when it is complete.

    The files are read after the database was dumped: a file is complete before its row is written, so every
    row of the dump finds its file here.
    """
    unfinished = place.with_name(place.name + UNFINISHED)
    try:
        with tarfile.open(unfinished, "w") as archive:
            archive.add(dump, DUMP)
            for path in sorted(files.rglob("*")):
                if path.is_file() and path.suffix != UNFINISHED:
                    # What somebody removes meanwhile has no row any more.
                    with contextlib.suppress(FileNotFoundError):
                        archive.add(path, f"{FILES}/{path.relative_to(files).as_posix()}")
        unfinished.rename(place)
    finally:
        unfinished.unlink(missing_ok=True)


def unpack(place: Path, into: Path) -> None:
    """Unpack an archive; afterwards ``into`` holds the dump and a folder of files, if only an empty one.

    Raises:
        CannotStart: it is no archive of ours, or it is incomplete.
    """
    (into / FILES).mkdir()
    try:
        with tarfile.open(place) as archive:
            for member in archive:
                if member.isfile():
                    _unpack_file(archive, member, into)
    except (tarfile.TarError, EOFError) as error:
        raise CannotStart(f"{place} is damaged or no backup: {error}.") from error
    if not (into / DUMP).is_file():
        raise CannotStart(f"{place} is no backup: it holds no database.")


def _unpack_file(archive: tarfile.TarFile, member: tarfile.TarInfo, into: Path) -> None:
    name = PurePosixPath(member.name)
    if name.is_absolute() or ".." in name.parts or name.parts[0] not in {DUMP, FILES}:
        raise CannotStart(f"This is no backup of ours: it holds {member.name}.")
    target = into / name
    target.parent.mkdir(parents=True, exist_ok=True)
    content = archive.extractfile(member)
    with target.open("wb") as file:
        if content is not None:
            shutil.copyfileobj(content, file)
    target.chmod(member.mode & 0o600)
