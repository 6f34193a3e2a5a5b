"""Files in, files out: tables of a house in CSV, XLSX and JSON; lineages as EPCIS, PROV and GraphML.

`tables/` reads rows and cells, `intake/` checks tables and gives what they are to record, `epcis/` reads and
makes EPCIS documents, `output/` makes tables and documents of a book. `pourbook.actions.importing` records what
was read: every fault is listed with its place, value and remedy; then all or nothing.
"""
