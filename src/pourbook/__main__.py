"""`python -m pourbook` is the command `pourbook`."""

from pourbook.cli.main import run

run()
