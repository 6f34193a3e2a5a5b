"""Uncertainty of figures: what instruments err by, and what becomes of it in pours, blends and labels.

`propagation` is a value with its sources, `instrument_errors` and `classes` where the sources come from,
`wording` reads an instrument as typed, `figures` are the figures of the trade, `labelling` and `portions` what is
asked of them. All pure; `OutOfRange` where a formula's domain ends or a figure makes no sense. Only the error of the
instruments is in it, not how well a vat was stirred and a sample drawn.
"""
