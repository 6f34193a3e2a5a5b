"""The clerk makes out what papers and labels say from what the book holds.

`pourbook.clerk.labels` fills in labels, `pourbook.clerk.bench` the bench sheet of a trial,
`pourbook.clerk.dossier` the dossier of a bottle lot. They read; nothing here records, writes a
file or draws a line.

Load the part that is wanted; this module alone loads nothing:

>>> __all__
[]
"""

__all__: list[str] = []
