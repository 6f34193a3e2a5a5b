"""Files in, files out: a house's history and casks from CSV or XLSX; stock, journal and history to CSV and JSON.

`tables` reads files, `columns` cells, `history` and `casks` say what the columns mean, `exports`
writes. An import is checked whole before anything is recorded: every fault is listed with file,
row, column, value and remedy; then all or nothing.
"""
