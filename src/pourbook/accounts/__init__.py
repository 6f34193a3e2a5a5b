"""The periodic account: what the house held, what came, what went and why, to the milligram.

`pourbook.accounts.account` makes it out from a book; nothing here records or writes a file.
"""
