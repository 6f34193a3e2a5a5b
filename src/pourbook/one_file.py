"""Files that leave the house: each is there whole, or not at all.

A file is written beside its place and then renamed. It replaces another only with `force`, and never a book, the
files of the open book, an input, or anything but a file.

>>> import tempfile
>>> folder = tempfile.TemporaryDirectory()
>>> path = Path(folder.name, "account.pdf")
>>> write_file(path, b"%PDF")
>>> path.read_bytes(), [one.name for one in Path(folder.name).iterdir()]
(b'%PDF', ['account.pdf'])
>>> folder.cleanup()
"""

import errno
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from pourbook.errors import StoreError

__all__ = ["check_target", "placing", "write_file", "write_files"]

_NO_ROOM = frozenset((errno.ENOSPC, errno.EDQUOT, errno.EFBIG))
_DATABASE = b"SQLite format 3\0"
_COMPANIONS = tuple(f"{beside}{end}" for beside in ("-station", "") for end in ("-wal", "-shm", "-journal", ""))[:-1]
"""Ends of what stands beside a book: SQLite's own files, and the station's with its own."""


def check_target(path: Path | str, *, force: bool | None = None, never: Iterable[Path | str] = ()) -> None:
    """Check, before any work, that a file can be written; with `force` it may replace one, but `never` these.

    `force` is None where nobody can ask for it.

    Raises:
        StoreError: a file is there, it must stay, its folder does not exist or cannot be written.
    """
    try:
        _check(Path(path), force=force, never=never)
    except OSError as error:  # as for a name too long
        raise StoreError(f"'{path}' cannot be written: {error.strerror}", "name another file") from error


def _check(path: Path, *, force: bool | None, never: Iterable[Path | str]) -> None:
    if "\0" in str(path):
        raise StoreError("no file can have a NUL in its name", "name another file")
    if any(_is_same(path, Path(one)) for one in never):
        raise StoreError(f"'{path}' is the book itself or an input", "name another file")
    for end in _COMPANIONS:
        if path.name.endswith(end) and _is_database(path.with_name(path.name.removesuffix(end))):
            raise StoreError(f"'{path}' is kept for the book beside it", "name another file")
    if path.is_dir():
        raise StoreError(f"'{path}' cannot be written: it is a folder", "name a file in it")
    if not path.parent.is_dir():
        raise StoreError(f"'{path}' cannot be written: its folder does not exist", "check the path")
    if not path.exists():
        if not os.access(path.parent, os.W_OK):
            raise StoreError(f"'{path}' cannot be written", "check the permissions of its folder")
    elif not path.is_file():
        raise StoreError(f"'{path}' cannot be written: it is a device or a pipe", "name a file")
    elif not force:
        remedy = "name another file" + ("" if force is None else ", or give --force")
        raise StoreError(f"'{path}' already exists", remedy)
    elif not os.access(path, os.W_OK):
        raise StoreError(f"'{path}' cannot be written", "check its permissions")
    elif _is_database(path):
        raise StoreError(f"'{path}' is a book or another database", "name another file; remove it by hand if it may go")


def _is_same(path: Path, other: Path) -> bool:
    """Whether two paths lead to one file: by any spelling, a symbolic link or a hard one."""
    there = path.exists() and other.exists()
    return os.path.realpath(path) == os.path.realpath(other) or (there and path.samefile(other))


def _is_database(path: Path) -> bool:
    """Told by its first bytes; a file that cannot be read may be one."""
    if not path.is_file():
        return False
    try:
        with path.open("rb") as file:
            return file.read(len(_DATABASE)) == _DATABASE
    except OSError:
        return True


@contextmanager
def placing(path: Path, *, force: bool | None = None, never: Iterable[Path | str] = ()) -> Iterator[Path]:
    """A path beside `path` to write to, renamed at the end or removed if anything goes wrong.

    Raises:
        StoreError: as `check_target`, the disk is full, or the file cannot be written.
    """
    never = tuple(never)
    check_target(path, force=force, never=never)
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield beside
        _on_the_disk(beside)
        check_target(path, force=force, never=never)  # another program may have written it meanwhile
        beside.replace(path)
    except OSError as error:
        if error.errno in _NO_ROOM:
            raise StoreError(f"the disk is full: '{path}' was not written", "make room first") from error
        raise StoreError(f"'{path}' cannot be written: {error.strerror}", "check its folder and permissions") from error
    finally:
        with suppress(OSError):
            beside.unlink()


def _on_the_disk(beside: Path) -> None:
    """Wait until the disk has it: some tell only then that they are full."""
    with beside.open("rb+") as file:
        os.fsync(file.fileno())


def write_file(path: Path, data: bytes, *, force: bool | None = None, never: Iterable[Path | str] = ()) -> None:
    """Write one file whole or not at all, as `placing` does."""
    write_files({path: data}, force=force, never=never)


def write_files(files: Mapping[Path, bytes], *, force: bool | None = None, never: Iterable[Path | str] = ()) -> None:
    """Write several files as `placing` does; none takes its place before all are written."""
    never = tuple(never)
    with ExitStack() as stack:
        besides = [stack.enter_context(placing(path, force=force, never=never)) for path in files]
        for beside, data in zip(besides, files.values(), strict=True):
            beside.write_bytes(data)
