"""Files of a small made-up history, and a book to take them in."""

import pytest
from house import HOW, Clock

from pourbook import Book
from pourbook.actions.importing import import_history
from pourbook.errors import FaultsFound

ITEMS = "ref,kind,made,name,wood,capacity_l,spirit,place,note"
POURS = "source,target,quantity,unit,strength,temperature_c,happened,by,reason"


class Files:
    """A folder with items.csv and pours.csv; rows are text as they stand in the file."""

    def __init__(self, folder):
        self.folder = folder
        self.items("row 1,cask,,,,,,,", "row 2,cask,,,,,,,", "vial 1,vial,,,,,,,", "batch 1,batch,,,,,,,")
        self.pours("origin,row 1,200,l,63.5,,2015-03-01 08:00,M. Aldane,")

    def write(self, name, *lines, encoding="utf-8"):
        path = self.folder / name
        path.write_bytes("".join(line + "\n" for line in lines).encode(encoding))
        return path

    def items(self, *rows, header=ITEMS):
        return self.write("items.csv", header, *rows)

    def pours(self, *rows, header=POURS):
        return self.write("pours.csv", header, *rows)

    def notes(self, *rows, header="ref,subject,text,happened,by,reason"):
        return self.write("notes.csv", header, *rows)


@pytest.fixture
def files(tmp_path):
    """A folder with a sound history of one filling."""
    return Files(tmp_path)


@pytest.fixture
def new_book():
    """Makes empty books whose clock stands at the beginning of 2024."""
    books = []

    def make(**settings):
        books.append(Book.create(":memory:", house="Quillmere", clock=Clock("2024-01-01"), **settings))
        return books[-1]

    yield make
    for book in books:
        book.close()


@pytest.fixture
def book(new_book):
    """An empty book."""
    return new_book()


@pytest.fixture
def faults_of(book):
    """The faults of an import, after which nothing has changed."""

    def faults(take, *args, **options):
        before = book.head()
        with pytest.raises(FaultsFound) as found:
            take(book, HOW, *args, **options)
        assert book.head() == before
        assert book.verify().faults == ()
        return found.value.faults

    return faults


@pytest.fixture
def history_faults(files, faults_of):
    """The faults of the history in the folder."""
    return lambda **options: faults_of(import_history, files.folder, **options)
