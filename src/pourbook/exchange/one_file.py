"""Files that leave the house: each is there whole, or not at all.

A file is written beside its place and then renamed. It replaces another only with `force`, and never the open
book, its files or an input.

>>> import tempfile
>>> folder = tempfile.TemporaryDirectory()
>>> path = Path(folder.name, "account.pdf")
>>> write_file(path, b"%PDF")
>>> path.read_bytes(), [one.name for one in Path(folder.name).iterdir()]
(b'%PDF', ['account.pdf'])
>>> folder.cleanup()
"""

import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from pourbook.errors import StoreError

__all__ = ["check_target", "placing", "write_file", "write_files"]


def check_target(path: Path, *, force: bool = False, never: Iterable[Path | str] = ()) -> None:
    """Check, before any work, that a file can be written; with `force` it may replace one, but `never` these.

    Raises:
        StoreError: a file is there, it must stay, its folder does not exist or cannot be written.
    """
    if any(path.resolve() == Path(one).resolve() for one in never):
        raise StoreError(f"'{path}' is the book itself or an input", "name another file")
    if path.is_dir():
        raise StoreError(f"'{path}' cannot be written: it is a folder", "name a file in it")
    if not path.parent.is_dir():
        raise StoreError(f"'{path}' cannot be written: its folder does not exist", "check the path")
    if not os.access(path if path.exists() else path.parent, os.W_OK):
        raise StoreError(f"'{path}' cannot be written", "check its permissions")
    if path.exists() and not force:
        raise StoreError(f"'{path}' already exists", "name another file, or give --force")


@contextmanager
def placing(path: Path, *, force: bool = False, never: Iterable[Path | str] = ()) -> Iterator[Path]:
    """A path beside `path` to write to, renamed at the end or removed if anything goes wrong.

    Raises:
        StoreError: as `check_target`, or the file cannot be written.
    """
    never = tuple(never)
    check_target(path, force=force, never=never)
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield beside
        check_target(path, force=force, never=never)  # another program may have written it meanwhile
        beside.replace(path)
    except OSError as error:
        raise StoreError(f"'{path}' cannot be written: {error.strerror}", "check permissions and free space") from error
    finally:
        with suppress(OSError):
            beside.unlink()


def write_file(path: Path, data: bytes, *, force: bool = False, never: Iterable[Path | str] = ()) -> None:
    """Write one file whole or not at all, as `placing` does."""
    write_files({path: data}, force=force, never=never)


def write_files(files: Mapping[Path, bytes], *, force: bool = False, never: Iterable[Path | str] = ()) -> None:
    """Write several files as `placing` does; none takes its place before all are written."""
    never = tuple(never)
    with ExitStack() as stack:
        besides = [stack.enter_context(placing(path, force=force, never=never)) for path in files]
        for beside, data in zip(besides, files.values(), strict=True):
            beside.write_bytes(data)
