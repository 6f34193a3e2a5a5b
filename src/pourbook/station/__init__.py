"""The station: pages for bench, cellar, desk and guests, served by one local program.

A door like the command: a page reads what was typed or scanned, makes one call of an action or a query, and shows
what came of it. `routing` holds the table of what answers; `pages/` the areas; `guard` what is checked before.
"""
