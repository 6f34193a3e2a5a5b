"""What is asked of the bottling line: a run, what it counted and measured, and how it balances."""
