"""The printed papers: plain frozen values in, PDF bytes out. Nothing here knows a book.

`pourbook.papers.bench_sheet` is what to pour for a trial; `pourbook.papers.dossier.dossier_paper` is the trace
of a bottle lot for an auditor. Both are set on `pourbook.papers.page`, from the tables of
`pourbook.papers.tables`, the headings and facts of `pourbook.papers.sections`, and the numbers of
`pourbook.words.paper_figures`.

Import the paper you need; this module loads nothing:

>>> __all__
[]
"""

__all__: list[str] = []
