"""Answers as JSON documents and in lines, once for every door.

A module for each subject; the function for an answer ends in `_shown` and returns a `shown.Shown`.

| answer of | module |
|---|---|
| settings, facts, holds, persons, places, instruments, corrections | `house` |
| cask, fill, draw, pour, dump, batch, bottle, despatch, return, loss | `pours` |
| gauge, evaporation | `gauges` |
| recipe, trial | `trials` |
| compare, revisions, near | `tried` |
| scale-up | `batches` |
| reduce, of a batch | `reducing` |
| show, stock, scan, read | `items` |
| trace, and why | `traces` |
| affected, recall | `recalls` |
| account | `accounts` |
| labels, numbers set aside, GTINs and SSCCs, printers, papers | `labels` |
| density to vatting | `calculators` |
| uncertainty, label-strength | `uncertainty` |
| journal, verify, repair, backup, restore, import | `journal` |
| what every recording changed | `shown` |
| schema | `answer_schemas` |
"""
