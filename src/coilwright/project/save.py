"""Write a project file so that nothing is ever lost: all of it or none, and the earlier versions beside it.

A save writes a temporary file in the same folder, forces it to the disk, and puts it in the place of the old one in a
single step. The old file is kept as ``NAME.coil.toml.~N~``, the highest N the latest (the numbered-backup custom); ten
are kept. A file that changed on disk since it was read is not overwritten.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coilwright.errors import InputError, Problem

KEPT_VERSIONS: Final = 10
_VERSION: Final = re.compile(r"\.~(\d+)~")


@dataclass(frozen=True)
class Saved:
    """What a save did: ``digest`` of the bytes now on disk, and ``backup``, the old file, None if there was none."""

    path: Path
    digest: str
    backup: Path | None


def save(path: str | Path, text: str, digest: str | None) -> Saved:
    """Write a project's text in place of the file that was read.

    Parameters
    ----------
    path : str or Path
        The file; a symbolic link is followed.
    text : str
        A project that loads; another is refused.
    digest : str or None
        ``Loaded.digest`` of the file that the text was made from; None for a new file, which must not exist yet.

    Raises
    ------
    InputError
        If the text is no project, the file changed since it was read, or the disk refuses. The file then has every
        byte it had.
    """
    from coilwright.project.load import LARGEST, read_text

    path = Path(path)
    raw = text.encode("utf-8")
    if len(raw) > LARGEST:
        raise _refuse(
            path, f"too large to save: {len(raw) / 1e6:.1f} MB; limit 1 MB", "Nothing was written. Shorten the project."
        )
    read_text(text, path.name)
    target = path if digest is None else Path(os.path.realpath(path))
    try:
        return _create(target, raw) if digest is None else _replace(target, raw, digest)
    except OSError as error:
        raise _refuse(path, *_reason(error, target)) from error


def versions(path: str | Path) -> list[Path]:
    """Return the earlier versions that are kept beside a file, the latest first."""
    target = Path(os.path.realpath(path))
    found = [
        (number, p)
        for p in target.parent.glob(f"{_glob_safe(target.name)}.~*~")
        if (number := _number(p, target)) is not None
    ]
    return [p for _, p in sorted(found, reverse=True)]


def write_new(path: Path, raw: bytes) -> str:
    """Write a file that must not exist yet, and return its digest; all of it or none.

    Raises
    ------
    InputError
        If it exists, or the disk refuses.
    """
    try:
        return _create(path, raw).digest
    except OSError as error:
        raise _refuse(path, *_reason(error, path)) from error


def _create(target: Path, raw: bytes) -> Saved:
    if os.path.lexists(target):
        raise _refuse(target, "the file exists already; it was not touched", "Choose another name.")
    temporary = _temporary(target, raw, None)
    try:
        try:
            os.link(temporary, target)  # unlike a rename, a link never takes the place of a file that has just appeared
        except FileExistsError:
            raise _refuse(target, "the file exists already; it was not touched", "Choose another name.") from None
        except OSError:
            # a file system without links: the name is taken first, then filled in one step
            os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            temporary.replace(target)
    finally:
        temporary.unlink(missing_ok=True)
    _sync_folder(target.parent)
    return Saved(target, hashlib.sha256(raw).hexdigest(), None)


def _replace(target: Path, raw: bytes, digest: str) -> Saved:
    new_digest = hashlib.sha256(raw).hexdigest()
    _check_unchanged(target, digest)
    if new_digest == digest:
        return Saved(target, digest, None)
    if not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "read-only file", str(target))
    temporary = _temporary(target, raw, target)
    backup: Path | None = None
    try:
        backup = _keep_version(target)
        _check_unchanged(target, digest)
        temporary.replace(target)
    except BaseException:
        temporary.unlink(missing_ok=True)
        if backup is not None:
            backup.unlink(missing_ok=True)
        raise
    _sync_folder(target.parent)
    for old in versions(target)[KEPT_VERSIONS:]:
        with contextlib.suppress(OSError):
            old.unlink()
    return Saved(target, new_digest, backup)


def _check_unchanged(target: Path, digest: str) -> None:
    try:
        found = hashlib.sha256(target.read_bytes()).hexdigest()
    except FileNotFoundError:
        raise _refuse(
            target,
            "the file has gone since it was read; nothing was written",
            "Put it back, or save under another name.",
        ) from None
    if found != digest:
        raise _refuse(
            target,
            "the file changed on disk since it was read; nothing was written",
            "Read it again and repeat the change, so that neither is lost.",
        )


def _temporary(target: Path, raw: bytes, like: Path | None) -> Path:
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:60]}.", suffix=".tmp", dir=target.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(raw)
            stream.flush()
            os.fsync(stream.fileno())
        if like is not None:
            temporary.chmod(like.stat().st_mode & 0o7777)
        else:
            mask = os.umask(0)
            os.umask(mask)
            temporary.chmod(0o666 & ~mask)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _keep_version(target: Path) -> Path:
    kept = versions(target)
    last = _number(kept[0], target) if kept else 0
    backup = target.with_name(f"{target.name}.~{(last or 0) + 1}~")
    try:
        os.link(target, backup)  # the old bytes themselves, under a second name: needs no space
    except FileExistsError:
        raise
    except OSError:
        shutil.copy2(target, backup)
        with backup.open("rb") as stream:
            os.fsync(stream.fileno())
    return backup


def _number(path: Path, target: Path) -> int | None:
    match = _VERSION.fullmatch(path.name[len(target.name) :])
    return int(match[1]) if match else None


def _glob_safe(name: str) -> str:
    return re.sub(r"([*?\[])", r"[\1]", name)


def _sync_folder(folder: Path) -> None:
    """Force the new name itself to the disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _refuse(path: Path, message: str, hint: str) -> InputError:
    return InputError([Problem(str(path), None, message, hint)])


def _reason(error: OSError, target: Path) -> tuple[str, str]:
    """Return message and hint for what the disk refused."""
    kept = "nothing was written and the file is as it was"
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        what = (
            "file is read-only"
            if target.exists() and os.access(target.parent, os.W_OK)
            else f"folder {target.parent} is read-only"
        )
        return f"the {what}; {kept}", "Change the permissions, or save under another name in a folder of your own."
    if error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
        return f"the disk is full; {kept}", "Make room on it, then save again."
    if error.errno == errno.ENOENT:
        return f"the folder {target.parent} does not exist; nothing was written", "Make the folder, or choose another."
    if error.errno == errno.ENOTDIR:
        return f"{target.parent} is no folder; nothing was written", "Choose another folder."
    if error.errno == errno.ENAMETOOLONG:
        return "the name is too long for this disk; nothing was written", "Choose a shorter name."
    return f"the disk refused: {error.strerror}; {kept}", "Check the disk, then save again."
