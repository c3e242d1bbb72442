"""Files that are written: whole or not at all, with the owner, mode, links and attributes of what stood there."""

import errno
import os
import stat
from pathlib import Path

import pytest

from drawbar.cli import whole_files
from drawbar.cli.whole_files import write_new, write_whole
from paths import EXAMPLES

OPEN = EXAMPLES / "market-kitchen-open.yaml"
BEFORE = "yesterday's\n\ndrawbar 0.1.0\n"
posix = pytest.mark.skipif(not hasattr(os, "chown"), reason="owners and modes are POSIX's")


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """Return a file that stands there already."""
    path = tmp_path / "report.txt"
    path.write_text(BEFORE, encoding="utf-8")
    return path


def failing(code: int, times: int = 1):
    """Return what fails so many times and then does nothing."""
    left = [times]

    def fail(*_arguments: object, **_options: object) -> None:
        if left[0]:
            left[0] -= 1
            raise OSError(code, os.strerror(code))

    return fail


@posix
def test_a_read_only_file_is_refused(old: Path, drawbar) -> None:
    """Its mode says that it is to stay as it is, to an administrator as well."""
    old.chmod(0o444)
    told = f"{old}: can't be written: it is read-only\n"
    assert drawbar("check", str(EXAMPLES / "riverboat-two-stage.yaml"), "--out", str(old)) == (2, "", told)
    assert old.read_text(encoding="utf-8") == BEFORE
    assert os.listdir(old.parent) == ["report.txt"]


@posix
def test_size_refuses_a_read_only_job(tmp_path: Path, drawbar) -> None:
    """`--write` leaves a read-only job as it is."""
    job = tmp_path / "job.yaml"
    job.write_bytes(OPEN.read_bytes())
    job.chmod(0o444)
    code, _, told = drawbar("size", str(job), "--write")
    assert (code, told) == (2, f"{job}: can't be written: it is read-only\n")
    assert job.read_bytes() == OPEN.read_bytes()


@posix
def test_a_hard_link_stays_one(old: Path, tmp_path: Path) -> None:
    """Both names still have the same bytes."""
    other = tmp_path / "other.txt"
    other.hardlink_to(old)
    write_whole(old, ["today's"])
    assert old.samefile(other)
    assert other.read_text(encoding="utf-8") == "today's"
    assert sorted(os.listdir(tmp_path)) == ["other.txt", "report.txt"]


@posix
def test_a_symbolic_link_stays_one(old: Path, tmp_path: Path) -> None:
    """What it points at is written, and keeps its mode."""
    link = tmp_path / "link.txt"
    link.symlink_to(old.name)
    old.chmod(0o600)
    write_whole(link, ["today's"])
    assert link.is_symlink()
    assert old.read_text(encoding="utf-8") == "today's"
    assert stat.S_IMODE(old.stat().st_mode) == 0o600


@posix
def test_size_keeps_the_links_and_the_mode_of_a_job(tmp_path: Path, drawbar) -> None:
    """`--write` through a link, onto a file with a second name."""
    job, second, link = (tmp_path / name for name in ("job.yaml", "second.yaml", "link.yaml"))
    job.write_bytes(OPEN.read_bytes())
    job.chmod(0o640)
    second.hardlink_to(job)
    link.symlink_to("job.yaml")
    assert drawbar("size", str(link), "--write").code == 0
    assert link.is_symlink()
    assert second.samefile(job)
    assert stat.S_IMODE(job.stat().st_mode) == 0o640
    assert "pipe: as1432-b/19.05" in second.read_text(encoding="utf-8")


@posix
def test_the_owner_is_kept(old: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new file is given to the owner of the old one, and told to be unlike it where that is not allowed."""
    given = []
    stranger = os.stat_result([*old.stat()[:4], 12345, 23456, *old.stat()[6:]])
    new = tmp_path / "new.txt"
    new.touch()
    monkeypatch.setattr(os, "chown", lambda *call: given.append(call))
    assert whole_files._is_made_alike(new, old, stranger)
    assert given == [(new, 12345, 23456)]
    monkeypatch.setattr(os, "chown", failing(errno.EPERM))
    assert not whole_files._is_made_alike(new, old, stranger)


@posix
def test_a_file_of_another_owner_is_written_anew(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is the same file afterwards, with its owner."""
    monkeypatch.setattr(whole_files, "_is_made_alike", lambda *_: False)
    inode = old.stat().st_ino
    write_whole(old, ["today's"])
    assert old.stat().st_ino == inode
    assert old.read_text(encoding="utf-8") == "today's"
    assert os.listdir(old.parent) == ["report.txt"]


def test_extended_attributes_are_kept(old: Path) -> None:
    """What a workshop's file manager notes beside a file stays with it."""
    try:
        os.setxattr(old, "user.colour", b"green")
    except (AttributeError, OSError):
        pytest.skip("the file system has no extended attributes")
    write_whole(old, ["today's"])
    assert os.getxattr(old, "user.colour") == b"green"
    assert old.read_text(encoding="utf-8") == "today's"


def test_attributes_that_cannot_be_given_keep_the_old_file(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a new file can't have the attributes, the bytes of the old one are written anew."""
    inode = old.stat().st_ino
    monkeypatch.setattr(whole_files, "_attributes", lambda path: {"user.a": b"1"} if path == old.resolve() else {})
    monkeypatch.setattr(os, "setxattr", failing(errno.EPERM), raising=False)
    write_whole(old, ["today's"])
    assert old.stat().st_ino == inode
    assert old.read_text(encoding="utf-8") == "today's"


@pytest.mark.parametrize("call", ["write", "ftruncate", "fsync"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
def test_a_linked_file_is_put_back(old: Path, monkeypatch: pytest.MonkeyPatch, call: str, code: int) -> None:
    """A file that is written anew in its place has its old bytes again where that fails."""
    second = old.with_name("second.txt")
    second.hardlink_to(old)
    real, calls = getattr(os, call), []

    def fail_in_place(handle: int, *given: object) -> object:
        calls.append(call)
        # The first fsync is that of the whole text beside it, which is to succeed.
        if len(calls) == (2 if call == "fsync" else 1):
            raise OSError(code, os.strerror(code))
        return real(handle, *given)

    monkeypatch.setattr(os, call, fail_in_place)
    with pytest.raises(OSError, match=os.strerror(code)):
        write_whole(old, ["a longer text than the one of yesterday"])
    assert old.read_text(encoding="utf-8") == BEFORE
    assert old.samefile(second)
    assert sorted(os.listdir(old.parent)) == ["report.txt", "second.txt"]


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
def test_a_disk_that_is_full_at_the_very_end(old: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    """A disk may tell only at fsync that it has no room: the old file stands, and none is beside it."""
    monkeypatch.setattr(os, "fsync", failing(code))
    with pytest.raises(OSError, match=os.strerror(code)):
        write_whole(old, ["today's"])
    assert old.read_text(encoding="utf-8") == BEFORE
    assert os.listdir(old.parent) == ["report.txt"]


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
def test_a_new_file_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    """What can't be written whole is taken away again, and what was there is never touched."""
    monkeypatch.setattr(os, "fsync", failing(code))
    with pytest.raises(OSError, match=os.strerror(code)):
        write_new(tmp_path / "van.yaml", "job: A van\n")
    assert os.listdir(tmp_path) == []
    write_new(tmp_path / "van.yaml", "job: A van\n")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "van.yaml", "job: Another\n")
    assert (tmp_path / "van.yaml").read_text(encoding="utf-8") == "job: A van\n"
