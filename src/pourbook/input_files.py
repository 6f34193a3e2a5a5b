"""Files that come from outside: what is no file, cannot be read, is empty or too large has its own sentence.

>>> whole(Path("no-such.jsonld"), 1_000)
Traceback (most recent call last):
    ...
pourbook.errors.Malformed: file 'no-such.jsonld' does not exist
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourbook.errors import Fault, FaultsFound, Malformed

if TYPE_CHECKING:
    from io import BufferedReader

__all__ = ["MOST_BYTES", "all_faults", "in_megabytes", "opened", "toml_tables", "whole"]

MOST_BYTES = 2**30
"""Of a file that is read row by row: a history of some five million pours."""


def opened(path: Path, most_bytes: int = MOST_BYTES) -> "BufferedReader":
    """A file, opened to be read.

    Raises:
        Malformed: there is none, it is a folder, a device or a pipe, may not be read, or has more bytes than that.
    """
    try:
        if path.is_dir():
            raise Malformed(f"'{path}' is a folder", "name the file in it", file=path.name)
        if path.exists() and not path.is_file():
            raise Malformed(f"'{path}' is a device or a pipe", "save it to a file first", file=path.name)
        size = path.stat().st_size
        if size > most_bytes:
            raise Malformed(
                f"'{path}' has {in_megabytes(size)}, more than the {in_megabytes(most_bytes)} that are read",
                "split it, or save less in it",
                file=path.name,
            )
        return path.open("rb")
    except FileNotFoundError as error:
        raise Malformed(f"file '{path}' does not exist", "check the path", file=path.name) from error
    except ValueError as error:
        raise Malformed(f"no file can be called '{path}'", "check the path") from error
    except OSError as error:
        refusal = f"'{path}' cannot be read: {error.strerror}"
        raise Malformed(refusal, "check the path and permissions", file=path.name) from error


def whole(path: Path, most_bytes: int) -> bytes:
    """All bytes of a file; refused as by `opened`, and where it is empty."""
    with opened(path, most_bytes) as file:
        try:
            content = file.read(most_bytes + 1)
        except OSError as error:
            raise Malformed(f"'{path}' cannot be read: {error.strerror}", "check the disk", file=path.name) from error
    if not content:
        raise Malformed(f"'{path}' is empty", "check the path, or save it again", file=path.name)
    return content


def toml_tables(data: bytes, file: str) -> tuple[str, dict[str, Any]]:
    """The text of a TOML file, and what it says.

    Raises:
        FaultsFound: it is not UTF-8, or not TOML.
    """
    import re
    import tomllib

    try:
        text = data.decode("utf-8-sig")
        return text, tomllib.loads(text)
    except UnicodeDecodeError:
        raise all_faults([Fault(file, 0, "", "", "is not UTF-8 text", "save it as UTF-8")]) from None
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"line (\d+)", str(error))
        row = int(at[1]) if at else text.count("\n") + 1
        problem = f"is not TOML: {str(error).split(' (at')[0]}"
        raise all_faults([Fault(file, row, "", "", problem, "correct the line, or the one before it")]) from None


def all_faults(faults: list[Fault]) -> FaultsFound:
    """The refusal of a file with faults: the first of them, and how many more."""
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    return FaultsFound(f"{faults[0]}{more}", tuple(faults), "correct the file and try again")


def in_megabytes(size: int) -> str:
    """A size as people say it; below ten megabytes with a decimal.

    >>> in_megabytes(2_500_000), in_megabytes(50_000_000)
    ('2.5 MB', '50 MB')
    """
    return f"{size / 1e6:.{1 if size < 1e7 else 0}f} MB"
