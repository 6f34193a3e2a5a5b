"""The chain made anew behind a book's back, as one who knows how would."""

from pourbook.book.coded_names import put_names


def hashed(rows):
    """Gives the text that a hash is of, from rows of `person_name`: references for every name that has one."""
    references = {(name, item): reference for reference, _salt, name, item in rows}
    return lambda text: put_names(text, lambda name, item: references.get((name, item), name))


NAMES = "SELECT reference, salt, name, item FROM person_name"
