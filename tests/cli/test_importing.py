"""What an import says to a program: every refusal that is about a file names it."""

import csv

from command import Desk, here

CASKS = "ref,quantity,unit,strength,filled,spirit\n{},200,l,63.5,2016-03-01,malt spirit\n"


def test_a_refused_file_is_named(tmp_path):
    """Text in another encoding with its line, a file imported before, and one that is not there."""
    desk = Desk(tmp_path / "q.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    known, foreign = tmp_path / "known.csv", tmp_path / "foreign.csv"
    known.write_text(CASKS.format("Row 1"), encoding="utf-8")
    foreign.write_text(CASKS.format("Möwe 1"), encoding="cp1252")
    desk.does(f"import casks {known}")
    for file, row in ((foreign, 2), (known, 0), (tmp_path / "nowhere.csv", 0)):
        (fault,) = desk(f"import casks {file} --json --faults {tmp_path}/faults.csv --force").json["faults"]
        assert (fault["file"], fault["row"]) == (file.name, row)
        with (tmp_path / "faults.csv").open(encoding="utf-8", newline="") as listed:
            assert next(csv.DictReader(listed)) == {name: str(value) for name, value in fault.items()}
