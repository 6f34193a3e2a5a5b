"""Whoever can write the file of a book: entries changed, the chain hashed anew as a whole, every table rebuilt."""

import json
import sqlite3
from contextlib import closing

from command import here

from pourbook import Book
from pourbook.book.coded_names import chained
from pourbook.book.journal import GENESIS, chain


def hashed_anew(path, change):
    """Each entry's text put through `change`; the book is as sound in itself as it was."""
    with closing(sqlite3.connect(path)) as file, file:
        texts = [(change(text), number) for number, text in file.execute("SELECT number, bytes FROM entry").fetchall()]
        file.executemany("UPDATE entry SET bytes = ? WHERE number = ?", texts)
    with Book.open(path) as book:
        text_of, head, hashes = chained(book.store), GENESIS, []
        for number, text in book.store.query("SELECT number, bytes FROM entry ORDER BY number"):
            head = chain(head, text_of(number, text).encode())
            hashes.append((head, number))
    with closing(sqlite3.connect(path)) as file, file:
        file.executemany("UPDATE entry SET hash = ? WHERE number = ?", hashes)
    here("repair", book=path).done()


def canonical(entry):
    """An entry as text: sorted keys, no spaces."""
    return json.dumps(entry, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
