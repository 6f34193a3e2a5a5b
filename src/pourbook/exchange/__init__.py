"""Files in, files out: tables of a house in CSV, XLSX and JSON; lineages as EPCIS, PROV and GraphML.

`tables` reads files, `columns` cells, `history` and `casks` say what the columns mean, `exports`
writes. `fills` and `happenings` tell a lineage as what happened to bodies of liquid; `epcis_export`,
`prov` and `graphml` write it; `epcis_import` takes in what another house wrote. An import is checked
whole before anything is recorded: every fault is listed with its place, value and remedy; then all
or nothing.
"""
