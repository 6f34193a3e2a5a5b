"""Our SQL, as PostgreSQL and engines that speak its protocol read it.

We write what both read wherever there is such a form. Here stands what has none: question marks, a few functions, and
hints to SQLite's planner. A text is translated once.

>>> spoken("SELECT item FROM fact WHERE lookup >= ? AND instr(value, ?) > 0 LIMIT ?")
'SELECT item FROM fact WHERE lookup >= $1 AND strpos(value, $2) > 0 LIMIT $3'
>>> spoken("SELECT key FROM item WHERE ?1 IS NULL OR kind = ?1")
'SELECT key FROM item WHERE $1 IS NULL OR kind = $1'
>>> spoken("SELECT name FROM pending CROSS JOIN entry ON entry.number = pending.entry")
'SELECT name FROM pending JOIN entry ON entry.number = pending.entry'
"""

import re
from functools import lru_cache
from itertools import count
from re import Match

__all__ = ["plain_insert", "spoken", "tables"]

_QUOTED = re.compile(r"('(?:[^']|'')*')")
_MARK = re.compile(r"\?(\d*)")
_PLAIN_INSERT = re.compile(r"\s*INSERT INTO (\w+) \(([\w, ]+)\) VALUES \(\?(?:, ?\?)*\)\s*")

# In SQLite's own words on the left. Text compares by its bytes and folds ASCII alone, as SQLite does, under "C".
_JSON_TEXT = re.compile(r"json_extract\(([\w.]+), '\$\.([\w.]+)'\)")
_WORDS = (
    (re.compile(r"\binstr\("), "strpos("),
    (re.compile(r"\bLIKE\b"), "ILIKE"),
    (re.compile(r"\s+INDEXED BY \w+"), ""),
    (re.compile(r"\bCROSS JOIN (\w+(?: AS \w+)?) ON\b"), r"JOIN \1 ON"),
    (re.compile(r"\bSELECT value FROM json_each\(\?\)"), "SELECT value::bigint FROM json_array_elements_text(?::json)"),
    (re.compile(r"\blower\(\?\)"), 'lower(? COLLATE "C")'),
)
_TYPES = (
    (re.compile(r"\bINTEGER\b"), "BIGINT"),
    (re.compile(r"\bTEXT\b"), 'TEXT COLLATE "C"'),
    (re.compile(r"\bBLOB\b"), "BYTEA"),
    (re.compile(r" AUTOINCREMENT\b"), ""),
    (re.compile(r"\bREAL\b"), "DOUBLE PRECISION"),
    (re.compile(r"\)\s*(?:STRICT)?(?:, )?(?:WITHOUT ROWID)?\s*$"), ")"),
)


@lru_cache(maxsize=1024)
def spoken(sql: str) -> str:
    """A statement of ours with its parameters as `$1`, `$2` and so on."""
    sql = _JSON_TEXT.sub(_json_path, sql)
    marks = count(1)
    # What stands in quotes is left alone: every other part.
    parts = _QUOTED.split(sql)
    for index in range(0, len(parts), 2):
        for wanted, instead in _WORDS:
            parts[index] = wanted.sub(instead, parts[index])
        parts[index] = _MARK.sub(lambda mark: f"${mark[1] or next(marks)}", parts[index])
    return "".join(parts)


def plain_insert(sql: str) -> tuple[str, str] | None:
    """Table and columns of a statement that does nothing but insert a row as it is given; None for any other.

    >>> plain_insert("INSERT INTO mention (item, entry) VALUES (?, ?)")
    ('mention', 'item, entry')
    """
    found = _PLAIN_INSERT.fullmatch(sql)
    return (found[1], found[2]) if found else None


def tables(statement: str) -> str:
    """What makes a table or an index, from what makes it in SQLite.

    >>> tables("CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID")
    'CREATE TABLE setting (name TEXT COLLATE "C" PRIMARY KEY, value TEXT COLLATE "C" NOT NULL)'
    """
    if statement.startswith("CREATE TABLE"):
        for wanted, instead in _TYPES:
            statement = wanted.sub(instead, statement)
    return statement


def _json_path(found: Match[str]) -> str:
    return f"""({found[1]}::json #>> '{{{found[2].replace(".", ",")}}}' COLLATE "C")"""
