"""Where liquid came from and where it went: states, shares and ages, as pure computation.

`graph` holds the states and inflows that a question concerns; `shares` hands shares along them, back and
forward; `ages` does the same with time in wood. This room knows neither a book nor a density.
"""
