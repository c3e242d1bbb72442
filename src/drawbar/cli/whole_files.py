"""Files written whole or not at all; what stood there before keeps its owner, mode, links and attributes."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterable
from pathlib import Path

_ANY_MAY_WRITE = 0o222


def write_whole(path: Path, pieces: Iterable[str | bytes]) -> None:
    """Put a text in place of a file in one step, so that nobody ever sees half of it.

    A link is followed to what it points at. A device or a pipe takes the text as it comes. A file that was there keeps
    its mode, its owner and its extended attributes; where a new file can't be given them, or where the old one has
    other names as well, its own bytes are written anew, and put back if that fails.

    Parameters
    ----------
    path : Path
        The file.
    pieces : iterable of str or bytes
        What it is to hold; text is written as UTF-8.

    Raises
    ------
    OSError
        If the file can't be written, or is read-only; what stood there then stands as it was.
    """
    import tempfile  # here, as it would cost every call's start a few milliseconds

    path = path.resolve()
    if path.exists() and not path.is_file():
        with path.open("wb") as stream:
            stream.writelines(map(_encoded, pieces))
        return
    before = path.stat() if path.exists() else None
    # Its mode is asked as well as the system, which lets an administrator write anywhere.
    if before is not None and not (before.st_mode & _ANY_MAY_WRITE and os.access(path, os.W_OK)):
        raise PermissionError(errno.EACCES, "it is read-only")
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:50]}.")
    whole = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.writelines(map(_encoded, pieces))
            stream.flush()
            os.fsync(stream.fileno())  # a full disk may tell it as late as here
        if before is None:
            with contextlib.suppress(OSError):  # a file system of another system may know no such modes
                whole.chmod(0o666 & ~_umask())
            whole.replace(path)
        elif before.st_nlink == 1 and _is_made_alike(whole, path, before):
            whole.replace(path)
        else:
            _rewrite(path, whole.read_bytes())
    finally:
        whole.unlink(missing_ok=True)
    _folder_to_disk(path.parent)


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet, whole or not at all.

    Parameters
    ----------
    path : Path
        The file.
    text : str
        What it is to hold; written as UTF-8.

    Raises
    ------
    FileExistsError
        If it is there; it is left as it is.
    OSError
        If it can't be written; none is left behind.
    """
    stream = path.open("xb")
    try:
        with stream:
            stream.write(text.encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())  # a full disk may tell it as late as here
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    _folder_to_disk(path.parent)


def _is_made_alike(new: Path, old: Path, before: os.stat_result) -> bool:
    """Give a new file the owner, the mode and the extended attributes of an old one; tell whether that worked."""
    try:
        if hasattr(os, "chown"):
            now = new.stat()
            if (now.st_uid, now.st_gid) != (before.st_uid, before.st_gid):
                os.chown(new, before.st_uid, before.st_gid)
        new.chmod(before.st_mode & 0o7777)  # after the owner, as a change of owner takes bits away
        there = _attributes(new)
        for name, value in _attributes(old).items():
            if there.get(name) != value:
                os.setxattr(new, name, value)
    except OSError:
        return False
    return True


def _attributes(path: Path) -> dict[str, bytes]:
    """Return the extended attributes of a file; none where the file system has no such thing."""
    if not hasattr(os, "listxattr"):
        return {}
    try:
        return {name: os.getxattr(path, name) for name in os.listxattr(path)}
    except OSError as error:
        if error.errno == errno.ENOTSUP:
            return {}
        raise


def _rewrite(path: Path, data: bytes) -> None:
    """Write a file's bytes anew; put the old ones back, which have their room on the disk, if that fails."""
    with path.open("r+b", buffering=0) as stream:
        before = stream.read()
        try:
            _put(stream.fileno(), data)
            os.fsync(stream.fileno())
        except BaseException:
            _put(stream.fileno(), before)
            raise


def _put(handle: int, data: bytes) -> None:
    """Make these the bytes of an open file, which is cut only once all are written."""
    os.lseek(handle, 0, os.SEEK_SET)
    left = memoryview(data)
    while left:
        left = left[os.write(handle, left) :]
    os.ftruncate(handle, len(data))


def _folder_to_disk(folder: Path) -> None:
    """See that a folder's new entry is on the disk, on systems where a folder can be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _encoded(piece: str | bytes) -> bytes:
    return piece.encode("utf-8") if isinstance(piece, str) else piece


def _umask() -> int:
    mask = os.umask(0)  # there is no other way to read it
    os.umask(mask)
    return mask
